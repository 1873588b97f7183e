use super::optimum::{cheapest, parts_of};
use super::{Aim, Buyable, MoneyPoint, MoneyRefusal, Optimum, check, pieces};

/// What the present stock is worth.
#[derive(Debug, Clone, PartialEq)]
pub struct Worth {
    /// Without any stock.
    pub without: MoneyPoint,
    /// With what is held; the money is what it costs at today's prices.
    pub with: MoneyPoint,
    /// Money that is tied in pieces that gain nothing: needed less often than 1 in 1e12.
    pub idle_cents: u64,
    /// The cheapest stock that does as much for the aim, bought from nothing.
    pub cheapest: Optimum,
    /// Money that the present stock costs for each cent of the cheapest; none where nothing is
    /// gained.
    pub ratio: Option<f64>,
}

/// Returns what the present stock saves, what it costs, and the least money that saves as much.
///
/// Fails with [`MoneyRefusal`] where a price or cost makes no sense.
pub fn worth_of_stock(models: &[Buyable], aim: Aim, effort: u64) -> Result<Worth, MoneyRefusal> {
    check(models)?;
    let own = |it: &Buyable| it.held.saturating_sub(it.stand_ins);
    let tied = |it: &Buyable| it.price_cents.saturating_mul(own(it).saturating_add(it.lent));
    let tied_cents = models.iter().fold(0u64, |sum, it| sum.saturating_add(tied(it)));
    let without = MoneyPoint::of(models.iter().map(|it| (it, 0)), 0);
    let with = MoneyPoint::of(models.iter().map(|it| (it, it.held)), tied_cents);
    let pieces = pieces(models, aim, |_| 0);
    let parts = parts_of(&pieces);
    let mut left: Vec<u64> = models.iter().map(|it| it.held).collect();
    // What is lent saves an order of another model; a model's own pieces are used before others.
    let lent = |sum: u64, it: &Buyable| sum.saturating_add(it.price_cents.saturating_mul(it.lent));
    let (mut needed, mut of_use) = (0, models.iter().fold(0, lent));
    for (piece, part) in pieces.iter().zip(&parts) {
        if left[piece.model] > 0 {
            let used = models[piece.model].held - left[piece.model];
            left[piece.model] -= 1;
            needed += part;
            if used < own(&models[piece.model]) {
                of_use = of_use.saturating_add(piece.price_cents);
            }
        }
    }
    let Some(cheapest) = cheapest(models, &pieces, needed, effort) else {
        return Err(MoneyRefusal::Wanted(with.figure(aim)));
    };
    let least = cheapest.best.after.spent_cents;
    Ok(Worth {
        without,
        with,
        idle_cents: tied_cents.saturating_sub(of_use),
        ratio: (least > 0).then(|| tied_cents as f64 / least as f64),
        cheapest,
    })
}
