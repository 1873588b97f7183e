use super::super::problem::Problems;
use super::{Models, Read, key_misfit};
use slotkeep_domain::model::{Model, ModelKind};
use std::collections::BTreeMap;

const FILE: &str = "models.json";

/// Checks the catalogue within itself and returns it by part number.
pub(super) fn check<'a>(read: &'a Read, problems: &mut Problems) -> Models<'a> {
    let mut models = Models::new();
    for (at, row) in read.models.iter().enumerate() {
        if models.insert(&row.key, &row.value).is_some() {
            let pointer = format!("/models/{at}/part_no");
            problems.json(FILE, &pointer, &row.key, "each part number once");
        }
    }
    for (at, row) in read.models.iter().enumerate() {
        line(read, &models, at, &row.value, problems);
    }
    maker_codes(read, problems);
    models
}

/// A code that names two models would name neither.
fn maker_codes(read: &Read, problems: &mut Problems) {
    let mut taken: BTreeMap<&str, usize> = BTreeMap::new();
    for (at, row) in read.models.iter().enumerate() {
        for (count, code) in row.value.maker_codes.iter().enumerate() {
            if *taken.entry(code).or_insert(at) != at {
                let pointer = format!("/models/{at}/maker_codes/{count}");
                problems.json(FILE, &pointer, code, "a code that no other model has");
            }
        }
    }
}

fn line(read: &Read, models: &Models<'_>, at: usize, model: &Model, problems: &mut Problems) {
    let pointer = |field: &str| format!("/models/{at}/{field}");
    if let Some(key) = &model.key
        && let Some((field, expected)) = key_misfit(&read.key_schemes, key, problems)
    {
        problems.json(FILE, &pointer(field), key, expected);
    }
    if let Some(need) = &model.battery {
        let cell = models.get(need.model.as_str());
        let unjudged = problems.bad_models.contains(need.model.as_str());
        if !unjudged
            && cell.is_none_or(|cell| cell.kind != ModelKind::Battery || cell.cell.is_none())
        {
            problems.json(
                FILE,
                &pointer("battery/model"),
                &need.model,
                "the part number of a battery with its cell figures",
            );
        }
    }
    for (count, substitute) in model.substitutes.iter().enumerate() {
        let there = models.contains_key(substitute.as_str())
            || problems.bad_models.contains(substitute.as_str());
        if !there || *substitute == model.part_no {
            problems.json(
                FILE,
                &pointer(&format!("substitutes/{count}")),
                substitute,
                "another part number of this file",
            );
        }
    }
    if model.is_slot_unit() && model.counted {
        problems.json(FILE, &pointer("counted"), "true", "false: it is kept by serial number");
    }
    for (count, revision) in model.revisions.iter().enumerate() {
        if model.revision_rank(revision) != Some(count) {
            let path = pointer(&format!("revisions/{count}"));
            problems.json(FILE, &path, revision, "each revision once");
        }
    }
}
