//! Money over all models at once: the curve, the best for a budget, and what the stock is worth.

use super::spares_dead;
use super::spares_demand::Known;
use super::spares_known::Gathered;
use super::spares_round::{Round, cents};
use super::spares_sums::{given, money};
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::spares_money::{BudgetInput, BudgetReply, DeadStock, PresentWorth};
use slotkeep_domain::spares::{
    Aim, Curve, Optimum, Proof, USUAL_EFFORT, Worth, best_for_budget, money_curve, worth_of_stock,
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
    Ok(BudgetReply {
        message: message(&curve, optimum.as_ref(), &round),
        curve: round.points(&curve),
        best,
        by_steps,
        present: present(&worth, &round, &dead),
        dead,
        left_out: round.left_out,
    })
}

fn present(worth: &Worth, round: &Round<'_>, dead: &[DeadStock]) -> PresentWorth {
    let dead_cents = dead.iter().filter_map(|line| line.value_cents).sum();
    let stand_ins: u64 = round.buyables.iter().map(|it| it.stand_ins).sum();
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
            given(
                "Pieces that count for a model that they stand in for",
                stand_ins as f64,
                "pieces",
            ),
            money(
                "In stock that nothing wants",
                dead_cents,
                "above the levels, and not asked for; each is opened in its own line",
                Vec::new(),
            ),
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
