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
/// `rate_per_h` is the failure rate of a working unit; units on the shelf do not fail.
///
/// Source: machine-repair model with spares and ample servers, Gross and Harris, Fundamentals of
/// Queueing Theory.
pub fn repair_loop(places: u32, spares: u32, rate_per_h: f64, turn_round_h: f64) -> RepairLoop {
    let load = rate_per_h * turn_round_h;
    let mut weight = 1.0;
    let (mut sum, mut all_working, mut short, mut in_repair) = (0.0, 0.0, 0.0, 0.0);
    for away in 0..=places + spares {
        let missing = f64::from(away.saturating_sub(spares));
        sum += weight;
        all_working += if away <= spares { weight } else { 0.0 };
        short += missing * weight;
        in_repair += f64::from(away) * weight;
        weight *= (f64::from(places) - missing) * load / f64::from(away + 1);
    }
    RepairLoop {
        all_working: all_working / sum,
        short: short / sum,
        availability: 1.0 - short / sum / f64::from(places),
        in_repair: in_repair / sum,
    }
}
