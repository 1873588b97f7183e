//! The entity parameters of each intrinsically safe loop, with the spare as its source.

use super::super::Situation;
use super::{Said, fails, passes, unknown};
use crate::loops::{Cable, EntityCheck, EntitySource, Loop, Outcome, entity_check};
use crate::model::BaseKind;

/// Asked only where an intrinsically safe unit meets a slot to which loops are wired: one finding
/// for each loop that does not hold or is not known, one for all that hold.
///
/// Source: IEC 60079-14 and IEC 60079-25, see [`entity_check`].
pub(super) fn entity(s: &Situation<'_>) -> Vec<Said> {
    let safe = s.spare.model.intrinsically_safe || s.seat.slot.base == BaseKind::IntrinsicallySafe;
    if !safe || s.seat.loops.is_empty() {
        return Vec::new();
    }
    let model = &s.spare.model;
    let Some(output) = &model.entity else {
        return vec![unknown(
            format!("the catalogue gives no entity parameters for {}", model.part_no),
            "take them from the unit's certificate and complete the catalogue",
        )];
    };
    let source = EntitySource::from(output);
    let mut found = Vec::new();
    let mut held = Vec::new();
    for wired in &s.seat.loops {
        match judged(wired, &source) {
            None => held.push(wired.tag.as_str()),
            Some(said) => found.push(said),
        }
    }
    if !held.is_empty() {
        found.push(passes(format!(
            "by the figures recorded {} within the entity parameters of {}, cable included: {}",
            if held.len() == 1 { "1 loop is" } else { "these loops are" },
            model.part_no,
            held.join(", ")
        )));
    }
    found
}

/// What is wrong with one loop; none where every comparison holds.
fn judged(wired: &Loop, source: &EntitySource) -> Option<Said> {
    let tag = &wired.tag;
    let Some(field) = &wired.entity else {
        return Some(unknown(
            format!("nothing is recorded of the field side of {tag}"),
            "take the figures from certificate and loop drawing and record them",
        ));
    };
    let check = entity_check(source, field, &Cable::of(field));
    if check.passes {
        return None;
    }
    let failed = messages(&check, Outcome::Fails);
    Some(if failed.is_empty() {
        unknown(
            format!("{tag}: {}", messages(&check, Outcome::Unknown)),
            "take the figures from certificate and loop drawing and record them",
        )
    } else {
        fails(
            format!("{tag}: {failed}"),
            "do not connect it; a competent person must look at the loop (IEC 60079-14)",
        )
    })
}

fn messages(check: &EntityCheck, outcome: Outcome) -> String {
    let of = check.findings.iter().filter(|finding| finding.outcome == outcome);
    of.map(|finding| finding.message.as_str()).collect::<Vec<_>>().join(" ")
}
