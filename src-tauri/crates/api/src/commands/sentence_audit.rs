//! What the entries about audits of rails say, in a sentence for people.

use super::audit_shown::summary;
use super::sentence::because;
use slotkeep_domain::audit::Settlement;
use slotkeep_domain::journal::{AuditSettled, RailAudited};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::place::SlotAddress;
use slotkeep_domain::{counted, listed};

pub(super) fn of_audit(audited: &RailAudited) -> String {
    format!(
        "Rail {} audited by {}: {}{}",
        audited.rail,
        counted(audited.pictures, "photo"),
        summary(&audited.findings),
        because(&audited.note)
    )
}

pub(super) fn of_settlement(settled: &AuditSettled) -> String {
    let slot = &settled.slot;
    let unit = |label: Option<LabelCode>| {
        label.map_or("what did not belong there".to_owned(), |l| format!("unit {}", l.human()))
    };
    let (own, other) = (unit(settled.registered), unit(settled.unit));
    let mut said = match settled.how {
        Settlement::Stands => format!("Audit: {own} stands in {slot} as registered, looked at"),
        Settlement::Exchanged => {
            let stands = |(slot, label): &(SlotAddress, LabelCode)| {
                format!("unit {} in {slot}", label.human())
            };
            let stand: Vec<String> = settled.exchanged.iter().map(stands).collect();
            format!("Audit: exchanged, the register follows: {}", listed(&stand))
        }
        Settlement::NotThere => format!("Audit: {own} is not in {slot}, lost until it is found"),
        Settlement::StandsHere if settled.registered.is_some() => {
            format!("Audit: {other} stands in {slot}; {own} does not and is lost until it is found")
        }
        Settlement::StandsHere => format!("Audit: {other} stands in {slot}"),
        Settlement::TakenOut => format!("Audit: {other} was taken out of {slot}"),
        Settlement::LeftOpen => format!("Audit: slot {slot} is left open"),
    };
    if settled.reprint {
        said.push_str("; its label is to be printed again");
    }
    said + &because(&settled.note)
}
