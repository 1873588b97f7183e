//! A rail or cabinet against the rules of a line-up.

use super::{find, rule};
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::Nothing;
use crate::wire::lineup::{Lineup, LineupFinding, LineupInput};
use crate::wire::rule::RuleLine;
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::lineup::{self, Cabinet, Finding, Known, describe, keyed};
use slotkeep_domain::model::{Model, PartNo};
use slotkeep_domain::place::{CabinetAddress, RailAddress, Site, SlotAddress};
use slotkeep_domain::register::View;
use slotkeep_domain::rules::Severity;
use slotkeep_domain::rules::own::Judges;
use slotkeep_store::Reader;
use std::cmp::Reverse;
use std::collections::HashMap;
use std::sync::Arc;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask("lineup.check", "Holds a rail or cabinet against the rules.", check),
        table::ask("lineup.rules", "Lists the rules of a line-up as the site keeps them.", rules),
    ]
}

fn check(ask: &Ask<'_>, input: LineupInput) -> Result<Lineup, Failure> {
    ask.read(|r| {
        let (cabinet, rail) = meant(r, &input.address)?;
        let site = r.site().ok_or_else(find::empty)?;
        let cabinet = described(r, &site, &cabinet)?;
        let found = lineup::check(&cabinet, &site.rules, &site.own_rules);
        let findings = of_rail(found, &cabinet, rail.as_ref());
        let address = match &rail {
            Some(rail) => rail.to_string(),
            None => cabinet.address.to_string(),
        };
        let message = said(&address, &findings);
        Ok(Lineup {
            message,
            address,
            stops: count(&findings, Severity::Stop),
            cautions: count(&findings, Severity::Caution),
            notes: count(&findings, Severity::Note),
            unknown: findings.iter().filter(|f| f.unknown).count() as u32,
            findings: findings.iter().map(line).collect(),
        })
    })
}

/// The cabinet that an address or label names, and the rail if it names one.
pub(super) fn meant(
    r: &Reader<'_>,
    text: &str,
) -> Result<(CabinetAddress, Option<RailAddress>), Failure> {
    if LabelCode::parse_scan(text).is_err()
        && let Ok(rail) = RailAddress::parse(text)
    {
        let known = r.rail(&rail).ok_or_else(|| {
            let cabinet = rail.cabinet();
            let ways = r.rails_of(&cabinet).unwrap_or_default();
            let ways: Vec<_> = ways.iter().map(|rail| rail.address.to_string()).collect();
            Failure::not_found(match ways.is_empty() {
                true => {
                    format!("there is no rail {rail}, nor a cabinet {cabinet}: list the cabinets")
                }
                false => format!("there is no rail {rail}: {cabinet} has {}", ways.join(", ")),
            })
        })?;
        return Ok((known.address.cabinet(), Some(known.address)));
    }
    Ok((find::cabinet(r, text)?.address, None))
}

/// A cabinet with everything that the rules look at.
pub(super) fn described(
    r: &Reader<'_>,
    site: &Site,
    address: &CabinetAddress,
) -> Result<Cabinet, Failure> {
    let cabinet = find::cabinet(r, address.as_str())?;
    let models = Shelf::of(r, address)?;
    let keyed = Arc::new(keyed(models.models.values().map(|model| &**model)));
    let (rails, slots) = (r.rails_of(address)?, r.slots_of(address)?);
    Ok(describe(site, &cabinet, &rails, &slots, keyed, &models))
}

/// The catalogue and the units of one cabinet.
pub(super) struct Shelf {
    pub models: HashMap<PartNo, Arc<Model>>,
    standing: HashMap<SlotAddress, PartNo>,
}

impl Shelf {
    pub(super) fn of(r: &Reader<'_>, cabinet: &CabinetAddress) -> Result<Self, Failure> {
        let models = r.models()?.into_iter();
        let units = r.units_in_cabinet(cabinet)?.into_iter();
        let standing =
            units.filter_map(|unit| unit.place.slot().cloned().map(|slot| (slot, unit.model)));
        Ok(Self {
            models: models.map(|model| (model.part_no.clone(), Arc::new(model))).collect(),
            standing: standing.collect(),
        })
    }
}

impl Known for Shelf {
    fn model(&self, part_no: &PartNo) -> Option<Arc<Model>> {
        self.models.get(part_no).cloned()
    }

    fn standing(&self, slot: &SlotAddress) -> Option<PartNo> {
        self.standing.get(slot).cloned()
    }
}

/// Findings that matter for a rail, all of them where none is named; graver ones first.
pub(super) fn of_rail(
    mut found: Vec<Finding>,
    cabinet: &Cabinet,
    rail: Option<&RailAddress>,
) -> Vec<Finding> {
    if let Some(rail) = rail.and_then(|address| cabinet.rail(address)) {
        found.retain(|finding| cabinet.concerns(rail, finding));
    }
    found.sort_by_key(|finding| Reverse(finding.severity));
    found
}

pub(super) fn count(findings: &[Finding], severity: Severity) -> u32 {
    findings.iter().filter(|finding| finding.severity == severity).count() as u32
}

pub(super) fn said(address: &str, findings: &[Finding]) -> String {
    let of = |severity, one: &str| match count(findings, severity) {
        1 => format!("1 {one}"),
        many => format!("{many} {one}s"),
    };
    let looked = findings.len();
    if findings.iter().all(|finding| finding.severity == Severity::Pass) {
        return format!("{address} keeps every rule that has something to look at ({looked})");
    }
    format!(
        "{address}: {}, {}, {}",
        of(Severity::Stop, "stop"),
        of(Severity::Caution, "caution"),
        of(Severity::Note, "note")
    )
}

pub(super) fn line(finding: &Finding) -> LineupFinding {
    LineupFinding {
        severity: finding.severity.word().to_owned(),
        at: finding.at.clone(),
        rule: finding.rule.to_string(),
        own: finding.own,
        unknown: finding.unknown,
        compared: finding.compared.clone(),
        to_do: finding.to_do.clone(),
    }
}

fn rules(ask: &Ask<'_>, _: Nothing) -> Result<Vec<RuleLine>, Failure> {
    ask.read(|r| Ok(rule::lines(r.site().as_ref(), lineup::specs(), Judges::Item)))
}
