use super::MoneyRefusal;
use crate::spares::Pmf;

/// What is held of a model, and what is known of its use.
#[derive(Debug, Clone, PartialEq)]
pub struct ShelfStock {
    /// Pieces on the shelf and on order.
    pub held: u64,
    /// Of these, what the level and known demand keep, however rarely it is used.
    pub kept: u64,
    pub price_cents: u64,
    /// What will be asked for in the years that are looked at.
    pub demand: Pmf,
    /// Places in which it is installed.
    pub installed: u64,
    /// Years since one was last used; none where no use is known.
    pub idle_y: Option<f64>,
    /// Years that the record goes back.
    pub recorded_y: f64,
}

/// What of a stock is too much.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surplus {
    /// Pieces beyond those that are kept, of which each will be used in these years with less than
    /// the stated chance.
    pub pieces: u64,
    pub cents: u64,
    /// Chance that the last piece is used in these years; none where nothing is held.
    pub last_is_used: Option<f64>,
    /// Why all of it is dead stock, if it is.
    pub dead: Option<DeadWhy>,
}

/// Why a stock is dead.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DeadWhy {
    /// None is installed, so none can fail.
    NothingInstalled,
    /// None was used for so many years, at least as long as was stated.
    NotUsed { years: f64 },
    /// The record holds no use at all in so many years, at least as long as was stated.
    NeverUsed { years: f64 },
}

/// Returns what of a stock is surplus and whether it is dead.
///
/// The n-th piece is used when at least n are asked for; it is surplus where the chance of that is
/// below `bound` and it is not among those that are kept. A stock is dead where nothing is installed any more and nothing is asked for with
/// a chance of `bound` either, or where nothing was used for `dead_after_y` years though the record
/// goes back that far. A stock against rare failures can be dead by its record and not be surplus:
/// both are said, and a person judges.
///
/// Fails unless the bound is from 0 to below 1 and the years are zero or more.
pub fn surplus(stock: &ShelfStock, bound: f64, dead_after_y: f64) -> Result<Surplus, MoneyRefusal> {
    if !(0.0..1.0).contains(&bound) {
        return Err(MoneyRefusal::Chance(bound));
    }
    for years in [dead_after_y, stock.recorded_y, stock.idle_y.unwrap_or(0.0)] {
        if !(years.is_finite() && years >= 0.0) {
            return Err(MoneyRefusal::Years(years));
        }
    }
    // P(at least n) falls with n, so those below the bound are the last ones.
    let end = stock.demand.weights().len() as u64;
    let wanted = (0..end).take_while(|used| stock.demand.above(*used) >= bound).count() as u64;
    let wanted = if bound == 0.0 { stock.held } else { wanted };
    let pieces = stock.held.saturating_sub(wanted.max(stock.kept));
    let last_is_used = stock.held.checked_sub(1).map(|used| stock.demand.above(used));
    let silent = stock.idle_y.unwrap_or(stock.recorded_y);
    let dead = if stock.held == 0 {
        None
    } else if stock.installed == 0 && wanted == 0 {
        Some(DeadWhy::NothingInstalled)
    } else if silent < dead_after_y {
        None
    } else if stock.idle_y.is_some() {
        Some(DeadWhy::NotUsed { years: silent })
    } else {
        Some(DeadWhy::NeverUsed { years: silent })
    };
    let cents = pieces.saturating_mul(stock.price_cents);
    Ok(Surplus { pieces, cents, last_is_used, dead })
}
