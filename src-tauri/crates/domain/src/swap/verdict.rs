use super::{Finding, Rule, Severity, Situation};
use crate::model::{BaseKind, Lifecycle, ModelKind};
use crate::unit::{Condition, UnitPlace};

/// Compares a spare with a slot, rule by rule, and returns every finding.
///
/// Unknown data is a finding of its own and never a pass. The order is that of importance:
/// what cannot be plugged or must not be energised comes first.
pub fn verdict(s: &Situation) -> Vec<Finding> {
    [
        key,
        model,
        intrinsic_safety,
        place,
        condition,
        revision,
        firmware,
        width,
        lifecycle,
        partner,
        battery,
        slot_busy,
        reservation,
    ]
    .into_iter()
    .filter_map(|rule| rule(s))
    .collect()
}

fn finding(
    rule: Rule,
    severity: Severity,
    compared: impl Into<String>,
    to_do: impl Into<String>,
) -> Option<Finding> {
    Some(Finding { rule, severity, compared: compared.into(), to_do: to_do.into() })
}

fn key(s: &Situation) -> Option<Finding> {
    let slot = &s.slot.address;
    let unit = s.candidate.label.human();
    match (&s.slot.key, &s.candidate_model.key) {
        (Some(base), Some(module)) if base == module => {
            finding(Rule::Key, Severity::Pass, format!("both are keyed {base}"), "")
        }
        (Some(base), Some(module)) => finding(
            Rule::Key,
            Severity::Stop,
            format!("slot {slot} is keyed {base}, unit {unit} is {module}"),
            format!(
                "fetch a {base} module, or correct the register if the base was re-keyed; \
                 never force a key"
            ),
        ),
        (None, None) if s.slot.base == BaseKind::OnePiece || s.slot.base == BaseKind::Own => {
            finding(Rule::Key, Severity::Pass, "this kind of base carries no key", "")
        }
        (None, Some(module)) => finding(
            Rule::Key,
            Severity::Stop,
            format!("unit {unit} is keyed {module}; no key is recorded for slot {slot}"),
            "read the keys on the base and record them for the slot first",
        ),
        (Some(base), None) => finding(
            Rule::Key,
            Severity::Stop,
            format!(
                "slot {slot} is keyed {base}; the catalogue gives no key for {}",
                s.candidate_model.part_no
            ),
            "record the module's key in the catalogue, or fetch a module of the right key",
        ),
        (None, None) => finding(
            Rule::Key,
            Severity::Stop,
            format!("no key is recorded for slot {slot}, nor for {}", s.candidate_model.part_no),
            "read the keys on base and module and record both first",
        ),
    }
}

fn model(s: &Situation) -> Option<Finding> {
    let have = &s.candidate_model.part_no;
    let Some(wanted) = s.reference_model() else {
        return finding(
            Rule::Model,
            Severity::Stop,
            format!("slot {} has no model recorded", s.slot.address),
            "record which model the slot is engineered for first",
        );
    };
    if wanted.part_no == *have {
        finding(Rule::Model, Severity::Pass, format!("{have} is the model wanted"), "")
    } else if wanted.substitutes.contains(have) {
        finding(
            Rule::Model,
            Severity::Caution,
            format!("{have} may stand in for {} by the catalogue", wanted.part_no),
            "check settings and firmware that differ between the two models",
        )
    } else if s.candidate_model.substitutes.contains(&wanted.part_no) {
        finding(
            Rule::Model,
            Severity::Stop,
            format!(
                "{} may stand in for {have}, but not the other way round; the slot wants {0}",
                wanted.part_no
            ),
            format!("fetch a {}", wanted.part_no),
        )
    } else {
        finding(
            Rule::Model,
            Severity::Stop,
            format!("the slot wants {}, the spare is a {have}", wanted.part_no),
            format!("fetch a {} or an allowed substitute", wanted.part_no),
        )
    }
}

fn intrinsic_safety(s: &Situation) -> Option<Finding> {
    let base = s.slot.base == BaseKind::IntrinsicallySafe;
    match (base, s.candidate_model.intrinsically_safe) {
        (true, true) => finding(
            Rule::IntrinsicSafety,
            Severity::Pass,
            "intrinsically safe unit on an intrinsically safe base",
            "",
        ),
        (true, false) => finding(
            Rule::IntrinsicSafety,
            Severity::Stop,
            format!("slot {} is intrinsically safe, the spare is not", s.slot.address),
            "fetch an intrinsically safe unit; work on such loops is for competent persons",
        ),
        (false, true) => finding(
            Rule::IntrinsicSafety,
            Severity::Stop,
            format!("the spare is intrinsically safe, slot {} is not", s.slot.address),
            "fetch a standard unit; once used on a standard base a unit may no longer count \
             as intrinsically safe",
        ),
        (false, false) => None,
    }
}

fn place(s: &Situation) -> Option<Finding> {
    let (severity, compared, to_do) = match &s.candidate.place {
        UnitPlace::Bin(bin) => (Severity::Pass, format!("the spare lies in {bin}"), ""),
        UnitPlace::Bench => (
            Severity::Caution,
            "the spare is on the bench".to_owned(),
            "make sure that whoever tests it has released it",
        ),
        UnitPlace::Slot(slot) if *slot == s.slot.address => (
            Severity::Stop,
            format!("the unit already stands in {slot}"),
            "choose the unit that is to replace it",
        ),
        UnitPlace::Slot(slot) => (
            Severity::Stop,
            format!("the unit is installed in {slot}"),
            "remove it there first, or choose another spare",
        ),
        UnitPlace::Repair => (
            Severity::Stop,
            "the unit is away for repair".to_owned(),
            "receive it back into a bin first, if you hold it in your hand",
        ),
        UnitPlace::Lost => (
            Severity::Stop,
            "the unit is lost by the register".to_owned(),
            "record where it was found first, if you hold it in your hand",
        ),
        UnitPlace::Scrapped => (
            Severity::Stop,
            "the unit is scrapped".to_owned(),
            "put it back where scrapped units go and choose another spare",
        ),
    };
    finding(Rule::Place, severity, compared, to_do)
}

fn condition(s: &Situation) -> Option<Finding> {
    let word = s.candidate.condition.word();
    let compared = format!("the spare's condition is {word}");
    match s.candidate.condition {
        Condition::Good => finding(Rule::Condition, Severity::Pass, compared, ""),
        Condition::Suspect | Condition::Failed => finding(
            Rule::Condition,
            Severity::Stop,
            compared,
            "choose a good spare, or have this one tested and record the result",
        ),
        Condition::Quarantined => finding(
            Rule::Condition,
            Severity::Stop,
            compared,
            "choose another spare until the quarantine is lifted",
        ),
    }
}

fn revision(s: &Situation) -> Option<Finding> {
    let wanted = s.slot.min_revision.as_ref()?;
    let model = &s.candidate_model;
    let have = s.candidate.revision.as_deref();
    let ranks = (model.revision_rank(wanted), have.and_then(|have| model.revision_rank(have)));
    match (have, ranks) {
        (None, _) => finding(
            Rule::Revision,
            Severity::Stop,
            format!("the slot wants revision {wanted} or later; the spare's is not recorded"),
            "read the revision on the unit's plate and record it",
        ),
        (Some(have), (Some(wanted_at), Some(have_at))) if have_at >= wanted_at => finding(
            Rule::Revision,
            Severity::Pass,
            format!("revision {have} is not older than {wanted}"),
            "",
        ),
        (Some(have), (Some(_), Some(_))) => finding(
            Rule::Revision,
            Severity::Stop,
            format!("revision {have} is older than {wanted}, the oldest allowed in this slot"),
            "fetch a spare of a later revision",
        ),
        (Some(have), _) => finding(
            Rule::Revision,
            Severity::Caution,
            format!("the catalogue does not order revisions {have} and {wanted}"),
            "compare them by the maker's release notes, then complete the catalogue",
        ),
    }
}

fn firmware(s: &Situation) -> Option<Finding> {
    let wanted = s.slot.min_firmware.as_deref()?;
    let Some(have) = s.candidate.firmware.as_deref() else {
        return finding(
            Rule::Firmware,
            Severity::Stop,
            format!("the slot wants firmware {wanted} or later; the spare's is not recorded"),
            "read the firmware on the bench and record it",
        );
    };
    match (numbers(wanted), numbers(have)) {
        (Some(least), Some(present)) if present >= least => finding(
            Rule::Firmware,
            Severity::Pass,
            format!("firmware {have} is not older than {wanted}"),
            "",
        ),
        (Some(_), Some(_)) => finding(
            Rule::Firmware,
            Severity::Stop,
            format!("firmware {have} is older than {wanted}, the oldest allowed in this slot"),
            "load later firmware on the bench first, or fetch another spare",
        ),
        _ => finding(
            Rule::Firmware,
            Severity::Caution,
            format!("firmware {have} and {wanted} cannot be ordered by their numbers"),
            "compare them by the maker's release notes",
        ),
    }
}

/// Dotted numbers of a firmware name, trailing zeros dropped: 2.10 is later than 2.9.
fn numbers(text: &str) -> Option<Vec<u64>> {
    let text = text.trim().trim_start_matches(['v', 'V']);
    let mut parts = text.split('.').map(|part| part.parse().ok()).collect::<Option<Vec<u64>>>()?;
    while parts.last() == Some(&0) {
        parts.pop();
    }
    Some(parts)
}

fn width(s: &Situation) -> Option<Finding> {
    let (have, room) = (s.candidate_model.width_mm, s.slot.width_mm);
    (have > room + 0.05).then_some(())?;
    finding(
        Rule::Width,
        Severity::Stop,
        format!("the spare is {have} mm wide, slot {} has {room} mm", s.slot.address),
        "fetch a unit that fits, or correct the width in catalogue or register",
    )
}

fn lifecycle(s: &Situation) -> Option<Finding> {
    match s.candidate_model.lifecycle {
        Lifecycle::Active => None,
        Lifecycle::Discontinued => finding(
            Rule::Lifecycle,
            Severity::Note,
            format!("{} is discontinued", s.candidate_model.part_no),
            "this spare may not be replaceable: see the shelf",
        ),
        Lifecycle::Recalled => finding(
            Rule::Lifecycle,
            Severity::Stop,
            format!("{} is recalled by its maker", s.candidate_model.part_no),
            "fetch a substitute and quarantine this unit",
        ),
    }
}

fn partner(s: &Situation) -> Option<Finding> {
    let (address, partner) = s.partner.as_ref()?;
    let Some(partner) = partner else {
        return finding(
            Rule::Partner,
            Severity::Caution,
            format!("the redundant partner slot {address} is empty"),
            "the function is lost while this slot is empty: clear that with operations",
        );
    };
    if partner.condition != Condition::Good {
        return finding(
            Rule::Partner,
            Severity::Caution,
            format!("the redundant partner in {address} is {}", partner.condition.word()),
            "do not rely on it: clear the effect with operations as if there were none",
        );
    }
    let same = partner.model == s.candidate.model
        && partner.revision == s.candidate.revision
        && partner.firmware == s.candidate.firmware;
    if same {
        return finding(
            Rule::Partner,
            Severity::Pass,
            format!("same model, revision and firmware as the redundant partner in {address}"),
            "",
        );
    }
    let shown = |text: &Option<String>| text.clone().unwrap_or_else(|| "not recorded".to_owned());
    finding(
        Rule::Partner,
        Severity::Caution,
        format!(
            "the redundant partner in {address} is {} revision {}, firmware {}; \
             the spare is {} revision {}, firmware {}",
            partner.model,
            shown(&partner.revision),
            shown(&partner.firmware),
            s.candidate.model,
            shown(&s.candidate.revision),
            shown(&s.candidate.firmware),
        ),
        "make sure that the pair may run with this difference",
    )
}

fn battery(s: &Situation) -> Option<Finding> {
    let need = s.candidate_model.battery.as_ref()?;
    match &s.candidate.battery {
        Some(fitted) => finding(
            Rule::Battery,
            Severity::Note,
            format!("the spare carries a {} fitted on {}", fitted.model, fitted.fitted_on),
            "see its due date before you rely on it",
        ),
        None => finding(
            Rule::Battery,
            Severity::Caution,
            format!("no back-up battery is recorded in the spare; it takes a {}", need.model),
            "fit one and record it; without it the program is lost at the first power-off",
        ),
    }
}

fn reservation(s: &Situation) -> Option<Finding> {
    let kept_for = s.kept_for.as_ref()?;
    finding(
        Rule::Reservation,
        Severity::Stop,
        format!("the spare is kept for {kept_for}"),
        "choose another spare, or release the reservation first",
    )
}

fn slot_busy(s: &Situation) -> Option<Finding> {
    let mounted = s.slot.base == BaseKind::Own
        || !matches!(s.candidate_model.kind, ModelKind::Controller | ModelKind::PowerSupply);
    if s.swap_open {
        return finding(
            Rule::SlotBusy,
            Severity::Stop,
            format!("a swap is already under way in slot {}", s.slot.address),
            "finish or abandon that one first",
        );
    }
    if !mounted {
        return finding(
            Rule::SlotBusy,
            Severity::Stop,
            format!("slot {} is not made for a controller or power supply", s.slot.address),
            "choose the right slot",
        );
    }
    None
}
