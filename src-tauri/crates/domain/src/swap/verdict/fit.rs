//! Whether the spare can be plugged at all, and is the right thing there.

use super::super::{Severity, Situation};
use super::{How, Said, fails, passes, said, unknown};
use crate::model::BaseKind;

/// Scheme and every letter must be equal.
pub(super) fn key(s: &Situation<'_>) -> Said {
    let slot = &s.seat.slot.address;
    let unit = s.spare.unit.label.human();
    let model = &s.spare.model.part_no;
    match (&s.seat.slot.key, &s.spare.model.key) {
        (Some(base), Some(module)) if base == module => passes(format!("both are keyed {base}")),
        (Some(base), Some(module)) => fails(
            format!("slot {slot} is keyed {base}, unit {unit} is {module}"),
            format!(
                "fetch a {base} module, or correct the register if the base was re-keyed; \
                 never force a key"
            ),
        ),
        (None, None) if matches!(s.seat.slot.base, BaseKind::OnePiece | BaseKind::Own) => {
            passes("this kind of base carries no key")
        }
        (None, Some(module)) => unknown(
            format!("unit {unit} is keyed {module}; no key is recorded for slot {slot}"),
            "read the keys on the base and record them for the slot first",
        ),
        (Some(base), None) => unknown(
            format!("slot {slot} is keyed {base}; the catalogue gives no key for {model}"),
            "record the module's key in the catalogue, or fetch a module of the right key",
        ),
        (None, None) => unknown(
            format!("no key is recorded for slot {slot}, nor for {model}"),
            "read the keys on base and module and record both first",
        ),
    }
}

pub(super) fn model(s: &Situation<'_>) -> Said {
    let have = &s.spare.model.part_no;
    let Some(wanted) = s.seat.reference_model() else {
        return unknown(
            format!("slot {} has no model recorded", s.seat.slot.address),
            "record which model the slot is engineered for first",
        );
    };
    if wanted.part_no == *have {
        passes(format!("{have} is the model wanted"))
    } else if wanted.substitutes.contains(have) {
        said(
            How::AtMost(Severity::Caution),
            format!("{have} may stand in for {} by the catalogue", wanted.part_no),
            "check settings and firmware that differ between the two models",
        )
    } else if s.spare.model.substitutes.contains(&wanted.part_no) {
        fails(
            format!(
                "{} may stand in for {have}, but not the other way round; the slot wants {0}",
                wanted.part_no
            ),
            format!("fetch a {}", wanted.part_no),
        )
    } else {
        fails(
            format!("the slot wants {}, the spare is a {have}", wanted.part_no),
            format!("fetch a {} or an allowed substitute", wanted.part_no),
        )
    }
}

/// Several kinds of base share keys, so an equal key does not prove the kind.
pub(super) fn base(s: &Situation<'_>) -> Said {
    let slot = &s.seat.slot;
    let model = &s.spare.model.part_no;
    match s.spare.model.base {
        Some(base) if base == slot.base => passes(format!("{model} is made for {}", words(base))),
        Some(base) => fails(
            format!(
                "slot {} has {}, {model} is made for {}",
                slot.address,
                words(slot.base),
                words(base)
            ),
            "fetch a unit for this kind of base; an equal key does not make it fit",
        ),
        None => unknown(
            format!("the catalogue does not say which kind of base {model} is made for"),
            "compare base and module by the maker's data, then complete the catalogue",
        ),
    }
}

pub(super) fn words(base: BaseKind) -> &'static str {
    match base {
        BaseKind::OnePiece => "the rail itself, as a one-piece unit",
        BaseKind::Compact => "a compact base",
        BaseKind::Extended => "an extended base",
        BaseKind::IntrinsicallySafe => "an intrinsically safe base",
        BaseKind::Own => "the rail, with a base of its own",
    }
}

/// Intrinsically safe units on intrinsically safe bases only, and nothing else there.
///
/// Source: IEC 60079-25, separation of intrinsically safe circuits; that a unit once used on a
/// standard base no longer counts as intrinsically safe is common practice, no source.
pub(super) fn intrinsic_safety(s: &Situation<'_>) -> Option<Said> {
    let slot = &s.seat.slot;
    let base = slot.base == BaseKind::IntrinsicallySafe;
    match (base, s.spare.model.intrinsically_safe) {
        (true, true) => Some(match &s.seat.key_scheme {
            Some(scheme) if scheme.intrinsically_safe => {
                passes("intrinsically safe unit on an intrinsically safe base")
            }
            Some(scheme) => unknown(
                format!(
                    "slot {} counts as intrinsically safe, but its key scheme {} does not",
                    slot.address, scheme.name
                ),
                "look at the base: one of the two records is wrong; correct it first",
            ),
            None => unknown(
                format!(
                    "slot {} counts as intrinsically safe; no key scheme shows that it is",
                    slot.address
                ),
                "read the keys on the base and record them for the slot first",
            ),
        }),
        (true, false) => Some(fails(
            format!("slot {} is intrinsically safe, the spare is not", slot.address),
            "fetch an intrinsically safe unit; work on such loops is for competent persons",
        )),
        (false, true) => Some(fails(
            format!("the spare is intrinsically safe, slot {} is not", slot.address),
            "fetch a standard unit; once used on a standard base a unit may no longer count \
             as intrinsically safe",
        )),
        (false, false) => None,
    }
}

pub(super) fn width(s: &Situation<'_>) -> Said {
    let (have, room) = (s.spare.model.width_mm, s.seat.slot.width_mm);
    let (model, slot) = (&s.spare.model.part_no, &s.seat.slot.address);
    let known = |mm: f64| mm.is_finite() && mm > 0.0;
    if !known(have) || !known(room) {
        return unknown(
            format!("the width of {model} or of slot {slot} is not recorded"),
            "measure both and complete catalogue and register",
        );
    }
    if have > room + 0.05 {
        return fails(
            format!("the spare is {have} mm wide, slot {slot} has {room} mm"),
            "fetch a unit that fits, or correct the width in catalogue or register",
        );
    }
    passes(format!("{have} mm fit in {room} mm"))
}

/// Asked only where loops are wired to the slot.
pub(super) fn channels(s: &Situation<'_>) -> Option<Said> {
    let highest = s.seat.loops.iter().max_by_key(|wired| wired.channel)?;
    let (model, have) = (&s.spare.model.part_no, s.spare.model.channels);
    Some(if have == 0 {
        unknown(
            format!("the catalogue gives no channels for {model}, and loops are wired to the slot"),
            "complete the catalogue, or correct where the loops are wired",
        )
    } else if highest.channel > have {
        fails(
            format!("{} is wired to channel {}, {model} has {have}", highest.tag, highest.channel),
            "fetch a unit with as many channels, or correct where the loop is wired",
        )
    } else {
        passes(format!("{model} has {have} channels, loops use up to {}", highest.channel))
    })
}
