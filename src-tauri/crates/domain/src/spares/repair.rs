use super::levels::{HOURS_A_YEAR, LevelRefusal, Service, Target, ToCover};
use super::{DemandRefusal, Pmf};

#[cfg(test)]
mod tests;

/// Most places, and most spares, that are reckoned with.
const LARGEST_POPULATION: u32 = 100_000;
/// How far pieces owed may differ by the finite source before it is said to matter.
const FINITE_SHOWS: f64 = 0.1;

/// Returns the share of demands that find nothing where each such demand is lost or met elsewhere.
///
/// `load` is demand rate times lead time, `stock` the pieces.
///
/// Source: Erlang's loss formula B(c, a), by its recursion.
pub fn lost_share(load: f64, stock: u32) -> f64 {
    (1..=stock).fold(1.0, |lost, piece| load * lost / (f64::from(piece) + load * lost))
}

/// How a population with a few spares and enough repairers fares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RepairLoop {
    /// Probability that every place has a working unit.
    pub all_working: f64,
    /// Places without a working unit, on average.
    pub short: f64,
    /// Share of places with a working unit.
    pub availability: f64,
    /// Units away, on average.
    pub in_repair: f64,
}

/// Returns how `places` fare with `spares` beside them, each failed unit coming back after
/// `turn_round_h` on average.
///
/// `rate_per_h` is the failure rate of a working unit; units on the shelf do not fail. Rates and
/// times below zero, endless or none give no numbers.
///
/// Source: machine-repair model with spares and ample servers, Gross and Harris, Fundamentals of
/// Queueing Theory.
pub fn repair_loop(places: u32, spares: u32, rate_per_h: f64, turn_round_h: f64) -> RepairLoop {
    let load = rate_per_h * turn_round_h;
    if !(load >= 0.0 && load.is_finite()) {
        let none = f64::NAN;
        return RepairLoop { all_working: none, short: none, availability: none, in_repair: none };
    }
    fares(&away(places, spares, load), places, spares)
}

fn fares(away: &Pmf, places: u32, spares: u32) -> RepairLoop {
    let short = away.expected_above(spares.into());
    RepairLoop {
        all_working: away.cdf(spares.into()),
        short,
        availability: 1.0 - short / f64::from(places),
        in_repair: away.mean(),
    }
}

/// How failed units come back, or others in their place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Repairing {
    /// Share of failed units that come back repaired; the others are condemned and bought anew.
    pub yield_share: f64,
    /// Mean time from the failure until a repaired unit is back.
    pub turn_round_h: f64,
    /// Mean time from the failure until a bought unit is there in place of a condemned one: until it
    /// is condemned, and the lead time.
    pub purchase_h: f64,
}

/// How a population fares whose failed units are repaired or bought anew.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RepairFares {
    pub places: RepairLoop,
    pub service: Service,
    /// Units in repair, on average.
    pub in_repair: f64,
    /// Units on order in place of condemned ones, on average.
    pub on_order: f64,
    pub bought_a_y: f64,
    /// The same if places that stand empty went on failing: demand from an endless source (Palm).
    pub endless: Service,
    /// Whether that makes a tenth of difference or more to what is owed, as with few places, long
    /// times away or few spares. The threshold is a decision, no source.
    pub finite_matters: bool,
}

/// Returns how `places` fare with `spares` beside them, exactly.
///
/// A place that stands empty does not fail, so demand falls as units are missing. Only the mean of
/// the times away counts, not their spread: y · turn-round + (1 − y) · purchase.
///
/// Fails with [`LevelRefusal::Figure`] unless there are 1 to 100,000 places and at most as many
/// spares, rate and times are finite and zero or more, and 0 <= yield <= 1; with
/// [`LevelRefusal::Demand`] where more than a million units would be away from an endless source.
///
/// Source: machine-repair model with spares and ample servers, Gross and Harris, Fundamentals of
/// Queueing Theory; it holds for times away of any distribution (infinite servers are insensitive),
/// and so for a mixture of repair and purchase. Simulated in tests.
pub fn repairing(
    places: u32,
    spares: u32,
    rate_per_h: f64,
    repairing: Repairing,
) -> Result<RepairFares, LevelRefusal> {
    let (repaired_h, bought_h) = checked(places, spares, rate_per_h, repairing)?;
    let away_h = repaired_h + bought_h;
    let away = away(places, spares, rate_per_h * away_h);
    let endless = Pmf::poisson(f64::from(places) * rate_per_h * away_h)?;
    let fares = fares(&away, places, spares);
    let service = cover(away, places, spares, rate_per_h).service(spares.into());
    let endless = ToCover::one_by_one(endless).with_asking(rate_per_h > 0.0);
    let endless = endless.service(spares.into());
    let failures_per_h = rate_per_h * (f64::from(places) - fares.short);
    let apart = (endless.backorders - service.backorders).abs();
    Ok(RepairFares {
        places: fares,
        service,
        in_repair: failures_per_h * repaired_h,
        on_order: failures_per_h * bought_h,
        bought_a_y: failures_per_h * (1.0 - repairing.yield_share) * HOURS_A_YEAR,
        endless,
        finite_matters: apart > FINITE_SHOWS * endless.backorders,
    })
}

/// Returns the fewest spares with which the places meet a target, with how they fare.
///
/// Fails as [`repairing`] does, and with [`LevelRefusal::Figure`] where 100,000 spares do not do.
pub fn spares_for(
    places: u32,
    rate_per_h: f64,
    terms: Repairing,
    target: Target,
) -> Result<(u32, RepairFares), LevelRefusal> {
    let met = |spares: u32| {
        repairing(places, spares, rate_per_h, terms).map(|fares| target.met_by(&fares.service))
    };
    let mut high = 0;
    while !met(high)? {
        if high == LARGEST_POPULATION {
            let (what, value) = ("number of spares", f64::from(high));
            let wanted = "for which the target can be met: ask for less, or for shorter times";
            return Err(LevelRefusal::Figure { what, value, wanted });
        }
        high = (2 * high + 1).min(LARGEST_POPULATION);
    }
    let mut low = high / 2;
    if high > 0 && !met(low)? {
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            if met(middle)? { high = middle } else { low = middle }
        }
    }
    Ok((high, repairing(places, high, rate_per_h, terms)?))
}

/// Hours of repair and of purchase in the mean time away.
fn checked(
    places: u32,
    spares: u32,
    rate_per_h: f64,
    repairing: Repairing,
) -> Result<(f64, f64), LevelRefusal> {
    let Repairing { yield_share, turn_round_h, purchase_h } = repairing;
    let figure = |what, value, wanted| Err(LevelRefusal::Figure { what, value, wanted });
    if !(1..=LARGEST_POPULATION).contains(&places) {
        return figure("number of places", places.into(), "from 1 to 100000");
    }
    if spares > LARGEST_POPULATION {
        return figure("number of spares", spares.into(), "up to 100000");
    }
    for (what, value) in [
        ("failure rate per hour", rate_per_h),
        ("turn-round in hours", turn_round_h),
        ("time of a purchase in hours", purchase_h),
    ] {
        if !(value >= 0.0 && value.is_finite()) {
            return figure(what, value, "of zero or more");
        }
    }
    if !(0.0..=1.0).contains(&yield_share) {
        return figure("yield of repair", yield_share, "from 0 to 1");
    }
    let hours = (yield_share * turn_round_h, (1.0 - yield_share) * purchase_h);
    match rate_per_h * (hours.0 + hours.1) {
        load if load.is_finite() => Ok(hours),
        load => Err(DemandRefusal::Mean(load).into()),
    }
}

/// Units away at a random moment; `load` is the rate of one place times the mean time away.
fn away(places: u32, spares: u32, load: f64) -> Pmf {
    let (places, spares) = (f64::from(places), f64::from(spares));
    let working = move |away: f64| (places - (away - spares).max(0.0)).max(0.0);
    let ratio = move |away: f64| working(away) * load / (away + 1.0);
    // Ratios fall, so the likeliest number is the first that is not below the next.
    let (mut low, mut high) = (0u32, (places + spares) as u32);
    while low < high {
        let middle = low + (high - low) / 2;
        if ratio(middle.into()) < 1.0 { high = middle } else { low = middle + 1 }
    }
    Pmf::from_mode(low as usize, ratio)
}

/// A failure finds fewer units away than a random moment does, since empty places do not fail.
fn cover(away: Pmf, places: u32, spares: u32, rate_per_h: f64) -> ToCover {
    let working = |away: usize| f64::from(places) - (away as f64 - f64::from(spares)).max(0.0);
    let weights = away.weights().iter().enumerate();
    let found = Pmf::of(weights.map(|(away, weight)| weight * working(away).max(0.0)).collect());
    ToCover::found_by(away, found.ok()).with_asking(rate_per_h > 0.0)
}
