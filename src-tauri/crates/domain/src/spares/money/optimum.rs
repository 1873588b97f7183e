use super::knapsack::{Packing, Thing, pack};
use super::{Aim, Buyable, MoneyPoint, MoneyRefusal, Piece, check, pieces};

/// Purchases, and what they reach.
#[derive(Debug, Clone, PartialEq)]
pub struct Bought {
    /// Pieces to buy of each model.
    pub buy: Vec<u64>,
    pub after: MoneyPoint,
}

/// The best purchases, and how far that is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Optimum {
    pub best: Bought,
    /// No choice within the budget has a smaller figure than this; in [`least_money`], none that
    /// reaches the wanted figure costs fewer cents.
    pub bound: f64,
    pub proof: Proof,
    /// The same by buying the best piece each time, for comparison: up to the first piece that the
    /// budget cannot pay, or that reaches the wanted figure.
    pub greedy: Bought,
}

/// How an optimum is known to be one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Proof {
    /// The curve itself stops at exactly this money, or everything of use is bought.
    Vertex,
    /// The search ended: nothing is better.
    Search,
    /// The search came to its limit of effort: better ones may exist, down to the bound.
    Gap,
}

/// Gains are reckoned in whole parts of their sum, this many, so that bounds and sums are exact; all
/// roundings together are below 1e-12 of the sum.
const PARTS: f64 = (1u64 << 60) as f64;

/// Returns the purchases within a budget that leave the smallest figure of the aim, over all models
/// at once.
///
/// Between the stops of the curve this is a knapsack, since pieces are whole; it is solved exactly
/// by our own search ([`Proof`] says whether it ended). Of one model's pieces the earlier save more
/// at the same price, so each piece can be a thing of its own. `effort` is the number of states to
/// look at before giving up the proof, [`super::USUAL_EFFORT`] being enough for thousands of models.
///
/// Fails with [`MoneyRefusal`] where a price or cost makes no sense, or the budget is below zero.
pub fn best_for_budget(
    models: &[Buyable],
    aim: Aim,
    budget_cents: i64,
    effort: u64,
) -> Result<Optimum, MoneyRefusal> {
    check(models)?;
    let Ok(budget) = u64::try_from(budget_cents) else {
        return Err(MoneyRefusal::Budget(budget_cents));
    };
    let pieces = pieces(models, aim, |it| it.held);
    let parts = parts_of(&pieces);
    let things: Vec<Thing> = pieces
        .iter()
        .zip(&parts)
        .map(|(piece, part)| Thing { weight: piece.price_cents, profit: *part })
        .collect();
    let packing = pack(&things, budget, effort);
    let best = bought(models, &pieces, |at| packing.packed[at]);
    let mut by_greed = vec![false; pieces.len()];
    packing.greedy.iter().for_each(|at| by_greed[*at] = true);
    let greedy = bought(models, &pieces, |at| by_greed[at]);
    let short = (packing.bound - packing.profit) as f64 * gain_of_part(&pieces);
    let bound = (best.after.figure(aim) - short).max(0.0);
    Ok(Optimum { bound, proof: proof_of(&packing), best, greedy })
}

/// Returns the cheapest purchases, from what is held now, after which the figure of the aim is at
/// most `wanted`.
///
/// The same search the other way round: which pieces not to buy, so that the most money is saved
/// and what they would have gained is not missed.
///
/// Fails with [`MoneyRefusal::Wanted`] where no purchase reaches the figure.
pub fn least_money(
    models: &[Buyable],
    aim: Aim,
    wanted: f64,
    effort: u64,
) -> Result<Optimum, MoneyRefusal> {
    check(models)?;
    if !(wanted.is_finite() && wanted > 0.0) {
        return Err(MoneyRefusal::Wanted(wanted));
    }
    let pieces = pieces(models, aim, |it| it.held);
    let now = MoneyPoint::of(models.iter().map(|it| (it, it.held)), 0).figure(aim);
    // Sums of pieces owed carry some digits less than parts do: what reaches the figure but for
    // those does reach it.
    let short = now - wanted - now * 1e-13;
    let needed = (short.max(0.0) / gain_of_part(&pieces)).floor();
    cheapest(models, &pieces, needed as u64, effort).ok_or(MoneyRefusal::Wanted(wanted))
}

/// The cheapest pieces that gain at least so many parts; none where all together do not.
pub(super) fn cheapest(
    models: &[Buyable],
    pieces: &[Piece],
    needed: u64,
    effort: u64,
) -> Option<Optimum> {
    let parts = parts_of(pieces);
    let spare = parts.iter().sum::<u64>().checked_sub(needed)?;
    // What gains less than a part is left out without a search.
    let real: Vec<usize> = (0..pieces.len()).filter(|at| parts[*at] > 0).collect();
    let thing = |at: &usize| Thing { weight: parts[*at], profit: pieces[*at].price_cents };
    let things: Vec<Thing> = real.iter().map(thing).collect();
    let packing = pack(&things, spare, effort);
    let mut chosen = vec![false; pieces.len()];
    for (at, left_out) in real.iter().zip(&packing.packed) {
        chosen[*at] = !left_out;
    }
    let best = bought(models, pieces, |at| chosen[at]);
    let mut gained = 0;
    let reached = parts.iter().position(|part| {
        let enough = gained >= needed;
        gained += part;
        enough
    });
    let reached = reached.unwrap_or(pieces.len());
    let greedy = bought(models, pieces, |at| at < reached);
    let bound = best.after.spent_cents - (packing.bound - packing.profit);
    let same = greedy.after.spent_cents == best.after.spent_cents;
    let proof = match proof_of(&packing) {
        Proof::Vertex if !same => Proof::Search,
        proof => proof,
    };
    Some(Optimum { best, bound: bound as f64, proof, greedy })
}

fn proof_of(packing: &Packing) -> Proof {
    match packing {
        Packing { at_vertex: true, .. } => Proof::Vertex,
        Packing { bound, profit, .. } if bound == profit => Proof::Search,
        _ => Proof::Gap,
    }
}

fn gain_of_part(pieces: &[Piece]) -> f64 {
    let sum: f64 = pieces.iter().map(|piece| piece.gain).sum();
    if sum > 0.0 { sum / PARTS } else { 1.0 }
}

pub(super) fn parts_of(pieces: &[Piece]) -> Vec<u64> {
    let part = gain_of_part(pieces);
    pieces.iter().map(|piece| (piece.gain / part).round() as u64).collect()
}

/// Counts the chosen pieces of each model: as many of its best.
fn bought(models: &[Buyable], pieces: &[Piece], chosen: impl Fn(usize) -> bool) -> Bought {
    let mut buy = vec![0u64; models.len()];
    let mut spent = 0u64;
    let chosen = pieces.iter().enumerate().filter(|(at, _)| chosen(*at));
    for (_, piece) in chosen {
        buy[piece.model] += 1;
        spent += piece.price_cents;
    }
    let stocks = models.iter().zip(&buy).map(|(it, buy)| (it, it.held + buy));
    let after = MoneyPoint::of(stocks, spent);
    Bought { buy, after }
}
