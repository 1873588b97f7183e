use super::battery_demand::{Demand, planned_changes};
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::spares::{PlannedDemand, SpareLine, SparesInput};
use crate::{Failure, FailureKind};
use chrono::{Duration, NaiveDate};
use slotkeep_domain::model::{Lifecycle, Model, ModelKind};
use slotkeep_domain::register::View;
use slotkeep_domain::spares::{advice, expected_failures, to_hold};
use slotkeep_domain::stock::Lot;
use slotkeep_domain::unit::Condition;
use slotkeep_store::Reader;
use std::collections::BTreeMap;

/// Lead time where the catalogue gives none, days (common practice, no source).
const UNKNOWN_LEAD_TIME_D: u32 = 90;

pub(super) fn commands() -> Vec<Command> {
    vec![table::ask(
        "spares.table",
        "Says what to hold of each model and what to order now, and why.",
        spares,
    )]
}

fn spares(ask: &Ask<'_>, input: SparesInput) -> Result<Vec<SpareLine>, Failure> {
    ask.read(|r| {
        let facts = Facts::gather(ask, r)?;
        let mut lines = Vec::new();
        for model in r.models()? {
            let named = input.model.as_deref();
            if named.is_none_or(|named| named == model.part_no.as_str()) {
                lines.extend(facts.lines(&model)?);
            }
        }
        if input.to_order {
            lines.retain(|line| line.order_now > 0);
        }
        lines.sort_by(|a, b| b.order_now.cmp(&a.order_now).then_with(|| a.model.cmp(&b.model)));
        Ok(lines)
    })
}

/// Pieces of one model in one storeroom.
#[derive(Default, Clone, Copy)]
struct Held {
    usable: u32,
    not_usable: u32,
}

/// What the levels of every model are reckoned from.
struct Facts {
    today: NaiveDate,
    protection: f64,
    storerooms: Vec<String>,
    /// By model, units in slots and items on rails.
    installed: BTreeMap<String, u32>,
    /// By model and storeroom.
    held: BTreeMap<(String, String), Held>,
    on_order: BTreeMap<(String, String), u32>,
    /// By battery model, the planned changes by day.
    changes: BTreeMap<String, Vec<Demand>>,
    /// By model, lots that may be handed out today.
    lots: BTreeMap<String, Vec<Lot>>,
}

impl Facts {
    fn gather(ask: &Ask<'_>, r: &Reader<'_>) -> Result<Self, Failure> {
        let site = r.site().ok_or_else(super::find::empty)?;
        let today = ask.today();
        let mut facts = Self {
            today,
            protection: site.protection,
            storerooms: r.storerooms()?.into_iter().map(|room| room.code).collect(),
            installed: r.standing_by_model()?,
            held: BTreeMap::new(),
            on_order: BTreeMap::new(),
            changes: planned_changes(r, ask.now)?,
            lots: BTreeMap::new(),
        };
        for part_no in
            r.rails()?.iter().flat_map(|rail| &rail.items).filter_map(|i| i.model.as_ref())
        {
            *facts.installed.entry(part_no.to_string()).or_default() += 1;
        }
        facts.shelves(r)?;
        for order in r.orders()? {
            let key = (order.model.to_string(), order.storeroom.clone());
            *facts.on_order.entry(key).or_default() += order.outstanding();
        }
        Ok(facts)
    }

    fn shelves(&mut self, r: &Reader<'_>) -> Result<(), Failure> {
        for storeroom in self.storerooms.clone() {
            for unit in r.units_in_storeroom(&storeroom)? {
                let key = (unit.model.to_string(), storeroom.clone());
                let held = self.held.entry(key).or_default();
                match unit.condition {
                    Condition::Good => held.usable += 1,
                    _ => held.not_usable += 1,
                }
            }
        }
        for lot in r.lots()? {
            let usable = lot.usable_on(self.today) > 0;
            for (bin, pieces) in &lot.pieces {
                let key = (lot.model.to_string(), bin.storeroom().to_owned());
                let held = self.held.entry(key).or_default();
                if usable {
                    held.usable += pieces;
                } else {
                    held.not_usable += pieces;
                }
            }
            if usable {
                self.lots.entry(lot.model.to_string()).or_default().push(lot);
            }
        }
        Ok(())
    }

    /// Lines of one model: its home storeroom, which covers the site, and any other that has some.
    fn lines(&self, model: &Model) -> Result<Vec<SpareLine>, Failure> {
        let part_no = model.part_no.to_string();
        let installed = self.installed.get(&part_no).copied().unwrap_or(0);
        let changes = self.changes.contains_key(&part_no);
        let Some(home) = self.home(&part_no) else { return Ok(Vec::new()) };
        let mut lines = Vec::new();
        for storeroom in &self.storerooms {
            let key = (part_no.clone(), storeroom.clone());
            if *storeroom == home {
                if installed > 0 || changes || self.held.contains_key(&key) {
                    lines.push(self.at_home(model, &home, installed)?);
                }
            } else if self.held.contains_key(&key) || self.on_order.contains_key(&key) {
                lines.push(self.elsewhere(model, storeroom, &home));
            }
        }
        Ok(lines)
    }

    /// The storeroom that covers a model: the one with most of it, the first where none has any.
    fn home(&self, part_no: &str) -> Option<String> {
        let most = self.storerooms.iter().rev().max_by_key(|storeroom| {
            self.held
                .get(&(part_no.to_owned(), (*storeroom).clone()))
                .map_or(0, |held| held.usable + held.not_usable)
        });
        most.cloned()
    }

    fn at_home(&self, model: &Model, home: &str, installed: u32) -> Result<SpareLine, Failure> {
        let part_no = model.part_no.to_string();
        let lead_time_d = model.lead_time_d.unwrap_or(UNKNOWN_LEAD_TIME_D);
        let horizon = self.today + Duration::days(i64::from(lead_time_d));
        // Cells are wanted on known days; other models fail at random.
        let random = model.kind != ModelKind::Battery;
        let rate = model.failure_rate_fit.filter(|_| random).unwrap_or(0.0);
        let mean = expected_failures(installed, rate, f64::from(lead_time_d));
        let level = to_hold(mean, self.protection)
            .map_err(|no| Failure::new(FailureKind::Refused, format!("{part_no}: {no}")))?;
        let changes = self.changes.get(&part_no).map(Vec::as_slice).unwrap_or_default();
        let wanted: Vec<Demand> =
            changes.iter().filter(|demand| demand.on <= horizon).cloned().collect();
        let planned: u32 = wanted.iter().map(|demand| demand.pieces).sum();
        let too_old = self.too_old(&part_no, &wanted, horizon);
        let on_site: u32 = self
            .storerooms
            .iter()
            .filter_map(|room| self.held.get(&(part_no.clone(), room.clone())))
            .map(|held| held.usable)
            .sum();
        let coming: u32 = self
            .storerooms
            .iter()
            .filter_map(|room| self.on_order.get(&(part_no.clone(), room.clone())))
            .sum();
        let advised =
            advice((on_site - too_old).into(), coming.into(), level.stock, planned.into());
        let own = self.own(&part_no, home);
        let order_now = u32::try_from(advised.order_now).unwrap_or(u32::MAX);
        let mut reason = advised.reason;
        reason.push_str(&self.remarks(model, order_now, on_site - own.0.usable, too_old));
        Ok(SpareLine {
            installed,
            failure_rate_fit: model.failure_rate_fit,
            lead_time_d: model.lead_time_d,
            expected_failures: mean,
            planned,
            too_old,
            changes: self.within_a_year(changes),
            protection: self.protection,
            to_hold: u32::try_from(level.stock).unwrap_or(u32::MAX).saturating_add(planned),
            achieved: level.achieved,
            order_now,
            cost_cents: model.price_cents.map(|price| price * i64::from(order_now)),
            reason,
            ..self.line(model, home)
        })
    }

    /// Pieces that may be handed out today, but whose shelf date passes before they are wanted:
    /// first expired, first out, for the planned changes in turn.
    fn too_old(&self, part_no: &str, wanted: &[Demand], horizon: NaiveDate) -> u32 {
        let lots = self.lots.get(part_no).map(Vec::as_slice).unwrap_or_default();
        let until = |lot: &Lot| lot.shelf_until.unwrap_or(NaiveDate::MAX);
        let mut left: Vec<(NaiveDate, u32)> =
            lots.iter().map(|lot| (until(lot), lot.total())).collect();
        left.sort_unstable();
        for demand in wanted {
            let mut pieces = demand.pieces;
            for (_, held) in left.iter_mut().filter(|(until, _)| *until >= demand.on) {
                let taken = pieces.min(*held);
                *held -= taken;
                pieces -= taken;
            }
        }
        left.iter().filter(|(until, _)| *until < horizon).map(|(_, held)| held).sum()
    }

    fn within_a_year(&self, changes: &[Demand]) -> Vec<PlannedDemand> {
        let end = self.today + Duration::days(365);
        let near = changes.iter().filter(|demand| demand.on <= end);
        near.map(|demand| PlannedDemand {
            on: demand.on,
            pieces: demand.pieces,
            agreed: demand.agreed,
        })
        .collect()
    }

    fn remarks(&self, model: &Model, order_now: u32, elsewhere: u32, too_old: u32) -> String {
        let mut remarks = String::new();
        if too_old > 0 {
            remarks.push_str(&format!(
                " {too_old} more are past their shelf date before they are wanted."
            ));
        }
        if elsewhere > 0 {
            remarks.push_str(&format!(" {elsewhere} of the usable lie in another storeroom."));
        }
        if model.lead_time_d.is_none() {
            remarks.push_str(&format!(
                " The catalogue gives no lead time; {UNKNOWN_LEAD_TIME_D} days are assumed."
            ));
        }
        if model.failure_rate_fit.is_none() && model.kind != ModelKind::Battery {
            remarks.push_str(" The catalogue gives no failure rate, so failures are not counted.");
        }
        if order_now > 0 && model.lifecycle != Lifecycle::Active {
            remarks.push_str(" It is no longer made: look for a substitute.");
        }
        remarks
    }

    fn own(&self, part_no: &str, storeroom: &str) -> (Held, u32) {
        let key = (part_no.to_owned(), storeroom.to_owned());
        (
            self.held.get(&key).copied().unwrap_or_default(),
            self.on_order.get(&key).copied().unwrap_or(0),
        )
    }

    fn elsewhere(&self, model: &Model, storeroom: &str, home: &str) -> SpareLine {
        SpareLine { reason: format!("Counted for {home}."), ..self.line(model, storeroom) }
    }

    /// What lies in a storeroom, without levels.
    fn line(&self, model: &Model, storeroom: &str) -> SpareLine {
        let (held, on_order) = self.own(model.part_no.as_str(), storeroom);
        SpareLine {
            model: model.part_no.to_string(),
            model_title: model.title.clone(),
            storeroom: storeroom.to_owned(),
            installed: 0,
            failure_rate_fit: model.failure_rate_fit,
            lead_time_d: model.lead_time_d,
            expected_failures: 0.0,
            planned: 0,
            too_old: 0,
            changes: Vec::new(),
            protection: self.protection,
            to_hold: 0,
            achieved: 1.0,
            on_hand: held.usable,
            not_usable: held.not_usable,
            on_order,
            order_now: 0,
            cost_cents: None,
            reason: String::new(),
        }
    }
}
