//! Levels of a storeroom that fills others, and of those that it fills.

use super::spares_days::YEAR_D;
use super::spares_demand::Known;
use super::spares_level::Level;
use super::spares_stock::{ModelStock, RoomStock};
use slotkeep_domain::model::Model;
use slotkeep_domain::spares::{
    Echelons, NetworkRefusal, NetworkService, Reckoning, Service, Site, StoreService,
};

/// One model in a central storeroom and those that it fills, reckoned together.
pub(super) struct Network {
    asked: slotkeep_domain::spares::Network,
    /// Numbers of the filled storerooms among the rooms of the model.
    pub filled: Vec<usize>,
    pub now: NetworkService,
}

/// Days until a storeroom is filled up, where the register does not say (common practice, no
/// source).
pub(super) const UNKNOWN_RESUPPLY_D: u32 = 2;

/// Reckons the levels anew where the home storeroom fills others. None where it fills none; where
/// the figures cannot be reckoned with, each storeroom keeps its own level.
///
/// The home one orders for all: its lot is that of all demand, and its point the lowest that serves
/// with such lots.
pub(super) fn level(known: &Known<'_>, model: &Model, rooms: &mut [RoomStock]) -> Option<Network> {
    let held = known.facts.of(model.part_no.as_str());
    let (home, others) = rooms.split_first()?;
    let filled: Vec<usize> = (0..others.len())
        .filter(|at| others[*at].supplied_by.as_deref() == Some(home.storeroom.as_str()))
        .map(|at| at + 1)
        .collect();
    if filled.is_empty() {
        return None;
    }
    let asked = network(known, rooms, &filled);
    let echelons = Echelons::of(&asked, None).ok()?;
    let split = echelons.least(rooms[0].leveled.target).ok()?;
    let chosen = |room: &RoomStock| {
        held.choice(&room.storeroom).is_some_and(|choice| choice.level.is_some())
    };
    let mut stocks = Vec::with_capacity(filled.len());
    for (at, level) in filled.iter().zip(&split.sites) {
        let room = &mut rooms[*at];
        if !chosen(room) {
            room.level = Level { reorder_at: *level as i64 - 1, order_up_to: *level };
        }
        stocks.push(room.level.order_up_to);
    }
    let there: u64 = rooms.iter().map(|room| u64::from(room.shelf.usable + room.on_order)).sum();
    let all = known.site(model).ok()?;
    let home = &mut rooms[0];
    home.leveled.order_for_all(known, model, all, there).ok()?;
    if !chosen(home) {
        let lot = home.leveled.lot.as_ref().map_or(1, |lot| lot.quantity.max(1));
        let target = home.leveled.target;
        let point = echelons.point_in_lots(split.central, lot, &split.sites, target).ok()?;
        let order_up_to = u64::try_from(point + lot as i64).unwrap_or(0);
        home.level = Level { reorder_at: point, order_up_to };
        home.leveled.name_policy(home.level);
    }
    let at_level = kept(&echelons, rooms[0].level, &stocks).ok()?;
    let present: Vec<u64> = filled.iter().map(|at| rooms[*at].position()).collect();
    let now = echelons.service(rooms[0].position(), &present).ok()?;
    for (number, at) in filled.iter().enumerate() {
        rooms[*at].now = service(&now.sites[number]);
        rooms[*at].at_level = service(&at_level.sites[number]);
    }
    rooms[0].now = central_service(&now);
    rooms[0].at_level = central_service(&at_level);
    Some(Network { asked, filled, now })
}

/// The service of levels that are kept. Lots of the central storeroom are means over time, but for
/// no stock-out, which is that of a lead time that begins at the point.
fn kept(
    echelons: &Echelons,
    home: Level,
    stocks: &[u64],
) -> Result<NetworkService, NetworkRefusal> {
    let lot = i128::from(home.order_up_to) - i128::from(home.reorder_at);
    if lot <= 1 {
        return echelons.service(home.order_up_to, stocks);
    }
    let point = u64::try_from(home.reorder_at).unwrap_or(0);
    let mut mean = echelons.service_in_lots(point, u64::try_from(lot).unwrap_or(1), stocks)?;
    let from = echelons.service(point, stocks)?;
    mean.central.no_stock_out = from.central.no_stock_out;
    for (site, from) in mean.sites.iter_mut().zip(&from.sites) {
        site.no_stock_out = from.no_stock_out;
    }
    Ok(mean)
}

pub(super) fn network(
    known: &Known<'_>,
    rooms: &[RoomStock],
    filled: &[usize],
) -> slotkeep_domain::spares::Network {
    let daily = |room: &RoomStock| room.demand.yearly() / YEAR_D;
    let site = |at: &usize| {
        let room = &rooms[*at];
        let storeroom = known.facts.serving.get(&room.storeroom);
        let resupply_d = storeroom.and_then(|storeroom| storeroom.resupply_d);
        Site {
            demand: daily(room),
            repaired_here: 0.0,
            repair_time: 0.0,
            order_time: f64::from(resupply_d.unwrap_or(UNKNOWN_RESUPPLY_D)),
            stock: room.position(),
        }
    };
    let home = &rooms[0];
    slotkeep_domain::spares::Network {
        sites: filled.iter().map(site).collect(),
        central_demand: daily(home),
        central_stock: home.position(),
        central_time: home.demand.cover_d(),
        rate_shape: shape(home),
    }
}

/// The gamma shape of the rate, by which demand spreads more than Poisson.
fn shape(home: &RoomStock) -> Option<f64> {
    if let Some(belief) = home.demand.belief {
        return Some(belief.shape.clamp(0.01, 1e6));
    }
    let (mean, variance) = (home.leveled.lead.pmf.mean(), home.leveled.lead.pmf.variance());
    (variance > mean * 1.000_001).then(|| (mean * mean / (variance - mean)).clamp(0.01, 1e6))
}

fn service(of: &StoreService) -> Service {
    Service {
        no_stock_out: of.no_stock_out,
        fill_rate: of.fill_rate,
        backorders: of.backorders,
        down_time_h: of.down_time_h,
        on_hand: (of.stock as f64 - of.on_way + of.backorders).max(0.0),
    }
}

/// What the central storeroom owes to places; what it owes to a storeroom is that one's affair.
fn central_service(of: &NetworkService) -> Service {
    let central = service(&of.central);
    Service {
        backorders: of.central_places,
        down_time_h: of.central_places * 24.0 * 365.0,
        ..central
    }
}

/// The word for a reckoning.
pub(super) fn word(reckoning: Reckoning) -> &'static str {
    match reckoning {
        Reckoning::Exact => "exact",
        Reckoning::VariMetric => "vari_metric",
        Reckoning::Metric => "metric",
    }
}

impl Network {
    /// The chances that its figures are read off. They are a hundred times as large as all else that
    /// is known of a model, and made in less than a millisecond, so they are not kept.
    pub fn echelons(&self) -> Result<Echelons, NetworkRefusal> {
        Echelons::of(&self.asked, None)
    }

    /// The service of one storeroom at each stock, while the others keep what they have.
    pub fn by_stock(&self, stock: &ModelStock, room: &RoomStock, most: u64) -> Vec<(u64, Service)> {
        let mut stocks: Vec<u64> = self.now.sites.iter().map(|site| site.stock).collect();
        let central = self.now.central.stock;
        let number = self.filled.iter().position(|at| stock.rooms[*at].storeroom == room.storeroom);
        let mut by_stock = Vec::new();
        let Ok(echelons) = self.echelons() else { return by_stock };
        for pieces in 0..=most {
            let served = match number {
                Some(number) => {
                    stocks[number] = pieces;
                    echelons.service(central, &stocks)
                }
                None => echelons.service(pieces, &stocks),
            };
            let Ok(served) = served else { break };
            by_stock.push((
                pieces,
                number.map_or_else(|| central_service(&served), |at| service(&served.sites[at])),
            ));
        }
        by_stock
    }
}
