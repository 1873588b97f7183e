use super::{Echelons, LARGEST_STOCK, NetworkRefusal};
use crate::spares::levels::{HOURS_A_YEAR, Measure, Target};

/// How many pieces lie where, and what is owed then.
#[derive(Debug, Clone, PartialEq)]
pub struct Split {
    pub central: u64,
    pub sites: Vec<u64>,
    /// Pieces owed to places, on average.
    pub backorders: f64,
}

impl Split {
    /// Pieces in all.
    pub fn total(&self) -> u64 {
        self.central + self.sites.iter().sum::<u64>()
    }
}

impl Echelons {
    /// Returns the split of `total` pieces over the central store and the stores that owes the
    /// fewest; of equal ones that with fewest in the central store.
    ///
    /// What is owed is not convex in the central stock, so each is tried. With the central stock
    /// held, what a store owes is convex in its own, so that giving each next piece to the store
    /// that it helps most is best. (Exact for the reckoning in use.)
    pub fn best_split(&self, total: u64) -> Result<Split, NetworkRefusal> {
        if total > LARGEST_STOCK {
            return Err(NetworkRefusal::Stock(total));
        }
        let mut best = (0, f64::INFINITY);
        let mut gains = Vec::new();
        for central in 0..=(total as usize).min(self.central.depth()) {
            let owed = self.owed_after(central, total as usize - central, &mut gains);
            if owed < best.1 * (1.0 - 1e-12) {
                best = (central, owed);
            }
        }
        // More than is ever on its way can be of no use to the central store.
        Ok(self.split_at(best.0, total as usize - best.0))
    }

    /// Returns the best split of 0, 1, 2 … `most` pieces.
    pub fn splits(&self, most: u64) -> Result<Vec<Split>, NetworkRefusal> {
        if most > LARGEST_STOCK {
            return Err(NetworkRefusal::Stock(most));
        }
        let most = most as usize;
        let mut best = vec![(0, f64::INFINITY); most + 1];
        let mut gains = Vec::new();
        for central in 0..=most.min(self.central.depth()) {
            self.gains(central, &mut gains);
            let owed = self.owed_by_number(central, &gains);
            for (total, best) in best.iter_mut().enumerate().skip(central) {
                let owed = owed[(total - central).min(owed.len() - 1)];
                if owed < best.1 * (1.0 - 1e-12) {
                    *best = (central, owed);
                }
            }
        }
        let split = |(total, best): (usize, &(usize, f64))| self.split_at(best.0, total - best.0);
        Ok(best.iter().enumerate().map(split).collect())
    }

    /// Returns the split with the fewest pieces in all that meets a target, and of these the one
    /// that owes the fewest. Every central stock is tried, so it is exact for the reckoning in use.
    ///
    /// Pieces owed and hours are those of all places together; a probability or share is to be met
    /// by every store that is asked for anything, and by the central store where it serves places.
    ///
    /// Fails with [`NetworkRefusal::Target`] where no stock meets it.
    pub fn least(&self, target: Target) -> Result<Split, NetworkRefusal> {
        let value = target.value();
        let mut best: Option<Split> = None;
        for central in 0..=self.central.depth() {
            if best.as_ref().is_some_and(|best| central as u64 > best.total()) {
                break;
            }
            let split = match target.measure() {
                Measure::Backorders => self.owing_at_most(central, value),
                Measure::DownTimeH => self.owing_at_most(central, value / HOURS_A_YEAR),
                Measure::NoStockOut => self.serving(central, value, 0),
                Measure::FillRate => self.serving(central, value, 1),
            };
            let Some(split) = split else { continue };
            let better = best.as_ref().is_none_or(|best| {
                (split.total(), split.backorders) < (best.total(), best.backorders * (1.0 - 1e-12))
            });
            if better {
                best = Some(split);
            }
        }
        best.ok_or(NetworkRefusal::Target(value))
    }

    fn owing_at_most(&self, central: usize, backorders: f64) -> Option<Split> {
        let mut gains = Vec::new();
        self.gains(central, &mut gains);
        let owed = self.owed_by_number(central, &gains);
        let pieces = owed.partition_point(|owed| *owed > backorders);
        (pieces < owed.len()).then(|| self.split_at(central, pieces))
    }

    /// The least stock of each store for a chance; `more` is 1 for the fill rate, which asks for a
    /// piece on the shelf.
    fn serving(&self, central: usize, chance: f64, more: u64) -> Option<Split> {
        let least = |above: &mut dyn Iterator<Item = f64>| {
            let short = above.take_while(|above| *above > 1.0 - chance).count() as u64;
            // No piece at all serves nobody at once.
            if chance == 0.0 { 0 } else { short + more }
        };
        let network = &self.network;
        if network.central_demand > 0.0 {
            let demand = &self.central.demand;
            let mut above = (0..self.central.depth() as u64).map(|x| demand.above(x));
            if least(&mut above) > central as u64 {
                return None;
            }
        }
        let stock_of = |(tails, site): (&super::waiting::Tails, &super::Site)| {
            if site.demand == 0.0 { 0 } else { least(&mut tails.row(central).iter().copied()) }
        };
        let sites: Vec<u64> = self.tails.iter().zip(&network.sites).map(stock_of).collect();
        Some(Split { central: central as u64, backorders: self.owed(central, &sites), sites })
    }

    /// What each piece in a store saves, the most first: the gains of one store fall, so the first
    /// `n` of all are the best `n` pieces.
    fn gains(&self, central: usize, gains: &mut Vec<f64>) {
        gains.clear();
        for tails in &self.tails {
            gains.extend(tails.row(central).iter().take_while(|gain| **gain > 0.0));
        }
        gains.sort_unstable_by(|a, b| b.total_cmp(a));
    }

    /// What is owed with 0, 1, 2 … pieces in the stores: what the others would have saved.
    fn owed_by_number(&self, central: usize, gains: &[f64]) -> Vec<f64> {
        let mut owed = vec![self.central_places(central); gains.len() + 1];
        let mut sum = owed[0];
        for (number, gain) in gains.iter().enumerate().rev() {
            sum += gain;
            owed[number] = sum;
        }
        owed
    }

    fn owed_after(&self, central: usize, pieces: usize, gains: &mut Vec<f64>) -> f64 {
        gains.clear();
        for tails in &self.tails {
            gains.extend(tails.row(central).iter().take_while(|gain| **gain > 0.0));
        }
        if pieces < gains.len() {
            // What is left out need not be in order.
            if pieces > 0 {
                gains.select_nth_unstable_by(pieces - 1, |a, b| b.total_cmp(a));
            }
            self.central_places(central) + gains[pieces..].iter().sum::<f64>()
        } else {
            self.central_places(central)
        }
    }

    /// Gives `pieces` to the stores, each to the one that it helps most, the earlier of equals.
    fn split_at(&self, central: usize, pieces: usize) -> Split {
        let mut gains: Vec<(f64, usize)> = Vec::new();
        for (site, tails) in self.tails.iter().enumerate() {
            let row = tails.row(central);
            let of_site = row.iter().take_while(|gain| **gain > 0.0);
            gains.extend(of_site.map(|gain| (*gain, site)));
        }
        gains.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let mut sites = vec![0u64; self.tails.len()];
        gains.iter().take(pieces).for_each(|(_, site)| sites[*site] += 1);
        // What helps nobody stays in the central store.
        let central_stock = (central + pieces.saturating_sub(gains.len())) as u64;
        Split { central: central_stock, backorders: self.owed(central, &sites), sites }
    }

    fn owed(&self, central: usize, stocks: &[u64]) -> f64 {
        let of_site = |(tails, stock): (&super::waiting::Tails, &u64)| {
            tails.row(central).iter().skip(*stock as usize).rev().sum::<f64>()
        };
        self.central_places(central) + self.tails.iter().zip(stocks).map(of_site).sum::<f64>()
    }
}
