use slotkeep_domain::register::Table;

/// Name of a table in the file.
pub(crate) fn name(table: Table) -> &'static str {
    match table {
        Table::Site => "site",
        Table::KeyScheme => "key_scheme",
        Table::Area => "area",
        Table::Cabinet => "cabinet",
        Table::Rail => "rail",
        Table::Slot => "slot",
        Table::Model => "model",
        Table::Storeroom => "storeroom",
        Table::Bin => "bin",
        Table::Unit => "unit",
        Table::Lot => "lot",
        Table::Loop => "loop",
        Table::Swap => "swap",
        Table::Order => "purchase",
        Table::Person => "person",
        Table::Device => "device",
        Table::PowerOff => "power_off",
        Table::PlannedOff => "planned_off",
        Table::Temperature => "temperature",
        Table::AgreedPlan => "agreed_plan",
        Table::Failure => "failure",
        Table::Stay => "stay",
        Table::Issue => "issue",
        Table::SpareChoice => "spare_choice",
        Table::PopulationChange => "population_change",
        Table::Reservation => "reservation",
        Table::Procedure => "procedure",
        Table::Audit => "audit",
        Table::Imported => "imported",
    }
}
