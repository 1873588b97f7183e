//! The verdict for a slot and a spare, and what it is made from.

use super::battery_figures::Surroundings;
use super::lines::Catalogue;
use super::swap::{cautions, finding};
use super::swap_rail::OfCabinets;
use super::{find, lines, rule, swap_effects, swap_steps};
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::Nothing;
use crate::wire::rule::RuleLine;
use crate::wire::swap::{Check, CheckInput};
use chrono::{NaiveDate, NaiveTime};
use slotkeep_domain::battery::{due_days, remaining_mah};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::model::{Model, PartNo};
use slotkeep_domain::place::{Site, Slot, SlotAddress};
use slotkeep_domain::register::{Reservation, View};
use slotkeep_domain::rules::own::Judges;
use slotkeep_domain::swap::{
    BatteryOutlook, Seat, Severity, Situation, Spare, specs, verdict, worst,
};
use slotkeep_domain::unit::Unit;
use slotkeep_store::Reader;
use std::cell::{OnceCell, RefCell};
use std::collections::HashMap;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask("swap.check", "Judges a spare for a slot and composes the steps.", check),
        table::ask("swap.rules", "Lists the rules of the verdict as this site keeps them.", rules),
    ]
}

fn check(ask: &Ask<'_>, input: CheckInput) -> Result<Check, Failure> {
    let today = ask.today();
    ask.read(|r| {
        let (seat, spare) = pair(r, &input.slot, &input.unit, today)?;
        checked(r, &Situation { seat: &seat, spare: &spare })
    })
}

fn rules(ask: &Ask<'_>, _: Nothing) -> Result<Vec<RuleLine>, Failure> {
    ask.read(|r| Ok(rule::lines(r.site().as_ref(), specs(), Judges::Swap)))
}

/// What the spares of many slots share: looked up once for a whole reply.
pub(super) struct Gathered<'r, 'c> {
    r: &'r Reader<'c>,
    pub catalogue: Catalogue<'r, 'c>,
    today: NaiveDate,
    site: Option<Site>,
    cabinets: OfCabinets,
    /// Spares of swaps under way.
    promised: HashMap<LabelCode, SlotAddress>,
    reserved: RefCell<HashMap<PartNo, Vec<Reservation>>>,
    surroundings: OnceCell<Surroundings>,
}

impl<'r, 'c> Gathered<'r, 'c> {
    pub fn new(r: &'r Reader<'c>, today: NaiveDate) -> Result<Self, Failure> {
        let open = r.open_swaps()?.into_iter().map(|swap| (swap.into, swap.slot));
        Ok(Self {
            r,
            catalogue: Catalogue::new(r),
            today,
            site: r.site(),
            cabinets: OfCabinets::default(),
            promised: open.collect(),
            reserved: RefCell::default(),
            surroundings: OnceCell::new(),
        })
    }

    pub fn seat(&self, slot: Slot) -> Result<Seat, Failure> {
        let cabinet = self.cabinets.of(self.r, self.site.as_ref(), &slot.address.cabinet())?;
        let settings = self.site.as_ref().map(|site| site.rules.clone()).unwrap_or_default();
        let own = self.site.as_ref().map(|site| site.own_rules.clone()).unwrap_or_default();
        Ok(Seat { settings, own, cabinet, ..Seat::of(self.r, slot, self.today) })
    }

    /// A unit as a spare for a seat.
    pub fn spare(&self, unit: Unit, model: Model, seat: &Seat) -> Result<Spare, Failure> {
        let mut reserved = self.reserved.borrow_mut();
        let reserved = reserved
            .entry(unit.model.clone())
            .or_insert_with(|| self.r.reservations_on(&unit.model));
        let mut spare = Spare::of(unit, model, seat, reserved);
        let other = self.promised.get(&spare.unit.label);
        spare.promised_to = other.filter(|slot| **slot != seat.slot.address).cloned();
        if spare.model.battery.is_some() && spare.unit.battery.is_some() {
            spare.battery = Some(self.outlook(&spare.unit, &spare.model)?);
        }
        Ok(spare)
    }

    fn outlook(&self, unit: &Unit, model: &Model) -> Result<BatteryOutlook, Failure> {
        let around = match self.surroundings.get() {
            Some(around) => around,
            None => {
                let read = Surroundings::of(self.r)?;
                self.surroundings.get_or_init(|| read)
            }
        };
        Ok(match around.figures(&self.catalogue, unit, model, self.today) {
            Err(missing) => BatteryOutlook::Unknown(missing),
            Ok(figures) => {
                let battery = figures.battery();
                let days = due_days(&[battery], &[figures.limits]);
                let now = remaining_mah(&battery, self.today.and_time(NaiveTime::MIN).and_utc());
                BatteryOutlook::Known {
                    due_on: days.first().map_or(figures.fitted_on(), |(on, _)| *on),
                    remaining_mah: now.remaining_mah,
                    capacity_mah: now.capacity_mah,
                }
            }
        })
    }
}

/// A slot and a spare as they stand, with everything the rules look at.
pub(super) fn pair(
    r: &Reader<'_>,
    slot: &str,
    unit: &str,
    today: NaiveDate,
) -> Result<(Seat, Spare), Failure> {
    let (slot, unit) = (find::slot(r, slot)?, find::unit(r, unit)?);
    let gathered = Gathered::new(r, today)?;
    let seat = gathered.seat(slot)?;
    let model = r.model(&unit.model).ok_or_else(|| {
        Failure::refused(format!(
            "the model of unit {} is not in the catalogue: add it first",
            unit.label.human()
        ))
    })?;
    let spare = gathered.spare(unit, model, &seat)?;
    Ok((seat, spare))
}

/// The verdict and steps of a situation, to show or print.
pub(super) fn checked(r: &Reader<'_>, s: &Situation<'_>) -> Result<Check, Failure> {
    let findings = verdict(s);
    let catalogue = Catalogue::new(r);
    let stops = findings.iter().filter(|f| f.severity == Severity::Stop).count();
    let barred =
        findings.iter().any(|f| f.severity == Severity::Stop && !f.rule.can_be_overridden());
    let (unit, slot) = (s.spare.unit.label.human(), &s.seat.slot.address);
    let message = match (stops, barred) {
        (0, _) => format!("unit {unit} may go into {slot}{}", with_care(worst(&findings))),
        (_, true) => format!("stop: unit {unit} must not go into {slot}"),
        (1, false) => format!(
            "stop: a finding stands against unit {unit} in {slot}; a named person may take it on"
        ),
        (n, false) => format!(
            "stop: {n} findings stand against unit {unit} in {slot}; a named person may take \
             them on"
        ),
    };
    let steps = swap_steps::lines(&swap_steps::composed(r, s)?, &[], &swap_steps::times(r)?);
    Ok(Check {
        slot: slot.to_string(),
        out: s.seat.outgoing.as_ref().map(|(unit, _)| catalogue.unit(unit)),
        into: catalogue.unit(&s.spare.unit),
        passes: stops == 0,
        barred,
        findings: findings.iter().map(finding).collect(),
        loops: s.seat.loops.iter().map(lines::wired).collect(),
        others: swap_effects::on_others(r, &s.seat.slot)?,
        cautions: cautions(),
        expected_min: swap_steps::minutes(&steps),
        steps,
        message,
    })
}

fn with_care(worst: Severity) -> &'static str {
    if worst == Severity::Caution { ", with cautions" } else { "" }
}
