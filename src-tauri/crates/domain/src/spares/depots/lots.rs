use super::echelons::NetworkService;
use super::{Echelons, LARGEST_STOCK, NetworkRefusal, StoreService};
use crate::spares::levels::{Measure, Target};

impl Echelons {
    /// Returns how the stores serve where the central store orders lots of `quantity` (taken as 1
    /// where it is 0) once its position comes down to `point`, all measures being means over time.
    ///
    /// Places ask for one piece at a time, so the position is uniform on `point` + 1 to `point` +
    /// `quantity`, and does not depend on what the lead time brings: each figure is the mean of those
    /// with so many pieces in the central store. Its stock is told as that of a full position.
    ///
    /// Fails as [`Echelons::service`] does.
    ///
    /// Source: uniform positions of (r, Q), Hadley and Whitin 1963; for two echelons Axsäter 2015,
    /// Inventory Control, 3rd ed., chapter 10, from memory.
    pub fn service_in_lots(
        &self,
        point: u64,
        quantity: u64,
        stocks: &[u64],
    ) -> Result<NetworkService, NetworkRefusal> {
        let quantity = quantity.clamp(1, LARGEST_STOCK);
        let first = point.saturating_add(1);
        // More than is ever on its way serves no better, so the rest of the positions are alike.
        let apart = (self.central.depth() as u64 + 1).saturating_sub(first).clamp(1, quantity);
        let mut mean = self.service(first, stocks)?;
        for number in 1..apart {
            let next = self.service(first + number, stocks)?;
            mean = mean.with(&next, 1.0 / (number + 1) as f64);
        }
        if quantity > apart {
            let full = self.service(point.saturating_add(quantity), stocks)?;
            mean = mean.with(&full, (quantity - apart) as f64 / quantity as f64);
        }
        mean.central.stock = point.saturating_add(quantity);
        Ok(mean)
    }

    /// Returns the lowest point at which lots of `quantity` in the central store meet a target with
    /// these stocks in the stores, as a shelf is kept: lots are ordered at 0 at the latest, and no
    /// stock-out is that of a lead time which begins at the point. One below `central`, from which
    /// on single pieces meet the target, is always enough for the other measures.
    ///
    /// Fails as [`Echelons::service`] does.
    pub fn point_in_lots(
        &self,
        central: u64,
        quantity: u64,
        stocks: &[u64],
        target: Target,
    ) -> Result<i64, NetworkRefusal> {
        let single = i64::try_from(central).unwrap_or(i64::MAX) - 1;
        if quantity <= 1 {
            return Ok(single);
        }
        if target.measure() == Measure::NoStockOut {
            return Ok(single + 1);
        }
        let (mut low, mut high) = (0, central.saturating_sub(1));
        while low < high {
            let middle = low + (high - low) / 2;
            if self.meets(target, &self.service_in_lots(middle, quantity, stocks)?) {
                high = middle;
            } else {
                low = middle + 1;
            }
        }
        Ok(i64::try_from(high).unwrap_or(i64::MAX))
    }

    /// Whether a service meets a target: pieces owed and hours over all places, a share in every
    /// store that is asked for anything.
    fn meets(&self, target: Target, service: &NetworkService) -> bool {
        let slack = 1e-12;
        let asked = |number: usize| self.network.sites[number].demand > 0.0;
        let share = |of: fn(&StoreService) -> f64| {
            let sites = service.sites.iter().enumerate().filter(|(number, _)| asked(*number));
            let own = (self.network.central_demand > 0.0).then_some(&service.central);
            sites.map(|(_, site)| site).chain(own).all(|it| of(it) >= target.value() - slack)
        };
        match target.measure() {
            Measure::NoStockOut => share(|it| it.no_stock_out),
            Measure::FillRate => share(|it| it.fill_rate),
            Measure::Backorders => service.backorders <= target.value() + slack,
            Measure::DownTimeH => service.down_time_h <= target.value() + slack,
        }
    }
}

impl NetworkService {
    /// The mean of two services, `share` of it being the other one's.
    fn with(&self, other: &Self, share: f64) -> Self {
        let mean = |a: f64, b: f64| a + share * (b - a);
        let store = |a: &StoreService, b: &StoreService| StoreService {
            stock: a.stock,
            on_way: mean(a.on_way, b.on_way),
            no_stock_out: mean(a.no_stock_out, b.no_stock_out),
            fill_rate: mean(a.fill_rate, b.fill_rate),
            backorders: mean(a.backorders, b.backorders),
            down_time_h: mean(a.down_time_h, b.down_time_h),
        };
        Self {
            reckoning: self.reckoning,
            central: store(&self.central, &other.central),
            central_places: mean(self.central_places, other.central_places),
            sites: self.sites.iter().zip(&other.sites).map(|(a, b)| store(a, b)).collect(),
            backorders: mean(self.backorders, other.backorders),
            down_time_h: mean(self.down_time_h, other.down_time_h),
        }
    }
}
