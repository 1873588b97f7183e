use super::find;
use super::lines::Catalogue;
use super::stock_handed_out::Out;
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::label::{ResolveInput, Thing, ThingKind};
use slotkeep_domain::label::{LabelCode, LabelKind, LabelRefusal};
use slotkeep_domain::place::SlotAddress;
use slotkeep_domain::register::View;
use slotkeep_domain::unit::UnitPlace;
use slotkeep_store::Reader;

pub(super) fn commands() -> Vec<Command> {
    vec![table::ask("label.resolve", "Says what a scanned or typed text stands for.", resolve)]
}

fn resolve(ask: &Ask<'_>, input: ResolveInput) -> Result<Thing, Failure> {
    ask.read(|r| Ok(thing(r, &input.text)))
}

/// What a text stands for; always an answer, never a failure.
pub(super) fn thing(r: &Reader<'_>, text: &str) -> Thing {
    let bare = |kind, text: &str, message: String| Thing {
        kind,
        text: text.chars().take(60).collect(),
        label: None,
        label_human: None,
        key: None,
        scrapped: false,
        message,
    };
    let label = match LabelCode::parse_scan(text) {
        Ok(label) => label,
        Err(refusal) => {
            if let Some(found) = by_name(r, text) {
                return found;
            }
            let kind = match refusal {
                LabelRefusal::Check(_) | LabelRefusal::Length { .. } => ThingKind::Damaged,
                _ => ThingKind::Foreign,
            };
            return bare(kind, text, refusal.to_string());
        }
    };
    match r.labelled(&label) {
        Some(what) => {
            let (_, key) = find::opened_by(r, &label);
            known(r, &label, text, key, what)
        }
        None => Thing {
            label: Some(label.to_string()),
            label_human: Some(label.human()),
            ..bare(ThingKind::Unknown, text, unknown(r, &label))
        },
    }
}

fn known(r: &Reader<'_>, label: &LabelCode, text: &str, key: String, what: String) -> Thing {
    let kind = match label.kind() {
        LabelKind::Unit => ThingKind::Unit,
        LabelKind::Slot => ThingKind::Slot,
        LabelKind::Bin => ThingKind::Bin,
        LabelKind::Lot => ThingKind::Lot,
        LabelKind::Cabinet => ThingKind::Cabinet,
    };
    let unit = r.unit(label);
    let scrapped = unit.as_ref().is_some_and(|unit| unit.place == UnitPlace::Scrapped);
    let afterwards = match &unit {
        Some(unit) if scrapped => format!(
            ", scrapped on {}: it is out of use and must not be fitted; take its label off",
            unit.since.date_naive()
        ),
        Some(unit) => match Out::of(r, unit) {
            Some(out) => format!(
                ", {}, handed out to {} since {}",
                unit.condition.word(),
                Catalogue::new(r).purpose(&out.purpose),
                out.at.date_naive()
            ),
            None => format!(", {} in {}", unit.condition.word(), unit.place),
        },
        None => String::new(),
    };
    Thing {
        kind,
        text: text.chars().take(60).collect(),
        label: Some(label.to_string()),
        label_human: Some(label.human()),
        key: Some(key),
        scrapped,
        message: what + &afterwards,
    }
}

fn unknown(r: &Reader<'_>, label: &LabelCode) -> String {
    let own = r.site().is_some_and(|site| site.prefix == label.prefix());
    if own {
        format!(
            "label {} is of this site, but nothing in the register carries it: register the \
             thing, or check whether this is the right store",
            label.human()
        )
    } else {
        format!(
            "label {} is of another site ({}): it is not in this register",
            label.human(),
            label.prefix()
        )
    }
}

/// A slot address or serial number typed instead of a label.
fn by_name(r: &Reader<'_>, text: &str) -> Option<Thing> {
    let address = SlotAddress::parse(text).ok();
    if let Some(slot) = address.and_then(|address| r.slot(&address)) {
        let key = slot.address.to_string();
        return Some(known(r, &slot.label, text, key.clone(), format!("slot {key}")));
    }
    if let Ok(cabinet) = find::cabinet(r, text) {
        let key = cabinet.address.to_string();
        return Some(known(r, &cabinet.label, text, key.clone(), format!("cabinet {key}")));
    }
    if let Ok(bin) = find::bin(r, text) {
        let key = bin.path.to_string();
        return Some(known(r, &bin.label, text, key.clone(), format!("bin {key}")));
    }
    if let Ok(lot) = find::lot(r, text) {
        let what = format!("lot {} of {}", lot.code, lot.model);
        return Some(known(r, &lot.label, text, lot.label.to_string(), what));
    }
    let unit = find::unit(r, text).ok()?;
    let what = format!("unit {} {}", unit.model, unit.serial);
    Some(known(r, &unit.label, text, unit.label.to_string(), what))
}
