//! What competes for the money of a budget round, and what was chosen of it.

use super::spares_demand::Known;
use super::spares_level::prices;
use super::spares_line::pieces;
use super::spares_stand_in::{StandIns, bought_for};
use super::spares_stock::RoomStock;
use super::spares_sums::{given, money, sum};
use crate::Failure;
use crate::wire::spares::SumLine;
use crate::wire::spares_money::{BudgetChoice, BudgetPoint, BudgetPurchase, LeftOut};
use slotkeep_domain::model::Model;
use slotkeep_domain::spares::{Aim, Bought, Buyable, Curve, Optimum, Proof};

/// Everything that competes for the money.
pub(super) struct Round<'k> {
    /// What is bought.
    models: Vec<&'k Model>,
    titles: Vec<String>,
    rooms: Vec<String>,
    pub buyables: Vec<Buyable>,
    pub left_out: Vec<LeftOut>,
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
    pub fn of(known: &Known<'k>) -> Result<Self, Failure> {
        let stand_ins = known.stand_ins()?;
        let parts = known.of_each(|model| Ok((model, part(known, stand_ins, model)?)))?;
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

    pub fn points(&self, curve: &Curve) -> Vec<BudgetPoint> {
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
            held: pieces(it.held),
            stand_ins: pieces(it.stand_ins),
            lent: pieces(it.lent),
            backorders_before: it.demand.expected_above(it.held),
            backorders_after: it.demand.expected_above(it.held + buy),
        }
    }

    pub fn choice(&self, bought: &Bought, optimum: Option<&Optimum>, aim: Aim) -> BudgetChoice {
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
                    one.held += next.held;
                    one.stand_ins += next.stand_ins;
                    one.lent += next.lent;
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
                    owed("Before", it.backorders_before, it, 0),
                    owed("After", it.backorders_after, it, it.pieces),
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

/// Pieces owed with what is held and so many more.
fn owed(what: &str, backorders: f64, of: &BudgetPurchase, bought: u32) -> SumLine {
    let own = given("Held and on order", of.held + of.lent - of.stand_ins, "pieces");
    let parts = [
        Some(own),
        (of.stand_ins > 0)
            .then(|| given("Free pieces of stand-ins that count", of.stand_ins, "pieces")),
        (of.lent > 0).then(|| given("Counted for other models", -f64::from(of.lent), "pieces")),
        (bought > 0).then(|| given("Bought", bought, "pieces")),
    ];
    let rule = "the mean of what demand exceeds these by";
    sum(what, backorders, "pieces", rule, parts.into_iter().flatten().collect())
}

/// A model counts as one over all storerooms: whoever needs it gets it. Free pieces of stand-ins count
/// as they do for orders: each for one model, and no longer for their own.
fn part<'k>(
    known: &Known<'k>,
    stand_ins: &StandIns,
    model: &'k Model,
) -> Result<Part<'k>, Failure> {
    let Some(stock) = known.stock(model)? else { return Ok(Part::None) };
    let site = known.site(model)?;
    let demand = &site.demand;
    if demand.yearly() <= 0.0 {
        return Ok(Part::LeftOut("no random demand is known of it"));
    }
    if demand.population.units <= 0.0 {
        return Ok(Part::LeftOut("work uses it up and no place waits for it: see its level"));
    }
    let Some(bought) = bought_for(&known.facts.models, model, known.facts.today) else {
        return Ok(Part::LeftOut(
            "it is no longer made, and nothing may stand in that is made and not asked for itself",
        ));
    };
    let Some(prices) = prices(bought) else {
        return Ok(Part::LeftOut("the catalogue gives no price"));
    };
    let lead = site.in_resupply(model)?;
    let class = stock.rooms.first().map(|room| room.leveled.classed.class);
    let missing = class.map_or(0, |class| *known.facts.rules.missing_cost_cents_h.of(class));
    let title = match bought.part_no == model.part_no {
        true => model.title.clone(),
        false => format!("{}, in place of {}", bought.title, model.part_no),
    };
    let own: u64 = stock.rooms.iter().map(RoomStock::position).sum();
    let parts =
        || stand_ins.of_model(model.part_no.as_str()).into_iter().flat_map(|it| it.values());
    let counted: u64 = parts().map(|part| part.counted).sum();
    let lent: u64 = parts().flat_map(|part| &part.lent).map(|(_, pieces)| pieces).sum();
    let lent = lent.min(own);
    let buyable = Buyable {
        price_cents: prices.at(1).unsigned_abs(),
        held: own - lent + counted,
        stand_ins: counted,
        lent,
        demand: lead.pmf.clone(),
        places: demand.population.units.round() as u64,
        missing_cents_h: missing as f64,
    };
    Ok(Part::Bought { bought, title, room: stock.home.clone(), buyable })
}

pub(super) fn cents(cents: u64) -> i64 {
    i64::try_from(cents).unwrap_or(i64::MAX)
}
