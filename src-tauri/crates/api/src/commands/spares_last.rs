//! The last chance to buy before a maker takes no more orders.

use super::spares_demand::{Known, Share, StoreDemand, day_after, days_from};
use super::spares_facts::Facts;
use super::spares_line::pieces;
use super::spares_opened::{given, money, sum, yearly};
use super::spares_projection::stock_of;
use super::spares_stock::{ModelStock, RoomStock};
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::spares::SumLine;
use crate::wire::spares_plan::{LastChanceCost, LastChanceInput, LastChanceReply, LastChanceYear};
use chrono::{Months, NaiveDate};
use slotkeep_domain::model::Model;
use slotkeep_domain::spares::{LeadTime, Pmf, lead_demand};

/// Years that units are kept running after the last order where nobody says.
const USUAL_YEARS: u32 = 10;

/// Times its price that a missing piece costs where nobody says (a decision, no source).
const MISSING_TIMES_PRICE: i64 = 4;

/// Longest time that is looked ahead, years.
const LONGEST_Y: i64 = 60;

pub(super) fn commands() -> Vec<Command> {
    vec![table::ask(
        "spares.last_chance",
        "Says how many to buy before a maker takes no more orders.",
        last_chance,
    )]
}

fn last_chance(ask: &Ask<'_>, input: LastChanceInput) -> Result<LastChanceReply, Failure> {
    ask.read(|r| {
        let facts = Facts::gather(ask, r)?;
        let known = Known::of(&facts);
        let model = facts.model(&input.model)?;
        let stock = stock_of(&known, model)?;
        Chance::of(&known, model, &stock, &input)?.reply()
    })
}

/// Days, costs, stock and demand of one last order.
struct Chance<'a> {
    facts: &'a Facts,
    model: &'a Model,
    demand: StoreDemand,
    last_order_on: NaiveDate,
    until: NaiveDate,
    too_few_cents: i64,
    too_many_cents: i64,
    on_hand: u64,
    on_order: u64,
    harvested: u32,
}

impl<'a> Chance<'a> {
    fn of(
        known: &'a Known<'_>,
        model: &'a Model,
        stock: &ModelStock,
        input: &LastChanceInput,
    ) -> Result<Self, Failure> {
        let facts = known.facts;
        let part_no = &model.part_no;
        let last_order_on = input.last_order_on.or(model.last_order_on).ok_or_else(|| {
            Failure::bad_input(format!(
                "nobody knows until when the maker of {part_no} takes orders: give last_order_on, \
                 or state it in the catalogue"
            ))
        })?;
        if last_order_on < facts.today {
            return Err(Failure::refused(format!(
                "the last day to order {part_no} was {last_order_on}: look for a substitute, or \
                 for units of planned removals"
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
        let cost = |name: &str, given: Option<i64>, usual: Option<i64>| {
            let cents = given.or(usual).ok_or_else(|| {
                Failure::bad_input(format!(
                    "the catalogue gives no price for {part_no}: give {name} in cents"
                ))
            })?;
            match cents > 0 {
                true => Ok(cents),
                false => Err(Failure::bad_input(format!("{name} is {cents}: write cents above 0"))),
            }
        };
        let price = model.price_cents.filter(|price| *price > 0);
        let usual_few = price.map(|price| price.saturating_mul(MISSING_TIMES_PRICE));
        let standing: Vec<_> = stock.rooms.iter().map(RoomStock::standing).collect();
        let demand = StoreDemand::of(known, model, Share::Site);
        let until_d = days_from(facts.today, until);
        Ok(Self {
            too_few_cents: cost("too_few_cents", input.too_few_cents, usual_few)?,
            too_many_cents: cost("too_many_cents", input.too_many_cents, price)?,
            on_hand: standing.iter().map(|it| it.usable).sum(),
            on_order: stock.rooms.iter().map(|room| u64::from(room.on_order)).sum(),
            harvested: demand.harvested_until(until_d),
            facts,
            model,
            demand,
            last_order_on,
            until,
        })
    }

    fn reply(&self) -> Result<LastChanceReply, Failure> {
        let end = days_from(self.facts.today, self.until);
        let wanted = self.wanted(end)?;
        let there = self.on_hand + self.on_order + u64::from(self.harvested);
        // Newsvendor: the least stock with P(X <= stock) >= few / (few + many).
        let (few, many) = (self.too_few_cents as f64, self.too_many_cents as f64);
        let stock = wanted.quantile(few / (few + many));
        let buy = stock.saturating_sub(there);
        let years = self.years(buy)?;
        let nothing = self.runs_out(0)?;
        Ok(LastChanceReply {
            model: self.model.part_no.to_string(),
            model_title: self.model.title.clone(),
            last_order_on: self.last_order_on,
            until: self.until,
            buy: pieces(buy),
            cost_cents: super::spares_level::prices(self.model)
                .map(|prices| prices.at(buy) * i64::from(pieces(buy))),
            too_few_cents: self.too_few_cents,
            too_many_cents: self.too_many_cents,
            on_hand: pieces(self.on_hand),
            on_order: pieces(self.on_order),
            harvested: self.harvested,
            demand_mean: wanted.mean(),
            demand_p10: pieces(wanted.quantile(0.1)),
            demand_p50: pieces(wanted.quantile(0.5)),
            demand_p90: pieces(wanted.quantile(0.9)),
            enough: wanted.cdf(there + buy),
            runs_out_on: nothing.0,
            runs_out_early_on: nothing.1,
            then_runs_out_on: self.runs_out(buy)?.0,
            by_quantity: self.by_quantity(&wanted, there, buy),
            years,
            sum: self.opened(&wanted, there, buy),
            message: self.message(buy, nothing.0, &wanted, there),
        })
    }

    /// What will be asked for until a day, planned pieces among it.
    fn wanted(&self, days: f64) -> Result<Pmf, Failure> {
        let lead_time = LeadTime { mean_d: days, deviation_d: 0.0 };
        let question = self.demand.question(lead_time, 0.0, &self.demand.planned);
        let whole = lead_demand(&question)
            .map_err(|no| Failure::refused(format!("{}: {no}", self.model.part_no)))?
            .pmf;
        // Repaired units go back to the shelf: only what is beyond repair is used up.
        match self.demand.repair {
            None => Ok(whole),
            Some(repair) => self.beyond_repair(days, repair.yield_share),
        }
    }

    /// Failures thinned by what comes back, planned pieces whole.
    fn beyond_repair(&self, days: f64, yield_share: f64) -> Result<Pmf, Failure> {
        let refused = |no: String| Failure::refused(format!("{}: {no}", self.model.part_no));
        let lost = 1.0 - yield_share;
        let lead_time = LeadTime { mean_d: days, deviation_d: 0.0 };
        let question = self.demand.question(lead_time, 0.0, &[]);
        let population = question.population.scaled(lost, 1.0);
        let failing = slotkeep_domain::spares::LeadQuestion { population: &population, ..question };
        let failed = lead_demand(&failing).map_err(|no| refused(no.to_string()))?.pmf;
        Ok(failed.plus(&Pmf::certain(self.demand.planned_until(days).into())))
    }

    /// The days on which it runs out with so many bought: as likely as not, and with 1 in 10.
    fn runs_out(&self, buy: u64) -> Result<(Option<NaiveDate>, Option<NaiveDate>), Failure> {
        let chance_by = |days: f64| -> Result<f64, Failure> {
            let there =
                self.on_hand + self.on_order + u64::from(self.demand.harvested_until(days)) + buy;
            Ok(self.wanted(days)?.above(there))
        };
        let end = days_from(self.facts.today, self.until);
        let first = |chance: f64| -> Result<Option<NaiveDate>, Failure> {
            if chance_by(end)? < chance {
                return Ok(None);
            }
            let (mut low, mut high) = (0.0, end);
            while high - low > 1.0 {
                let middle = ((low + high) / 2.0).floor().max(low + 0.5);
                if chance_by(middle)? >= chance { high = middle } else { low = middle }
            }
            Ok(day_after(self.facts.today, high.ceil()))
        };
        Ok((first(0.5)?, first(0.1)?))
    }

    fn cost(&self, wanted: &Pmf, there: u64, buy: u64) -> LastChanceCost {
        let stock = there + buy;
        let few = wanted.expected_above(stock) * self.too_few_cents as f64;
        let many = wanted.expected_below(stock) * self.too_many_cents as f64;
        LastChanceCost {
            buy: pieces(buy),
            too_few_cents: few.round() as i64,
            too_many_cents: many.round() as i64,
            total_cents: (few + many).round() as i64,
            enough: wanted.cdf(stock),
        }
    }

    fn by_quantity(&self, wanted: &Pmf, there: u64, buy: u64) -> Vec<LastChanceCost> {
        let around = (buy / 2).clamp(5, 20);
        let from = buy.saturating_sub(around);
        let mut quantities: Vec<u64> = (from..=buy + around).collect();
        if from > 0 {
            quantities.insert(0, 0);
        }
        quantities.into_iter().map(|quantity| self.cost(wanted, there, quantity)).collect()
    }

    fn years(&self, buy: u64) -> Result<Vec<LastChanceYear>, Failure> {
        let mut years = Vec::new();
        let mut before = 0.0;
        for year in 1..=LONGEST_Y as u32 {
            let on = self.facts.today.checked_add_months(Months::new(12 * year));
            let until = on.map_or(self.until, |on| on.min(self.until));
            let days = days_from(self.facts.today, until);
            let wanted = self.wanted(days)?;
            let harvested = self.demand.harvested_until(days);
            let there = self.on_hand + self.on_order + u64::from(harvested);
            let stretches = &self.demand.population;
            let change: f64 =
                stretches.changes.iter().filter(|it| it.day <= days).map(|it| it.units).sum();
            years.push(LastChanceYear {
                until,
                installed: (stretches.units + change).max(0.0).round() as u32,
                demand: wanted.mean() - before,
                harvested,
                without: there as f64 - wanted.mean(),
                with: (there + buy) as f64 - wanted.mean(),
                out_without: wanted.above(there),
                out_with: wanted.above(there + buy),
            });
            before = wanted.mean();
            if until == self.until {
                break;
            }
        }
        Ok(years)
    }

    fn opened(&self, wanted: &Pmf, there: u64, buy: u64) -> Vec<SumLine> {
        let ratio = self.too_few_cents as f64 / (self.too_few_cents + self.too_many_cents) as f64;
        let demand = sum(
            "Wanted until then, on average",
            wanted.mean(),
            "pieces",
            "its whole distribution is used; repaired units come back, planned pieces are whole",
            vec![
                given("Days", days_from(self.facts.today, self.until), "days"),
                given("Spread (standard deviation)", wanted.variance().sqrt(), "pieces"),
                given("Installed now", self.demand.population.units, "units"),
                yearly(&self.demand),
            ],
        );
        let have = sum(
            "There without a purchase",
            there as f64,
            "pieces",
            "the sum",
            vec![
                given("Usable, not kept for anything", self.on_hand as f64, "pieces"),
                given("On order", self.on_order as f64, "pieces"),
                given("Set free by planned removals", self.harvested, "pieces"),
            ],
        );
        let chance = sum(
            "Wanted chance that it is enough",
            100.0 * ratio,
            "%",
            "cost of one too few over the costs of one too few and one too many",
            vec![
                money("One too few", self.too_few_cents, "", Vec::new()),
                money("One too many", self.too_many_cents, "", Vec::new()),
            ],
        );
        vec![sum(
            "Buy",
            buy as f64,
            "pieces",
            "the least stock that is enough with the wanted chance, less what is there",
            vec![chance, demand, have],
        )]
    }

    fn message(
        &self,
        buy: u64,
        runs_out_on: Option<NaiveDate>,
        wanted: &Pmf,
        there: u64,
    ) -> String {
        let part_no = &self.model.part_no;
        let until = self.until;
        let without = match runs_out_on {
            Some(on) => format!("without a purchase cover runs out about {on}"),
            None => format!("without a purchase it lasts to {until}, as likely as not"),
        };
        let enough = 100.0 * wanted.cdf(there + buy);
        match buy {
            0 => format!("{part_no}: nothing to buy until {until}; {without}"),
            _ => format!(
                "{part_no}: buy {buy} by {}; that is enough to {until} with {enough:.0} %; \
                 {without}",
                self.last_order_on
            ),
        }
    }
}
