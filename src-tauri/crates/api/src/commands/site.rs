use super::{battery, find};
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::Nothing;
use crate::wire::site::{
    Attention, BackupInput, BackupReport, Counts, FindInput, Found, ImportInput, ImportReport,
    Summary,
};
use crate::{Failure, import};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::register::{Table, View};
use slotkeep_domain::unit::Condition;
use slotkeep_store::{Match, Reader};
use std::path::Path;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask("site.summary", "Says what is here and what needs a look.", summary),
        table::record(
            "site.import",
            "Takes the files of a site folder in: only what differs becomes entries.",
            table::PLANNER,
            take_in,
        ),
        table::ask("site.backup", "Copies the store to a new file while it is in use.", back_up)
            .only(table::OWNER)
            .writes(),
        table::ask("search.find", "Finds what begins with a text.", search),
    ]
}

fn summary(ask: &Ask<'_>, _: Nothing) -> Result<Summary, Failure> {
    ask.read(|r| {
        let site = r.site();
        let count = |table| r.count(table);
        let counts = Counts {
            cabinets: count(Table::Cabinet)?,
            rails: count(Table::Rail)?,
            slots: count(Table::Slot)?,
            units: count(Table::Unit)?,
            models: count(Table::Model)?,
            loops: count(Table::Loop)?,
            lots: count(Table::Lot)?,
        };
        let list = |choices: Option<&Vec<_>>| {
            choices.into_iter().flatten().cloned().map(Into::into).collect()
        };
        Ok(Summary {
            name: site.as_ref().map(|site| site.name.clone()),
            label_prefix: site.as_ref().map(|site| site.prefix.to_string()),
            empty: site.is_none(),
            person: ask.caller.person.clone(),
            device: ask.caller.device.clone(),
            roles: ask.caller.roles.iter().map(|role| role.word().to_owned()).collect(),
            attention: if site.is_some() { attention(ask, r)? } else { Vec::new() },
            counts,
            failure_modes: list(site.as_ref().map(|site| &site.failure_modes)),
            failure_causes: list(site.as_ref().map(|site| &site.failure_causes)),
            detection_methods: list(site.as_ref().map(|site| &site.detection_methods)),
            entries: r.head()?.0,
        })
    })
}

fn attention(ask: &Ask<'_>, r: &Reader<'_>) -> Result<Vec<Attention>, Failure> {
    let mut list = Vec::new();
    let mut add = |about: &str, subject: String, message: String, urgent: bool| {
        list.push(Attention { about: about.to_owned(), subject, message, urgent });
    };
    for swap in r.open_swaps()? {
        let message = format!("A swap is under way in {}", swap.slot);
        add("swap", swap.id.to_string(), message, true);
    }
    let unit_not_good = r.units_not_good()?;
    for unit in unit_not_good.iter().filter(|unit| unit.place.slot().is_some()) {
        let message = format!("{} in {} is {}", unit.model, unit.place, unit.condition.word());
        add("unit", unit.label.to_string(), message, unit.condition == Condition::Failed);
    }
    for line in battery::list_for(r, ask.now, None, battery::Sums::LeftOut)? {
        if line.urgency == "overdue" || line.urgency == "soon" {
            let message = format!("Battery in {}: {}", line.unit.place, line.message);
            add("battery", line.unit.label.clone(), message, line.urgency == "overdue");
        }
    }
    for lot in r.lots()? {
        if lot.total() > 0 && lot.expired_on(ask.today()) {
            let message = format!("Lot {} of {} passed its shelf date", lot.code, lot.model);
            add("lot", lot.label.to_string(), message, false);
        }
    }
    for aside in r.set_aside(false)? {
        let message = format!("A record of {} no longer fitted: {}", aside.person, aside.refusal);
        add("set_aside", aside.id.to_string(), message, true);
    }
    list.sort_by_key(|attention| !attention.urgent);
    Ok(list)
}

fn take_in(ask: &Ask<'_>, stamp: &Stamp, input: ImportInput) -> Result<ImportReport, Failure> {
    import::take_in(ask, stamp, input)
}

fn back_up(ask: &Ask<'_>, input: BackupInput) -> Result<BackupReport, Failure> {
    ask.store.back_up(Path::new(&input.to))?;
    Ok(BackupReport { message: format!("the store is copied to {}", input.to), path: input.to })
}

fn search(ask: &Ask<'_>, input: FindInput) -> Result<Vec<Found>, Failure> {
    let limit = input.limit.unwrap_or(20).min(200);
    ask.read(|r| {
        if let Ok(label) = LabelCode::parse_scan(&input.text)
            && let Some(about) = r.labelled(&label)
        {
            return Ok(vec![scanned(r, &label, about)]);
        }
        Ok(r.search(&input.text, limit)?.into_iter().map(|matched| found(r, matched)).collect())
    })
}

fn scanned(r: &Reader<'_>, label: &LabelCode, about: String) -> Found {
    let (kind, key) = find::opened_by(r, label);
    Found { kind: kind.to_owned(), key, name: label.human(), about }
}

fn found(r: &Reader<'_>, found: Match) -> Found {
    // A loop has no card of its own: it opens the slot that it is wired to.
    let wired = (found.table == "loop").then(|| r.wired(&found.key)).flatten();
    let key = wired.map_or(found.key, |wired| wired.slot.to_string());
    Found { kind: found.table.to_owned(), key, name: found.name, about: found.about }
}
