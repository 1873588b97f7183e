use super::{HOURS_A_YEAR, Level, Measure, Service, Target};
use crate::spares::{LARGEST_LOT, Pmf};

/// What a stock has to cover at a random moment: what was asked for in the lead time, and what has
/// not been ordered again yet.
#[derive(Debug, Clone, PartialEq)]
pub struct ToCover {
    /// At a random moment.
    random: Pmf,
    /// E[(X − s)+] of it, for each s up to its end.
    owed: Vec<f64>,
    /// What a piece finds to cover before it, as it is asked for; none where that is the same.
    found: Option<Pmf>,
    /// Whether anything is asked for at all. Nobody is turned away where nobody asks.
    asked: bool,
}

impl ToCover {
    /// Pieces are asked for one by one, and each finds what there is at a random moment: Poisson
    /// failures, also over a lead time that varies. `lead` is the demand of the lead time. One
    /// without demand asks for nothing.
    ///
    /// Source: Palm's theorem; C. C. Sherbrooke, Optimal Inventory Modeling of Systems, 2nd ed.,
    /// chapter 2. Poisson arrivals see time averages.
    pub fn one_by_one(lead: Pmf) -> Self {
        Self::new(lead, None)
    }

    /// Pieces are asked for one by one, at a rate that is itself uncertain (gamma-mixed Poisson:
    /// negative binomial). Where the rate is high more is asked for and less is found, so a piece
    /// finds k before it with probability (k + 1)·P(X = k + 1)/E\[X\], and the fill rate is the
    /// share of all demands to expect.
    ///
    /// Source: our own, from E\[Λ·P(X = k | Λ)\]/E\[Λ\] with Poisson X; simulated in tests.
    pub fn at_an_uncertain_rate(lead: Pmf) -> Self {
        let found = weighted_by_size(&lead);
        Self::new(lead, found)
    }

    /// Groups of pieces are asked for at once (compound Poisson), `sizes` being the pieces of a
    /// group; what is there of a group is handed out, the rest is owed. The fill rate counts pieces.
    ///
    /// Source: Zipkin, section 7.5, from memory; simulated in tests.
    pub fn in_groups(lead: Pmf, sizes: &Pmf) -> Self {
        let found = place_in_group(sizes).map(|before| lead.plus(&before));
        Self::new(lead, found)
    }

    /// The same figures of what there is at a random moment and of what a piece finds as it is asked
    /// for, where they differ.
    pub(in crate::spares) fn found_by(random: Pmf, found: Option<Pmf>) -> Self {
        Self::new(random, found)
    }

    fn new(random: Pmf, found: Option<Pmf>) -> Self {
        let mut owed = vec![0.0; random.weights().len()];
        let mut sum = 0.0;
        for (s, owed) in owed.iter_mut().enumerate().rev() {
            sum += random.above(s as u64);
            *owed = sum;
        }
        let asked = sum > 0.0;
        Self { random, owed, found, asked }
    }

    /// The same where pieces are asked for though none falls into the lead time, as when it is zero.
    pub fn with_asking(self, asked: bool) -> Self {
        Self { asked, ..self }
    }

    /// One of several, each with its probability at a random moment and its share of what is asked
    /// for; both are made to sum to 1.
    pub(super) fn mixed(parts: &[(f64, f64, Self)]) -> Self {
        let random: Vec<(f64, &Pmf)> =
            parts.iter().map(|(weight, _, part)| (*weight, &part.random)).collect();
        let found: Vec<(f64, &Pmf)> =
            parts.iter().map(|(_, share, part)| (*share, part.found())).collect();
        Self::new(Pmf::mixed_of(&random), Some(Pmf::mixed_of(&found)))
    }

    /// The same where the position is some pieces below its level, whatever is asked for later.
    pub(super) fn behind(&self, gap: &Pmf) -> Self {
        Self::new(self.random.plus(gap), self.found.as_ref().map(|found| found.plus(gap)))
    }

    /// The same with lots of a fixed quantity, which leave each of so many gaps as often. Taken as 1
    /// where it is 0, and as 100,000 where it is more.
    ///
    /// Source: the position is uniform on r + 1 .. r + Q, whatever the sizes of demands; Zipkin,
    /// section 6.2.3, from memory.
    pub fn in_lots(&self, quantity: u64) -> Self {
        let quantity = quantity.clamp(1, LARGEST_LOT);
        let found = self.found.as_ref().map(|found| evenly_behind(found, quantity));
        Self::new(evenly_behind(&self.random, quantity), found)
    }

    /// The distribution of pieces to cover at a random moment.
    pub fn random(&self) -> &Pmf {
        &self.random
    }

    /// What a piece finds to cover before it.
    pub(super) fn found(&self) -> &Pmf {
        self.found.as_ref().unwrap_or(&self.random)
    }

    /// The service of a stock.
    pub fn service(&self, stock: u64) -> Service {
        let fill_rate = match stock.checked_sub(1) {
            _ if !self.asked => 1.0,
            Some(below) => self.found().cdf(below),
            None => 0.0,
        };
        let backorders = self.owed_at(i64::try_from(stock).unwrap_or(i64::MAX));
        Service {
            no_stock_out: self.random.cdf(stock),
            fill_rate,
            backorders,
            down_time_h: backorders * HOURS_A_YEAR,
            on_hand: self.random.expected_below(stock),
        }
    }

    /// The service of each stock from none to `most`.
    pub fn services(&self, most: u64) -> Vec<Service> {
        (0..=most).map(|stock| self.service(stock)).collect()
    }

    /// The least stock that meets a target.
    ///
    /// Lead time zero needs no stock, but for a fill rate above 0 one piece: whoever asks must find
    /// it on the shelf. Where nothing is asked for none is held.
    pub fn level_for(&self, target: Target) -> Level {
        let stock = self.least_for(target);
        Level { stock, service: self.service(stock) }
    }

    pub(super) fn least_for(&self, target: Target) -> u64 {
        match target.measure {
            Measure::NoStockOut => self.random.quantile(target.value),
            Measure::FillRate if !self.asked || target.value == 0.0 => 0,
            Measure::FillRate => self.found().quantile(target.value) + 1,
            Measure::Backorders => self.first_owing(target.value),
            Measure::DownTimeH => self.first_owing(target.value / HOURS_A_YEAR),
        }
    }

    /// E[(X − s)+] of a position, which may be below zero.
    pub(in crate::spares) fn owed_at(&self, position: i64) -> f64 {
        match usize::try_from(position) {
            Ok(position) => self.owed.get(position).copied().unwrap_or(0.0),
            Err(_) => self.owed[0] - position as f64,
        }
    }

    pub(super) fn asked(&self) -> bool {
        self.asked
    }

    fn first_owing(&self, at_most: f64) -> u64 {
        // A sum may miss what it should be by its last digits.
        self.owed.partition_point(|owed| *owed > at_most * (1.0 + 1e-12)) as u64
    }
}

/// Adds a gap that is equally likely 0 to `quantity` − 1.
fn evenly_behind(demand: &Pmf, quantity: u64) -> Pmf {
    let length = demand.weights().len() as u64 + quantity - 1;
    let mut below = 0.0;
    let weights = (0..length).map(|k| match k.checked_sub(quantity) {
        None => {
            below += demand.at(k);
            below
        }
        Some(before) => demand.above(before) - demand.above(k),
    });
    // Some weight is above zero, so they can be made to sum to 1.
    Pmf::of(weights.collect()).unwrap_or_else(|_| demand.clone())
}

/// One less than a demand that is weighted by its size; none where there is no demand.
fn weighted_by_size(lead: &Pmf) -> Option<Pmf> {
    let weights = lead.weights().iter().enumerate().skip(1);
    Pmf::of(weights.map(|(k, weight)| k as f64 * weight).collect()).ok()
}

/// How many pieces of its own group come before a piece; none where all groups are empty.
fn place_in_group(sizes: &Pmf) -> Option<Pmf> {
    let last = sizes.weights().len() as u64 - 1;
    Pmf::of((0..last).map(|before| sizes.above(before)).collect()).ok()
}
