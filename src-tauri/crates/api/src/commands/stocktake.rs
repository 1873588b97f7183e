//! A stocktake of one bin: what differs, what the journal knows of it, and the record.

use super::lines::Catalogue;
use super::{find, stocktake_why};
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::Done;
use crate::wire::stocktake::{StocktakeDifference, StocktakeInput, StocktakeLook};
use slotkeep_domain::counted;
use slotkeep_domain::journal::{BinCounted, Body};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::place::Bin;
use slotkeep_domain::stock::Lot;
use slotkeep_domain::unit::{Unit, UnitPlace};
use slotkeep_store::Reader;
use std::collections::BTreeMap;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask(
            "stock.stocktake_look",
            "Compares what was seen in a bin with the register, and says what may explain it.",
            look,
        ),
        table::record("stock.stocktake", "Records a stocktake of one bin.", table::STORES, record),
    ]
}

/// What a person saw in a bin, beside what the register has there.
pub(super) struct Seen {
    pub bin: Bin,
    /// Lots of the bin and lots that were seen, with the pieces that lie there.
    pub lots: BTreeMap<LabelCode, (Lot, u32)>,
    /// Units that were seen there.
    pub found: Vec<Unit>,
    /// Units that should lie there and were not seen.
    pub missing: Vec<Unit>,
}

impl Seen {
    fn read(r: &Reader<'_>, input: &StocktakeInput) -> Result<Self, Failure> {
        let bin = find::bin(r, &input.bin)?;
        let mut lots: BTreeMap<LabelCode, (Lot, u32)> = BTreeMap::new();
        for counted in &input.lots {
            let lot = find::lot(r, &counted.lot)?;
            if lots.contains_key(&lot.label) {
                return Err(twice(&lot.label, &bin));
            }
            lots.insert(lot.label, (lot, counted.pieces));
        }
        for lot in r.lots_in(&bin.path)? {
            lots.entry(lot.label).or_insert((lot, 0));
        }
        let mut found: Vec<Unit> = Vec::new();
        for text in &input.units {
            let unit = find::unit(r, text)?;
            if found.iter().any(|other| other.label == unit.label) {
                return Err(twice(&unit.label, &bin));
            }
            found.push(unit);
        }
        let mut missing = r.units_at(bin.path.as_str())?;
        missing.retain(|unit| !found.iter().any(|other| other.label == unit.label));
        Ok(Self { bin, lots, found, missing })
    }

    /// Pieces of a lot in this bin by the register.
    pub fn register(&self, lot: &Lot) -> u32 {
        lot.pieces.get(&self.bin.path).copied().unwrap_or(0)
    }

    fn is_here(&self, unit: &Unit) -> bool {
        unit.place.bin() == Some(&self.bin.path)
    }
}

fn twice(label: &LabelCode, bin: &Bin) -> Failure {
    Failure::bad_input(format!(
        "{} is named twice in the stocktake of {}: name each thing once",
        label.human(),
        bin.path
    ))
}

/// Whether a unit that was seen must be recorded otherwise first.
fn left_open(unit: &Unit) -> Option<String> {
    match &unit.place {
        UnitPlace::Slot(slot) => Some(format!(
            "it is left as it is: record first how it came out of {slot}, so that the reason is \
             kept"
        )),
        UnitPlace::Scrapped => {
            Some("it is left scrapped: put it where scrapped units go".to_owned())
        }
        _ => None,
    }
}

fn look(ask: &Ask<'_>, input: StocktakeInput) -> Result<StocktakeLook, Failure> {
    ask.read(|r| {
        let seen = Seen::read(r, &input)?;
        let catalogue = Catalogue::new(r);
        let why = stocktake_why::Why { r, seen: &seen, now: ask.now };
        let mut agreeing = 0;
        let mut differences = Vec::new();
        for (lot, there) in seen.lots.values() {
            let register = seen.register(lot);
            if register == *there {
                agreeing += 1;
                continue;
            }
            differences.push(StocktakeDifference {
                label: lot.label.to_string(),
                label_human: lot.label.human(),
                unit: false,
                model: lot.model.to_string(),
                model_title: title(&catalogue, &lot.model),
                code: lot.code.clone(),
                register,
                counted: *there,
                explained: why.of_lot(lot, *there)?,
                settles: format!(
                    "the register will have {} in {} in place of {register}",
                    counted(*there, "piece"),
                    seen.bin.path
                ),
                left_open: false,
            });
        }
        for unit in &seen.found {
            if seen.is_here(unit) {
                agreeing += 1;
                continue;
            }
            let settles = format!("the register will have it in {}", seen.bin.path);
            differences.push(StocktakeDifference {
                register: 0,
                counted: 1,
                explained: why.of_found(unit)?,
                settles: left_open(unit).unwrap_or(settles),
                left_open: left_open(unit).is_some(),
                ..of_unit(&catalogue, unit)
            });
        }
        for unit in &seen.missing {
            differences.push(StocktakeDifference {
                register: 1,
                counted: 0,
                explained: why.of_missing(unit)?,
                settles: "the register will have it as lost, until it is scanned somewhere"
                    .to_owned(),
                ..of_unit(&catalogue, unit)
            });
        }
        Ok(StocktakeLook {
            counted_at: stocktake_why::counted_at(r, seen.bin.path.as_str())?,
            bin: seen.bin.path.to_string(),
            agreeing,
            differences,
        })
    })
}

fn title(catalogue: &Catalogue<'_, '_>, model: &slotkeep_domain::model::PartNo) -> String {
    catalogue.model(model).map(|model| model.title).unwrap_or_default()
}

fn of_unit(catalogue: &Catalogue<'_, '_>, unit: &Unit) -> StocktakeDifference {
    StocktakeDifference {
        label: unit.label.to_string(),
        label_human: unit.label.human(),
        unit: true,
        model: unit.model.to_string(),
        model_title: title(catalogue, &unit.model),
        code: unit.serial.clone(),
        register: 0,
        counted: 0,
        explained: Vec::new(),
        settles: String::new(),
        left_open: false,
    }
}

fn record(ask: &Ask<'_>, stamp: &Stamp, input: StocktakeInput) -> Result<Done, Failure> {
    let mut message = format!("the stocktake of {} is recorded", input.bin);
    let recorded = ask.record_within(stamp, |r| {
        let seen = Seen::read(r, &input)?;
        let (open, found): (Vec<_>, Vec<_>) =
            seen.found.iter().partition(|unit| left_open(unit).is_some());
        let changed = seen.lots.values().filter(|(lot, n)| seen.register(lot) != *n).count();
        let moved = found.iter().filter(|unit| !seen.is_here(unit)).count();
        message = format!(
            "{} is counted: {} put right, {} found, {} lost",
            seen.bin.path,
            counted(changed as u64, "lot"),
            counted(moved as u64, "unit"),
            seen.missing.len()
        );
        if !open.is_empty() {
            let names: Vec<_> = open.iter().map(|unit| unit.label.human()).collect();
            message.push_str(&format!("; left open: {}", names.join(", ")));
        }
        Ok(Body::BinCounted(BinCounted {
            bin: seen.bin.path.clone(),
            lots: seen.lots.iter().map(|(label, (_, pieces))| (*label, *pieces)).collect(),
            units_found: found.iter().map(|unit| unit.label).collect(),
            units_missing: seen.missing.iter().map(|unit| unit.label).collect(),
            note: input.note.trim().to_owned(),
        }))
    })?;
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}
