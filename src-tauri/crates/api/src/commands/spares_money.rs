//! Money over all models at once: the curve, the best for a budget, and what the stock is worth.

use super::spares_dead;
use super::spares_demand::{Known, Share, StoreDemand};
use super::spares_known::Gathered;
use super::spares_level::prices;
use super::spares_line::pieces;
use super::spares_opened::{given, money, sum};
use super::spares_stand_in::bought_for;
use super::spares_stock::ModelStock;
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::spares_plan::{
    BudgetChoice, BudgetInput, BudgetPoint, BudgetPurchase, BudgetReply, LeftOut, PresentWorth,
};
use slotkeep_domain::model::Model;
use slotkeep_domain::spares::{
    Aim, Bought, Buyable, Curve, Optimum, Proof, USUAL_EFFORT, Worth, best_for_budget, money_curve,
    worth_of_stock,
};

/// Points of the curve that are shown at most.
const MOST_POINTS: usize = 500;

/// Hours of a year of 365 days.
const HOURS_A_YEAR: f64 = 8760.0;

pub(super) fn commands() -> Vec<Command> {
    vec![table::ask(
        "spares.budget",
        "Shows what money buys over all models, and the best for a budget.",
        budget,
    )]
}

fn budget(ask: &Ask<'_>, input: BudgetInput) -> Result<BudgetReply, Failure> {
    ask.read(|r| round(&Gathered::of(ask, r)?.known(), &input))
}

pub(super) fn round(known: &Known<'_>, input: &BudgetInput) -> Result<BudgetReply, Failure> {
    let aim = match input.weigh.as_deref() {
        None | Some("backorders") => Aim::Backorders,
        Some("missing_cost") => Aim::MissingCost,
        Some(word) => {
            return Err(Failure::bad_input(format!(
                "{word:?} is nothing to weigh by: write backorders or missing_cost"
            )));
        }
    };
    let round = Round::of(known)?;
    let refused = |no: slotkeep_domain::spares::MoneyRefusal| Failure::refused(no.to_string());
    let curve = money_curve(&round.buyables, aim, MOST_POINTS, None).map_err(refused)?;
    let optimum = match input.budget_cents {
        None => None,
        Some(cents) if cents < 0 => {
            return Err(Failure::bad_input(format!(
                "the budget is {cents} cents: write zero or more"
            )));
        }
        Some(cents) => {
            Some(best_for_budget(&round.buyables, aim, cents, USUAL_EFFORT).map_err(refused)?)
        }
    };
    let worth = worth_of_stock(&round.buyables, aim, USUAL_EFFORT).map_err(refused)?;
    let dead = spares_dead::dead(known)?;
    let best = optimum.as_ref().map(|it| round.choice(&it.best, Some(it), aim));
    let by_steps = optimum.as_ref().map(|it| round.choice(&it.greedy, None, aim));
    let dead_cents = dead.iter().filter_map(|line| line.value_cents).sum();
    Ok(BudgetReply {
        message: message(&curve, optimum.as_ref(), &round),
        curve: round.points(&curve),
        best,
        by_steps,
        present: present(&worth, dead_cents),
        dead,
        left_out: round.left_out,
    })
}

/// Everything that competes for the money.
struct Round<'k> {
    /// What is bought.
    models: Vec<&'k Model>,
    titles: Vec<String>,
    rooms: Vec<String>,
    buyables: Vec<Buyable>,
    left_out: Vec<LeftOut>,
}

/// What a model is to a budget round.
enum Part<'k> {
    Bought {
        bought: &'k Model,
        title: String,
        room: String,
        buyable: Buyable,
    },
    LeftOut(&'static str),
    /// It has nothing to do with any storeroom.
    None,
}

impl<'k> Round<'k> {
    fn of(known: &Known<'k>) -> Result<Self, Failure> {
        let parts = known.of_each(|model| Ok((model, part(known, model)?)))?;
        let mut round = Self {
            models: Vec::new(),
            titles: Vec::new(),
            rooms: Vec::new(),
            buyables: Vec::new(),
            left_out: Vec::new(),
        };
        for (model, part) in parts {
            match part {
                Part::Bought { bought, title, room, buyable } => {
                    round.models.push(bought);
                    round.titles.push(title);
                    round.rooms.push(room);
                    round.buyables.push(buyable);
                }
                Part::LeftOut(message) => round.left_out.push(LeftOut {
                    model: model.part_no.to_string(),
                    message: message.to_owned(),
                }),
                Part::None => {}
            }
        }
        Ok(round)
    }

    fn points(&self, curve: &Curve) -> Vec<BudgetPoint> {
        let mut nothing_missing: f64 =
            self.buyables.iter().map(|it| it.demand.cdf(it.held)).product();
        let mut points = Vec::with_capacity(curve.steps.len());
        for step in &curve.steps {
            let it = &self.buyables[step.model];
            let before = it.demand.cdf(step.stock.saturating_sub(1));
            if before > 0.0 {
                nothing_missing *= it.demand.cdf(step.stock) / before;
            }
            points.push(BudgetPoint {
                model: self.models[step.model].part_no.to_string(),
                model_title: self.titles[step.model].clone(),
                storeroom: self.rooms[step.model].clone(),
                pieces: pieces(step.stock),
                price_cents: cents(it.price_cents),
                spent_cents: cents(step.after.spent_cents),
                backorders: step.after.backorders,
                availability: step.after.availability,
                nothing_missing: nothing_missing.min(1.0),
                gain: step.saves_per_cent * 100_000.0,
            });
        }
        points
    }

    fn purchase(&self, at: usize, buy: u64) -> BudgetPurchase {
        let it = &self.buyables[at];
        BudgetPurchase {
            model: self.models[at].part_no.to_string(),
            model_title: self.titles[at].clone(),
            storeroom: self.rooms[at].clone(),
            pieces: pieces(buy),
            cost_cents: cents(it.price_cents.saturating_mul(buy)),
            backorders_before: it.demand.expected_above(it.held),
            backorders_after: it.demand.expected_above(it.held + buy),
        }
    }

    fn choice(&self, bought: &Bought, optimum: Option<&Optimum>, aim: Aim) -> BudgetChoice {
        let mut purchases: Vec<BudgetPurchase> = Vec::new();
        for at in (0..self.models.len()).filter(|at| bought.buy[*at] > 0) {
            let next = self.purchase(at, bought.buy[at]);
            // What is bought in place of another model is bought with its own.
            let same =
                |it: &&mut BudgetPurchase| it.model == next.model && it.storeroom == next.storeroom;
            match purchases.iter_mut().find(same) {
                None => purchases.push(next),
                Some(one) => {
                    one.model_title = format!("{}; {}", one.model_title, next.model_title);
                    one.pieces += next.pieces;
                    one.cost_cents += next.cost_cents;
                    one.backorders_before += next.backorders_before;
                    one.backorders_after += next.backorders_after;
                }
            }
        }
        let saved = purchases.iter().map(|it| {
            sum(
                &format!("{} times {}", it.pieces, it.model),
                it.backorders_before - it.backorders_after,
                "owed fewer",
                "pieces owed on average before less those after",
                vec![
                    given("Before", it.backorders_before, "pieces"),
                    given("After", it.backorders_after, "pieces"),
                    money("Cost", it.cost_cents, "", Vec::new()),
                ],
            )
        });
        let opened = sum(
            "Places that stand empty, on average",
            bought.after.backorders,
            "pieces owed",
            "what is owed without a purchase, less what each saves",
            saved.collect(),
        );
        let bound = optimum.map_or(bought.after.figure(aim), |it| it.bound);
        BudgetChoice {
            spent_cents: cents(bought.after.spent_cents),
            backorders: bought.after.backorders,
            availability: bought.after.availability,
            missing_cents_h: bought.after.missing_cents_h,
            bound,
            proved: optimum.is_some_and(|it| it.proof != Proof::Gap),
            at_vertex: optimum.is_some_and(|it| it.proof == Proof::Vertex),
            purchases,
            sum: vec![opened],
        }
    }
}

/// A model counts as one over all storerooms: whoever needs it gets it.
fn part<'k>(known: &Known<'k>, model: &'k Model) -> Result<Part<'k>, Failure> {
    let Some(stock) = ModelStock::of(known, model)? else { return Ok(Part::None) };
    let demand = StoreDemand::of(known, model, Share::Site);
    if demand.yearly() <= 0.0 {
        return Ok(Part::LeftOut("no random demand is known of it"));
    }
    if demand.population.units <= 0.0 {
        return Ok(Part::LeftOut("work uses it up and no place waits for it: see its level"));
    }
    let Some(bought) = bought_for(known.facts, model) else {
        return Ok(Part::LeftOut(
            "it is no longer made, and nothing may stand in that is made and not asked for itself",
        ));
    };
    let Some(prices) = prices(bought) else {
        return Ok(Part::LeftOut("the catalogue gives no price"));
    };
    let lead =
        demand.in_resupply().map_err(|no| Failure::refused(format!("{}: {no}", model.part_no)))?;
    let class = stock.rooms.first().map(|room| room.leveled.class);
    let missing = class.map_or(0, |class| *known.facts.rules.missing_cost_cents_h.of(class));
    let title = match bought.part_no == model.part_no {
        true => model.title.clone(),
        false => format!("{}, in place of {}", bought.title, model.part_no),
    };
    let buyable = Buyable {
        price_cents: prices.at(1).unsigned_abs(),
        held: stock.rooms.iter().map(super::spares_stock::RoomStock::position).sum(),
        demand: lead.pmf,
        places: demand.population.units.round() as u64,
        missing_cents_h: missing as f64,
    };
    Ok(Part::Bought { bought, title, room: stock.home, buyable })
}

fn present(worth: &Worth, dead_cents: i64) -> PresentWorth {
    let stock_cents = cents(worth.with.spent_cents);
    let least = cents(worth.cheapest.best.after.spent_cents);
    let opened = money(
        "Present stock at today's prices",
        stock_cents,
        "pieces times prices; what is on order is counted, what is planned is not",
        vec![
            given("Owed on average without any stock", worth.without.backorders, "pieces"),
            given("Owed on average with it", worth.with.backorders, "pieces"),
            money("The cheapest stock that does as much", least, "", Vec::new()),
            money("Of no use against random demand", cents(worth.idle_cents), "", Vec::new()),
        ],
    );
    PresentWorth {
        stock_cents,
        backorders: worth.with.backorders,
        availability: worth.with.availability,
        backorders_without: worth.without.backorders,
        same_for_cents: Some(least),
        idle_cents: cents(worth.idle_cents),
        dead_cents,
        sum: vec![opened],
    }
}

fn message(curve: &Curve, optimum: Option<&Optimum>, round: &Round<'_>) -> String {
    let owed = curve.start.backorders * HOURS_A_YEAR;
    let left_out = match round.left_out.len() {
        0 => String::new(),
        1 => " 1 model is left out.".to_owned(),
        more => format!(" {more} models are left out."),
    };
    let Some(optimum) = optimum else {
        return format!("With what is there places stand empty {owed:.1} h a year.{left_out}");
    };
    let after = &optimum.best.after;
    let spent = after.spent_cents;
    let proof = match optimum.proof {
        Proof::Vertex => "the next best purchases end exactly there, so nothing is better",
        Proof::Search => "nothing is better: the search ended",
        Proof::Gap => "better choices may exist down to the bound: the search came to its limit",
    };
    format!(
        "{}.{:02} of money bring the time that places stand empty from {owed:.1} to {:.1} h a year; \
         {proof}.{left_out}",
        spent / 100,
        spent % 100,
        after.backorders * HOURS_A_YEAR
    )
}

fn cents(cents: u64) -> i64 {
    i64::try_from(cents).unwrap_or(i64::MAX)
}
