use super::{Aim, Buyable, MoneyPoint, MoneyRefusal, available, check, pieces};

/// What each sum of money buys, from what is held now.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// What is held now.
    pub start: MoneyPoint,
    /// Purchases, the best next one each time.
    pub steps: Vec<CurveStep>,
    /// Whether further purchases would still save something.
    pub more: bool,
}

/// One purchase of the curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurveStep {
    /// Which model one more is bought of, counted from 0.
    pub model: usize,
    /// Pieces of it that are held afterwards.
    pub stock: u64,
    /// What the piece saves of the aim's figure.
    pub saves: f64,
    /// That for each cent.
    pub saves_per_cent: f64,
    /// What is reached.
    pub after: MoneyPoint,
}

/// Returns the purchases in the order in which they save most for their money, up to `most` pieces
/// and, where one is given, as long as the budget lasts: at the first piece that it cannot pay the
/// curve ends.
///
/// Each point is the best that its own sum of money can do, as far as what is needed less often than
/// 1 in 1e12 is left out.
///
/// Fails with [`MoneyRefusal`] where a price or cost makes no sense, or the budget is below zero.
///
/// Source: marginal analysis, Sherbrooke 2004, chapter 2; Fox 1966, Management Science
/// 13(3):210-216.
pub fn money_curve(
    models: &[Buyable],
    aim: Aim,
    most: usize,
    budget_cents: Option<i64>,
) -> Result<Curve, MoneyRefusal> {
    check(models)?;
    if let Some(budget) = budget_cents.filter(|budget| *budget < 0) {
        return Err(MoneyRefusal::Budget(budget));
    }
    let budget = budget_cents.map_or(u64::MAX, i64::unsigned_abs);
    let mut stocks: Vec<u64> = models.iter().map(|it| it.held).collect();
    let start = MoneyPoint::of(models.iter().zip(stocks.iter().copied()), 0);
    let places: f64 = models.iter().map(|it| it.places as f64).sum();
    let pieces = pieces(models, aim, |it| it.held);
    let mut steps = Vec::new();
    let mut after = start;
    for piece in pieces.iter().take(most) {
        let spent = after.spent_cents.saturating_add(piece.price_cents);
        if spent > budget {
            break;
        }
        let model = &models[piece.model];
        let chance = model.demand.above(stocks[piece.model]);
        stocks[piece.model] += 1;
        let backorders = (after.backorders - chance).max(0.0);
        after = MoneyPoint {
            spent_cents: spent,
            backorders,
            availability: available(backorders, places),
            missing_cents_h: (after.missing_cents_h - chance * model.missing_cents_h).max(0.0),
        };
        steps.push(CurveStep {
            model: piece.model,
            stock: stocks[piece.model],
            saves: piece.gain,
            saves_per_cent: piece.gain_per_cent(),
            after,
        });
    }
    let more = steps.len() < pieces.len();
    Ok(Curve { start, steps, more })
}
