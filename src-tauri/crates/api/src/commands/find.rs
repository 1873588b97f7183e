//! From what a person scanned or typed to the record it means.

use crate::Failure;
use slotkeep_domain::journal::PowerScope;
use slotkeep_domain::label::{LabelCode, LabelKind, SitePrefix};
use slotkeep_domain::model::{Model, PartNo};
use slotkeep_domain::place::{
    Bin, BinPath, Cabinet, CabinetAddress, Rail, RailAddress, Slot, SlotAddress,
};
use slotkeep_domain::register::View;
use slotkeep_domain::stock::Lot;
use slotkeep_domain::unit::Unit;
use slotkeep_paper::PageSize;
use slotkeep_store::Reader;
use uuid::Uuid;

/// The state of the register, for paper: how many entries, and the hash of the newest.
pub(crate) fn revision(r: &Reader<'_>) -> Result<String, Failure> {
    let (entries, hash) = r.head()?;
    let hash: String = hash.iter().take(6).map(|byte| format!("{byte:02x}")).collect();
    Ok(format!("{entries} entries, {hash}"))
}

/// The page that a sheet is asked for on; A4 where nobody says.
pub(crate) fn page(text: Option<&str>) -> Result<PageSize, Failure> {
    match text {
        None | Some("" | "a4") => Ok(PageSize::A4),
        Some("letter") => Ok(PageSize::Letter),
        Some(other) => {
            Err(Failure::bad_input(format!("there is no page {other:?}: choose a4 or letter")))
        }
    }
}

/// A unit by its label or, where that is unambiguous, its serial number.
pub(crate) fn unit(r: &Reader<'_>, text: &str) -> Result<Unit, Failure> {
    if let Ok(label) = LabelCode::parse_scan(text) {
        return match label.kind() {
            LabelKind::Unit => r.unit(&label).ok_or_else(|| absent("unit", &label.human())),
            _ => Err(Failure::bad_input(format!(
                "{} is not the label of a unit: scan the label on the unit itself",
                label.human()
            ))),
        };
    }
    let mut with_serial = r.units_with_serial(text.trim())?;
    match (with_serial.pop(), with_serial.len()) {
        (Some(unit), 0) => Ok(unit),
        (Some(_), more) => Err(Failure::bad_input(format!(
            "{} units have the serial number {text:?}: scan the label instead",
            more + 1
        ))),
        (None, _) => Err(absent("unit", text)),
    }
}

/// A slot by its address or label.
pub(crate) fn slot(r: &Reader<'_>, text: &str) -> Result<Slot, Failure> {
    let address = match LabelCode::parse_scan(text) {
        Ok(label) => r.slot_labelled(&label).ok_or_else(|| absent("slot", &label.human()))?,
        Err(_) => text.to_owned(),
    };
    let address =
        SlotAddress::parse(&address).map_err(|refusal| Failure::bad_input(refusal.to_string()))?;
    r.slot(&address).ok_or_else(|| absent("slot", address.as_str()))
}

/// A rail by its address.
pub(crate) fn rail(r: &Reader<'_>, text: &str) -> Result<Rail, Failure> {
    let address =
        RailAddress::parse(text).map_err(|refusal| Failure::bad_input(refusal.to_string()))?;
    r.rail(&address).ok_or_else(|| absent("rail", address.as_str()))
}

/// A cabinet by its address or label.
pub(crate) fn cabinet(r: &Reader<'_>, text: &str) -> Result<Cabinet, Failure> {
    let address = match LabelCode::parse_scan(text) {
        Ok(label) => r.cabinet_labelled(&label).ok_or_else(|| absent("cabinet", &label.human()))?,
        Err(_) => text.to_owned(),
    };
    let address = CabinetAddress::parse(&address)
        .map_err(|refusal| Failure::bad_input(refusal.to_string()))?;
    r.cabinet(&address).ok_or_else(|| absent("cabinet", address.as_str()))
}

/// What lies without power or is visited: `site`, an area code, or a cabinet.
pub(crate) fn scope(r: &Reader<'_>, text: &str) -> Result<PowerScope, Failure> {
    if text.trim().is_empty() {
        return Err(Failure::bad_input(
            "the scope is empty: write site, an area code, or a cabinet address such as +K12",
        ));
    }
    if LabelCode::parse_scan(text).is_ok() {
        return Ok(PowerScope::Cabinet(cabinet(r, text)?.address));
    }
    PowerScope::parse(text).map_err(|no| Failure::bad_input(no.to_string()))
}

/// A bin by its path or label.
pub(crate) fn bin(r: &Reader<'_>, text: &str) -> Result<Bin, Failure> {
    let path = match LabelCode::parse_scan(text) {
        Ok(label) => r.bin_labelled(&label).ok_or_else(|| absent("bin", &label.human()))?,
        Err(_) => text.to_owned(),
    };
    let path = BinPath::parse(&path).map_err(|refusal| Failure::bad_input(refusal.to_string()))?;
    r.bin(&path).ok_or_else(|| absent("bin", path.as_str()))
}

/// A lot by its label or its maker's code.
pub(crate) fn lot(r: &Reader<'_>, text: &str) -> Result<Lot, Failure> {
    if let Ok(label) = LabelCode::parse_scan(text) {
        return match label.kind() {
            LabelKind::Lot => r.lot(&label).ok_or_else(|| absent("lot", &label.human())),
            _ => Err(Failure::bad_input(format!(
                "{} is not the label of a lot: scan the label on the lot's bag or box",
                label.human()
            ))),
        };
    }
    let mut coded = r.lots_with_code(text.trim())?;
    match (coded.pop(), coded.len()) {
        (Some(lot), 0) => Ok(lot),
        (Some(_), more) => Err(Failure::bad_input(format!(
            "{} lots have the code {text:?}: scan the label instead",
            more + 1
        ))),
        (None, _) => Err(absent("lot", text)),
    }
}

/// The bin that a lot is taken from: the one named, or the only one it lies in.
pub(crate) fn bin_of(r: &Reader<'_>, lot: &Lot, named: Option<&str>) -> Result<BinPath, Failure> {
    if let Some(text) = named {
        return Ok(bin(r, text)?.path);
    }
    let mut bins = lot.pieces.keys();
    match (bins.next(), bins.next()) {
        (Some(only), None) => Ok(only.clone()),
        (None, _) => Err(Failure::refused(format!(
            "lot {} is used up: no bin holds any of it",
            lot.label.human()
        ))),
        _ => Err(Failure::bad_input(format!(
            "lot {} lies in several bins: say which one",
            lot.label.human()
        ))),
    }
}

pub(crate) fn model(r: &Reader<'_>, text: &str) -> Result<Model, Failure> {
    let part_no = PartNo::parse(text).map_err(Failure::bad_input)?;
    r.model(&part_no).ok_or_else(|| absent("model", text))
}

/// A place that a unit can be sent to: a bin by path or label, `bench`, `repair`, `scrapped`.
pub(crate) fn unit_place(
    r: &Reader<'_>,
    text: &str,
) -> Result<slotkeep_domain::unit::UnitPlace, Failure> {
    use slotkeep_domain::unit::UnitPlace;
    if LabelCode::parse_scan(text).is_ok() {
        return Ok(UnitPlace::Bin(bin(r, text)?.path));
    }
    UnitPlace::parse(text).map_err(Failure::bad_input)
}

/// A label that nothing carries yet, made from an entry's id or read from what is stuck on.
pub(crate) fn new_label(
    r: &Reader<'_>,
    kind: LabelKind,
    id: &Uuid,
    stuck_on: Option<&str>,
) -> Result<LabelCode, Failure> {
    if let Some(text) = stuck_on {
        return LabelCode::parse_scan(text).map_err(|no| Failure::bad_input(no.to_string()));
    }
    let mut label = LabelCode::allocate(prefix(r)?, kind, id.as_u128() as u32);
    while r.labelled(&label).is_some() {
        label = label.next();
    }
    Ok(label)
}

/// The label prefix of the site.
pub(crate) fn prefix(r: &Reader<'_>) -> Result<SitePrefix, Failure> {
    r.site().map(|site| site.prefix).ok_or_else(empty)
}

/// What is said when nothing was imported yet.
pub(crate) fn empty() -> Failure {
    Failure::refused(
        "the store is empty: import a site folder first (slotkeep import FOLDER, or the first \
         screen)",
    )
}

fn absent(what: &str, name: &str) -> Failure {
    Failure::not_found(format!(
        "{what} {name:?} is not in the register: check how it is written, or add it first"
    ))
}

/// The kind of thing that a label is on, and what it is opened by.
pub(crate) fn opened_by(r: &Reader<'_>, label: &LabelCode) -> (&'static str, String) {
    let own = label.to_string();
    match label.kind() {
        LabelKind::Unit => ("unit", own),
        LabelKind::Lot => ("lot", own),
        LabelKind::Slot => ("slot", r.slot_labelled(label).unwrap_or(own)),
        LabelKind::Bin => ("bin", r.bin_labelled(label).unwrap_or(own)),
        LabelKind::Cabinet => ("cabinet", r.cabinet_labelled(label).unwrap_or(own)),
    }
}
