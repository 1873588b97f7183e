//! Revision and firmware against what the slot allows at least.

use super::super::{Severity, Situation};
use super::{How, Said, fails, passes, said, unknown};
use crate::unit::firmware_order;

/// Asked only where the slot has a least revision.
pub(super) fn revision(s: &Situation<'_>) -> Option<Said> {
    let wanted = s.seat.slot.min_revision.as_ref()?;
    let model = &s.spare.model;
    let have = s.spare.unit.revision.as_deref();
    let ranks = (model.revision_rank(wanted), have.and_then(|have| model.revision_rank(have)));
    Some(match (have, ranks) {
        (None, _) => unknown(
            format!("the slot wants revision {wanted} or later; the spare's is not recorded"),
            "read the revision on the unit's plate and record it",
        ),
        (Some(have), (Some(wanted_at), Some(have_at))) if have_at >= wanted_at => {
            passes(format!("revision {have} is not older than {wanted}"))
        }
        (Some(have), (Some(_), Some(_))) => fails(
            format!("revision {have} is older than {wanted}, the oldest allowed in this slot"),
            "fetch a spare of a later revision",
        ),
        (Some(have), _) => said(
            How::UnknownAtMost(Severity::Caution),
            format!("the catalogue does not order revisions {have} and {wanted}"),
            "compare them by the maker's release notes, then complete the catalogue",
        ),
    })
}

/// Asked only where the slot has a least firmware.
pub(super) fn firmware(s: &Situation<'_>) -> Option<Said> {
    let wanted = s.seat.slot.min_firmware.as_deref()?;
    let Some(have) = s.spare.unit.firmware.as_deref() else {
        return Some(unknown(
            format!("the slot wants firmware {wanted} or later; the spare's is not recorded"),
            "read the firmware on the bench and record it",
        ));
    };
    Some(match (firmware_order(wanted), firmware_order(have)) {
        (Some(least), Some(present)) if present >= least => {
            passes(format!("firmware {have} is not older than {wanted}"))
        }
        (Some(_), Some(_)) => fails(
            format!("firmware {have} is older than {wanted}, the oldest allowed in this slot"),
            "load later firmware on the bench first, or fetch another spare",
        ),
        _ => said(
            How::UnknownAtMost(Severity::Caution),
            format!("firmware {have} and {wanted} cannot be ordered by their numbers"),
            "compare them by the maker's release notes",
        ),
    })
}
