//! Failed units that come back from repair: how the places fare with the spares there are.

use super::spares_demand::{Known, StoreDemand, YEAR_D};
use super::spares_line::pieces;
use super::spares_resupply::Repair;
use super::spares_stock::ModelStock;
use super::spares_sums::{given, sum};
use crate::wire::spares::SumLine;
use crate::wire::spares_model::SpareRepair;
use slotkeep_domain::model::Model;
use slotkeep_domain::spares::{DemandKind, RepairFares, Repairing, repairing};

/// None where units are not repaired, or where no unit stands or fails.
///
/// Removals without a fault are left out: their units are not repaired.
pub(super) fn of(
    known: &Known<'_>,
    model: &Model,
    site: &StoreDemand,
    stock: &ModelStock,
) -> Option<SpareRepair> {
    let turn = Turn::of(site, stock)?;
    let held = known.facts.of(model.part_no.as_str());
    let fares = repairing(turn.places, turn.spares, turn.rate_per_h(), turn.terms()).ok()?;
    let Repair { turn_round_d, yield_share, .. } = turn.repair;
    Some(SpareRepair {
        turn_round_d,
        yield_pct: 100.0 * yield_share,
        in_repair: held.in_repair,
        places: turn.places,
        spares: turn.spares,
        failures_a_y: turn.failures_a_y,
        expected_in_repair: fares.in_repair,
        expected_on_order: fares.on_order,
        bought_a_y: fares.bought_a_y,
        all_working: fares.places.all_working,
        availability: fares.places.availability,
        fill_rate: fares.service.fill_rate,
        backorders: fares.service.backorders,
        down_time_h: fares.service.down_time_h,
        backorders_endless: fares.endless.backorders,
        finite_matters: fares.finite_matters,
        price_cents: model.repair_price_cents,
        message: message(&turn, &fares),
        sum: turn.opened(&fares),
    })
}

/// What the loop is reckoned from.
struct Turn {
    places: u32,
    spares: u32,
    /// Of all places while each has a working unit.
    failures_a_y: f64,
    repair: Repair,
    purchase_d: f64,
    usable: u64,
    coming: u64,
    planned: u64,
}

impl Turn {
    fn of(site: &StoreDemand, stock: &ModelStock) -> Option<Self> {
        let repair = site.repair?;
        let places = site.population.units.round() as u32;
        let year = site.within(YEAR_D).ok()?;
        let fails = |kind: DemandKind| matches!(kind, DemandKind::Failures | DemandKind::WearOut);
        let failures_a_y = year.parts.iter().filter(|it| fails(it.kind)).map(|it| it.mean).sum();
        let standing: Vec<_> = stock.rooms.iter().map(|room| room.standing()).collect();
        let total =
            |of: fn(&slotkeep_domain::spares::Standing) -> u64| standing.iter().map(of).sum();
        let (usable, coming): (u64, u64) = (total(|it| it.usable), total(|it| it.on_order));
        let planned = total(|it| it.planned);
        Some(Self {
            places,
            spares: pieces((usable + coming).saturating_sub(planned)),
            failures_a_y,
            repair,
            purchase_d: site.lead_time.mean_d,
            usable,
            coming,
            planned,
        })
    }

    fn rate_per_h(&self) -> f64 {
        self.failures_a_y / f64::from(self.places.max(1)) / YEAR_D / 24.0
    }

    fn terms(&self) -> Repairing {
        Repairing {
            yield_share: self.repair.yield_share,
            turn_round_h: self.repair.turn_round_d * 24.0,
            purchase_h: self.purchase_d * 24.0,
        }
    }

    fn away_d(&self) -> f64 {
        let share = self.repair.yield_share;
        share * self.repair.turn_round_d + (1.0 - share) * self.purchase_d
    }

    /// The chance that every place has a working unit, down to places, spares, rate and times.
    fn opened(&self, fares: &RepairFares) -> Vec<SumLine> {
        let spares = sum(
            "Spares in the loop",
            self.spares,
            "pieces",
            "usable and coming, less what is planned",
            vec![
                given("Usable, not kept for anything", self.usable as f64, "pieces"),
                given(
                    "On order, set free in time, or back from repair",
                    self.coming as f64,
                    "pieces",
                ),
                given("Planned until an order is there", -(self.planned as f64), "pieces"),
            ],
        );
        let away = sum(
            "A piece is there again after",
            self.away_d(),
            "days",
            "turn-round for what comes back and lead time for the rest, by their shares; only the \
             mean counts",
            vec![
                given("Share that comes back", 100.0 * self.repair.yield_share, "%"),
                given("Turn-round of a repair", self.repair.turn_round_d, "days"),
                given("Lead time of a purchase", self.purchase_d, "days"),
            ],
        );
        let failing = sum(
            "Failures a year of one place",
            self.failures_a_y / f64::from(self.places.max(1)),
            "",
            "those of all places over the places; removals without a fault are left out, since \
             their units are not repaired",
            vec![
                given("Failures a year of all places", self.failures_a_y, "failures"),
                given("Places", self.places, ""),
            ],
        );
        let short = sum(
            "Places without a working unit",
            fares.service.backorders,
            "on average",
            "the mean of what is away beyond the spares",
            vec![
                given("In repair on average", fares.in_repair, "units"),
                given("On order for those beyond repair, on average", fares.on_order, "units"),
                given(
                    "The same if empty places went on failing (Palm)",
                    fares.endless.backorders,
                    "on average",
                ),
            ],
        );
        vec![sum(
            "Every place has a working unit",
            100.0 * fares.places.all_working,
            "%",
            "the chance that no more units are away than there are spares; an empty place does not \
             fail, and nobody waits for a repairer (Gross and Harris)",
            vec![given("Places", self.places, ""), spares, failing, away, short],
        )]
    }
}

fn message(turn: &Turn, fares: &RepairFares) -> String {
    let Repair { turn_round_d, yield_share, .. } = turn.repair;
    let finite = if fares.finite_matters {
        "; places that stand empty do not fail, which makes a tenth of difference or more here"
    } else {
        ""
    };
    format!(
        "{:.0} % of failed units come back after {turn_round_d:.0} days, the rest are bought anew, \
         {:.2} a year: a piece is there again after {:.0} days on average{finite}",
        100.0 * yield_share,
        fares.bought_a_y,
        turn.away_d()
    )
}
