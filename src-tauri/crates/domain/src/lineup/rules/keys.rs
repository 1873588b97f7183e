//! Keys of bases and of the modules on them.

use super::{Findings, named, row::on_base};
use crate::lineup::{Cabinet, Place, Rail};
use crate::model::Model;
use std::sync::Arc;

pub(super) fn agree(_: &Cabinet, rail: &Rail, found: &mut Findings<'_>) {
    let before = found.count();
    let mut agreeing = 0;
    for (item, place) in rail.places().filter(|(_, place)| on_base(place.base)) {
        let at = &place.address;
        let Some(base) = &place.key else {
            let said = "no key is recorded for the base".to_owned();
            found.unknown(at, said, "read the keys on the base and record them");
            continue;
        };
        let Some(model) = item.meant() else {
            if place.filled {
                let said = format!("the base is keyed {base}; the module's model is not known");
                found.unknown(at, said, "add the model to the catalogue, with its key");
            }
            continue;
        };
        let what = if place.filled { "the module on it" } else { "the module wanted" };
        let part_no = &model.part_no;
        match &model.key {
            Some(key) if key == base => agreeing += 1,
            Some(key) => {
                let said = format!("the base is keyed {base}, {what} ({part_no}) is {key}");
                let to_do = "read both keys and correct the register, or fetch the right module; \
                             never force a key";
                found.broken(at, said, to_do);
            }
            None => {
                let said =
                    format!("the base is keyed {base}; the catalogue gives no key for {part_no}");
                found.unknown(at, said, "record the module's key in the catalogue");
            }
        }
    }
    if found.count() == before && agreeing > 0 {
        found.pass(&rail.address, format!("keys of {agreeing} bases and modules agree"));
    }
}

pub(super) fn shared(cabinet: &Cabinet, rail: &Rail, found: &mut Findings<'_>) {
    let before = found.count();
    let mut empty = 0;
    for (_, place) in rail.places().filter(|(_, place)| on_base(place.base) && !place.filled) {
        empty += 1;
        let at = &place.address;
        let Some(key) = &place.key else {
            let said = "the base is empty, and no key is recorded for it".to_owned();
            found.unknown(at, said, "read the keys on the base and record them");
            continue;
        };
        let Some(wanted) = &place.wanted else {
            let said =
                format!("the base is empty and keyed {key}; which model it is for is not known");
            found.unknown(
                at,
                said,
                "record the model that is wanted there (model_wanted in slots.csv)",
            );
            continue;
        };
        let wrong = accepted(cabinet, place, wanted);
        if !wrong.is_empty() {
            let said = format!(
                "the empty base is keyed {key} for {}; {} would be taken too",
                wanted.part_no,
                named(&wrong)
            );
            let to_do =
                "mark the base with the model wanted; the key alone does not keep others out";
            found.broken(at, said, to_do);
        }
    }
    if found.count() == before && empty > 0 {
        let said = format!("the keys of {empty} empty bases admit no model but the right one");
        found.pass(&rail.address, said);
    }
}

/// Models that the key admits and that may not stand in for the one wanted.
fn accepted(cabinet: &Cabinet, place: &Place, wanted: &Arc<Model>) -> Vec<String> {
    let Some(key) = &place.key else { return Vec::new() };
    let sharing = cabinet.keyed.get(&(place.base, key.clone()));
    let others = sharing
        .into_iter()
        .flatten()
        .filter(|part_no| **part_no != wanted.part_no && !wanted.substitutes.contains(part_no));
    others.map(ToString::to_string).collect()
}
