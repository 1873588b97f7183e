//! The last chance to buy before a maker takes no more orders.

use super::spares_demand::{Known, Share, Source, StoreDemand, day_after, days_from};
use super::spares_facts::Facts;
use super::spares_history;
use super::spares_known::Gathered;
use super::spares_last_reply::reply;
use super::spares_level::{limits_of_purchase, shelf_life_d};
use super::spares_projection::stock_of;
use super::spares_stock::ModelStock;
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::spares_last::{LastChanceComing, LastChanceInput, LastChanceReply};
use chrono::{Months, NaiveDate};
use slotkeep_domain::model::Model;
use slotkeep_domain::spares::{
    Arrival, BuyingLimits, DAYS_PER_MONTH, Failing, LastBuy, LastBuyCosts, LastBuyQuestion,
    Population, RateBelief, last_buy,
};

/// Years that units are kept running after the last order where nobody says.
const USUAL_YEARS: u32 = 10;

/// Times its price that a missing piece costs where nobody says (a decision, no source).
pub(super) const MISSING_TIMES_PRICE: i64 = 4;

/// Longest time that is looked ahead, years.
const LONGEST_Y: i64 = 60;

/// Shape of a belief that is all but certain.
const SURE: f64 = 1e9;

pub(super) fn commands() -> Vec<Command> {
    vec![table::ask(
        "spares.last_chance",
        "Says how many to buy before a maker takes no more orders.",
        last_chance,
    )]
}

fn last_chance(ask: &Ask<'_>, input: LastChanceInput) -> Result<LastChanceReply, Failure> {
    ask.read(|r| {
        let gathered = Gathered::of(ask, r)?;
        let known = gathered.known();
        let model = known.facts.model(&input.model)?;
        let stock = stock_of(&known, model)?;
        let chance = Chance::of(&known, model, stock, &input)?;
        let bought = chance.reckoned()?;
        Ok(reply(&chance, &bought))
    })
}

/// Days, costs, stock and demand of one last order.
pub(super) struct Chance<'a> {
    pub known: &'a Known<'a>,
    pub facts: &'a Facts,
    pub model: &'a Model,
    pub demand: StoreDemand,
    pub last_order_on: NaiveDate,
    pub until: NaiveDate,
    /// Where what is bought is past its shelf date before that.
    pub shelf_until: Option<NaiveDate>,
    pub too_few_cents: i64,
    pub too_many_cents: i64,
    pub on_hand: u64,
    pub reserved: u32,
    pub too_old: u32,
    pub coming: Vec<LastChanceComing>,
    /// How what is handed out comes, where demand is foreseen from history.
    used: Option<(RateBelief, Population)>,
    limits: BuyingLimits,
}

impl<'a> Chance<'a> {
    fn of(
        known: &'a Known<'a>,
        model: &'a Model,
        stock: &ModelStock,
        input: &LastChanceInput,
    ) -> Result<Self, Failure> {
        let facts = known.facts;
        let (last_order_on, until) = days(facts, model, input)?;
        let price = model.price_cents.filter(|price| *price > 0);
        let usual_few = price.map(|price| price.saturating_mul(MISSING_TIMES_PRICE));
        let demand = StoreDemand::of(known, model, Share::Site);
        let arrives = day_after(last_order_on, demand.lead_time.mean_d);
        let expires = shelf_life_d(model).and_then(|days| day_after(arrives?, days));
        let mut chance = Self {
            too_few_cents: cost(model, "too_few_cents", input.too_few_cents, usual_few)?,
            too_many_cents: cost(model, "too_many_cents", input.too_many_cents, price)?,
            on_hand: stock.rooms.iter().map(|room| room.standing().usable).sum(),
            reserved: stock.rooms.iter().map(|room| room.shelf.reserved).sum(),
            too_old: stock.rooms.iter().map(|room| room.too_old).sum(),
            coming: Vec::new(),
            used: None,
            shelf_until: expires.filter(|day| *day < until),
            limits: limits_of_purchase(model, false),
            known,
            facts,
            model,
            demand,
            last_order_on,
            until,
        };
        chance.coming = chance.what_comes();
        chance.used = chance.handed_out();
        Ok(chance)
    }

    /// The last day that the purchase is reckoned for.
    pub fn end(&self) -> NaiveDate {
        self.shelf_until.unwrap_or(self.until)
    }

    pub fn end_d(&self) -> f64 {
        days_from(self.facts.today, self.end())
    }

    pub fn yield_share(&self) -> f64 {
        self.demand.repair.map_or(0.0, |repair| repair.yield_share)
    }

    /// Orders by the day on which they are due, units that planned removals set free, and units that
    /// are away for repair, in that order of days.
    fn what_comes(&self) -> Vec<LastChanceComing> {
        let held = self.facts.of(self.model.part_no.as_str());
        let today = self.facts.today;
        let after = |days: f64| day_after(today, days.ceil()).unwrap_or(NaiveDate::MAX);
        let order = held.orders.iter().map(|order| LastChanceComing {
            on: order.due_on.unwrap_or_else(|| after(self.demand.lead_time.mean_d)).max(today),
            pieces: order.outstanding(),
            from: "order".to_owned(),
            chance: 1.0,
            what: match (&order.number, order.due_on) {
                (Some(number), Some(_)) => format!("Order {number}"),
                (None, Some(_)) => order.reason.clone(),
                (number, None) => format!(
                    "{}, by the lead time, since no day was agreed",
                    number.as_ref().map_or(order.reason.clone(), |it| format!("Order {it}"))
                ),
            },
        });
        let free = held.population.iter().filter(|it| it.harvested > 0);
        let removal = free.map(|it| LastChanceComing {
            on: it.on.max(today),
            pieces: it.harvested,
            from: "removal".to_owned(),
            chance: 1.0,
            what: it.reason.clone(),
        });
        // Nobody knows how far a repair is: half of its time is taken to be left.
        let repair = self.demand.repair.filter(|_| held.in_repair > 0);
        let repair = repair.map(|repair| LastChanceComing {
            on: after(repair.turn_round_d / 2.0),
            pieces: held.in_repair,
            from: "repair".to_owned(),
            chance: repair.yield_share,
            what: "Away for repair; half of its time is taken to be left".to_owned(),
        });
        let mut coming: Vec<LastChanceComing> = order.chain(removal).chain(repair).collect();
        coming.retain(|it| it.on <= self.end() && it.pieces > 0);
        coming.sort_by_key(|it| it.on);
        coming
    }

    pub fn arrivals(&self, from: &str) -> Vec<Arrival> {
        let of = self.coming.iter().filter(|it| it.from == from);
        of.map(|it| Arrival { day: days_from(self.facts.today, it.on), pieces: it.pieces.into() })
            .collect()
    }

    /// Demand by history as pieces one by one at a rate that is not known, of the mean and variance
    /// that the months to come have together: each as it is foreseen, and all of them off alike by as
    /// much as the mean of so many months on record may be off, n·v + n²·v/record.
    ///
    /// The blend's own forecast over years is not used: it is tested over lead times, and its parts
    /// spread without end beyond them.
    fn handed_out(&self) -> Option<(RateBelief, Population)> {
        let month = self.demand.month.as_ref().filter(|_| self.demand.source == Source::History)?;
        let held = self.facts.of(self.model.part_no.as_str());
        let record = spares_history::months(self.facts, held).len().max(1) as f64;
        let months = self.end_d() / DAYS_PER_MONTH;
        let mean = months * month.mean();
        let variance = months * month.variance() * (1.0 + months / record);
        if mean <= 0.0 {
            return None;
        }
        let shape = match mean * mean / (variance - mean) {
            shape if shape > 0.0 => shape.min(SURE),
            _ => SURE,
        };
        let belief = RateBelief { shape, exposure: shape / mean * self.end_d() * 24.0 };
        Some((belief, Population::steady(1.0)))
    }

    fn reckoned(&self) -> Result<LastBuy, Failure> {
        let (on_order, harvest) = (self.arrivals("order"), self.arrivals("removal"));
        let in_repair = self.arrivals("repair");
        let (failing, population) = match &self.used {
            Some((belief, population)) => (Failing::AtRate(*belief), population),
            None => (self.demand.failing(), &self.demand.population),
        };
        let question = LastBuyQuestion {
            arrives_d: self.demand.lead_time.mean_d,
            horizon_d: self.end_d(),
            stock: self.on_hand,
            on_order: &on_order,
            harvest: &harvest,
            in_repair: &in_repair,
            failing,
            population,
            planned: &self.demand.planned,
            repair_yield: self.yield_share(),
            costs: LastBuyCosts {
                left: self.too_many_cents as f64,
                short: self.too_few_cents as f64,
                discount_a_y: 0.0,
            },
            limits: &self.limits,
        };
        last_buy(&question).map_err(|no| self.refused(&no.to_string()))
    }

    fn refused(&self, why: &str) -> Failure {
        Failure::refused(format!("{}: {why}", self.model.part_no))
    }

    /// Chance of being enough at which one more piece costs as much as it saves.
    pub fn wanted_chance(&self) -> f64 {
        self.too_few_cents as f64 / (self.too_few_cents as f64 + self.too_many_cents as f64)
    }

    pub fn demand_is_unknown(&self) -> bool {
        self.demand.source == Source::Nothing
    }

    pub fn arrives_on(&self) -> NaiveDate {
        let days = self.demand.lead_time.mean_d.ceil();
        day_after(self.facts.today, days).unwrap_or(NaiveDate::MAX)
    }

    /// A day that lies so far ahead; what is on hand at its end still covers the whole day before.
    pub fn day(&self, days: f64) -> Option<NaiveDate> {
        day_after(self.facts.today, days.ceil())
    }
}

/// The last day to order and the day until which the units must run.
fn days(
    facts: &Facts,
    model: &Model,
    input: &LastChanceInput,
) -> Result<(NaiveDate, NaiveDate), Failure> {
    let part_no = &model.part_no;
    let last_order_on = input.last_order_on.or(model.last_order_on).ok_or_else(|| {
        Failure::bad_input(format!(
            "nobody knows until when the maker of {part_no} takes orders: give last_order_on, or \
             state it in the catalogue"
        ))
    })?;
    if last_order_on < facts.today {
        return Err(Failure::refused(format!(
            "the last day to order {part_no} was {last_order_on}: look for a substitute, or for \
             units of planned removals"
        )));
    }
    let usual = last_order_on.checked_add_months(Months::new(12 * USUAL_YEARS));
    let until = input.until.or(usual).unwrap_or(last_order_on);
    if until <= last_order_on || (until - facts.today).num_days() > LONGEST_Y * 366 {
        return Err(Failure::bad_input(format!(
            "the units are to run until {until}: write a day after the last order, \
             {last_order_on}, within {LONGEST_Y} years"
        )));
    }
    Ok((last_order_on, until))
}

fn cost(model: &Model, name: &str, given: Option<i64>, usual: Option<i64>) -> Result<i64, Failure> {
    let part_no = &model.part_no;
    match given.or(usual) {
        None => Err(Failure::bad_input(format!(
            "the catalogue gives no price for {part_no}: give {name} in cents"
        ))),
        Some(cents) if cents <= 0 => {
            Err(Failure::bad_input(format!("{name} is {cents}: write cents above 0")))
        }
        Some(cents) => Ok(cents),
    }
}
