//! A central storeroom and those that it fills: what lies where, and what would lie there best.

use super::spares_days::YEAR_D;
use super::spares_demand::Known;
use super::spares_echelon::{self, Network};
use super::spares_known::Gathered;
use super::spares_line::pieces as whole;
use super::spares_projection::stock_of;
use super::spares_stock::{ModelStock, RoomStock};
use super::spares_sums::{given, sum};
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::spares_stores::{
    EchelonCentral, EchelonReckoning, EchelonStoreroom, EchelonTotal, EchelonsInput, EchelonsReply,
};
use slotkeep_domain::model::Model;
use slotkeep_domain::spares::{Echelons, NetworkRefusal, NetworkService, Reckoning};

pub(super) fn commands() -> Vec<Command> {
    vec![table::ask(
        "spares.stores",
        "Splits the spares of a model over the central storeroom and those that it fills.",
        stores,
    )]
}

fn stores(ask: &Ask<'_>, input: EchelonsInput) -> Result<EchelonsReply, Failure> {
    ask.read(|r| {
        let gathered = Gathered::of(ask, r)?;
        let known = gathered.known();
        let model = known.facts.model(&input.model)?;
        let stock = stock_of(&known, model)?;
        let Some(network) = &stock.network else {
            return Err(Failure::refused(format!(
                "no storeroom that another one fills serves {}: say in stores.csv which storeroom \
                 is supplied by which, and which areas it serves",
                model.part_no
            )));
        };
        let refused = |no: NetworkRefusal| Failure::refused(format!("{}: {no}", model.part_no));
        let echelons = network.echelons().map_err(refused)?;
        let split = Split { known: &known, model, stock, network, echelons };
        split.reply(input.pieces).map_err(refused)
    })
}

struct Split<'a> {
    known: &'a Known<'a>,
    model: &'a Model,
    stock: &'a ModelStock,
    network: &'a Network,
    echelons: Echelons,
}

impl Split<'_> {
    fn reply(&self, asked: Option<u32>) -> Result<EchelonsReply, NetworkRefusal> {
        let echelons = &self.echelons;
        let now = &self.network.now;
        let there: u64 = now.central.stock + now.sites.iter().map(|site| site.stock).sum::<u64>();
        let total = asked.map_or(there, u64::from);
        let best = echelons.best_split(total)?;
        let after = echelons.service(best.central, &best.sites)?;
        let rules = &self.known.facts.rules;
        let stocks: Vec<u64> = now.sites.iter().map(|site| site.stock).collect();
        let with_loans = match rules.lateral {
            false => None,
            true => {
                let days = f64::from(rules.lateral_d);
                Some(echelons.with_loans(now.central.stock, &stocks, days)?)
            }
        };
        let rooms = self.network.filled.iter().map(|at| &self.stock.rooms[*at]);
        let storerooms =
            rooms.enumerate().map(|(at, room)| self.storeroom(at, room, now, &after)).collect();
        let home = &self.stock.rooms[0];
        let message = self.message(there, total, now, &after);
        Ok(EchelonsReply {
            model: self.model.part_no.to_string(),
            model_title: self.model.title.clone(),
            central: EchelonCentral {
                storeroom: home.storeroom.clone(),
                demand_a: self.asked_centrally(),
                own_demand_a: home.demand.yearly(),
                lead_time_d: home.demand.cover_d(),
                stock: whole(now.central.stock),
                best: whole(best.central),
                level: whole(home.level.order_up_to),
                backorders: now.central.backorders,
                backorders_best: after.central.backorders,
            },
            storerooms,
            reckoning: spares_echelon::word(echelons.reckoning()).to_owned(),
            lateral: rules.lateral,
            backorders_with_loans: with_loans.map(|loans| loans.backorders),
            total_now: self.total(there, now),
            total_best: self.total(total, &after),
            by_reckoning: self.by_reckoning(&stocks)?,
            sum: vec![self.opened(now, &after)],
            message,
        })
    }

    fn asked_centrally(&self) -> f64 {
        self.stock.rooms.iter().map(|room| room.demand.yearly()).sum()
    }

    fn storeroom(
        &self,
        at: usize,
        room: &RoomStock,
        now: &NetworkService,
        after: &NetworkService,
    ) -> EchelonStoreroom {
        let storeroom = self.known.facts.serving.get(&room.storeroom);
        let resupply_d = storeroom
            .and_then(|storeroom| storeroom.resupply_d)
            .unwrap_or(spares_echelon::UNKNOWN_RESUPPLY_D);
        let yearly = room.demand.yearly();
        let (now, after) = (&now.sites[at], &after.sites[at]);
        // Little's law: pieces on their way over pieces a day.
        let effective = if yearly > 0.0 { now.on_way * YEAR_D / yearly } else { 0.0 };
        EchelonStoreroom {
            storeroom: room.storeroom.clone(),
            areas: storeroom.map(|storeroom| storeroom.areas.clone()).unwrap_or_default(),
            installed: room.demand.population.units.round() as u32,
            demand_a: yearly,
            resupply_d: resupply_d.into(),
            effective_d: effective,
            stock: whole(now.stock),
            best: whole(after.stock),
            level: whole(room.level.order_up_to),
            no_stock_out: now.no_stock_out,
            fill_rate: now.fill_rate,
            backorders: now.backorders,
            backorders_best: after.backorders,
            down_time_h: now.down_time_h,
            down_time_best_h: after.down_time_h,
        }
    }

    fn places(&self) -> f64 {
        self.stock.rooms.iter().map(|room| room.demand.population.units).sum()
    }

    fn total(&self, pieces: u64, service: &NetworkService) -> EchelonTotal {
        let places = self.places();
        EchelonTotal {
            pieces: whole(pieces),
            backorders: service.backorders,
            down_time_h: service.down_time_h,
            availability: if places > 0.0 {
                (1.0 - service.backorders / places).max(0.0)
            } else {
                1.0
            },
        }
    }

    /// The same stocks by each reckoning, the approximations beside what is shown. Exact tables
    /// that are too large are not made for a comparison either.
    fn by_reckoning(&self, stocks: &[u64]) -> Result<Vec<EchelonReckoning>, NetworkRefusal> {
        let network = spares_echelon::network(self.known, &self.stock.rooms, &self.network.filled);
        let shown = &self.echelons;
        let central = self.network.now.central.stock;
        let mut lines = Vec::new();
        for reckoning in [Reckoning::Exact, Reckoning::VariMetric, Reckoning::Metric] {
            let service = match reckoning {
                _ if reckoning == shown.reckoning() => shown.service(central, stocks)?,
                Reckoning::Exact => continue,
                _ => Echelons::of(&network, Some(reckoning))?.service(central, stocks)?,
            };
            lines.push(EchelonReckoning {
                reckoning: spares_echelon::word(reckoning).to_owned(),
                backorders: service.backorders,
                message: meaning(reckoning).to_owned(),
            });
        }
        Ok(lines)
    }

    fn opened(&self, now: &NetworkService, after: &NetworkService) -> crate::wire::spares::SumLine {
        let mut parts = vec![given(
            "Owed by the central storeroom to its own places",
            now.central_places,
            "pieces",
        )];
        for (room, served) in self.network.filled.iter().zip(&now.sites) {
            let room = &self.stock.rooms[*room];
            parts.push(sum(
                &format!("Owed in {}", room.storeroom),
                served.backorders,
                "pieces",
                "the mean of what is on its way beyond the stock",
                vec![
                    given("Stock", served.stock as f64, "pieces"),
                    given("On its way on average", served.on_way, "pieces"),
                    given("Demand a year", room.demand.yearly(), "pieces"),
                ],
            ));
        }
        parts.push(given("The same with the best split", after.backorders, "pieces"));
        sum(
            "Places that stand empty, on average",
            now.backorders,
            "pieces owed",
            "over all storerooms",
            parts,
        )
    }

    fn message(
        &self,
        there: u64,
        total: u64,
        now: &NetworkService,
        after: &NetworkService,
    ) -> String {
        let how = reckoned(self.echelons.reckoning());
        if total == there && after.backorders >= now.backorders * (1.0 - 1e-9) {
            return format!(
                "the {total} pieces lie as well as they can: {:.1} h a year of empty places \
                 ({how})",
                now.down_time_h
            );
        }
        format!(
            "{total} pieces in the best split leave {:.1} h a year of empty places; the {there} \
             that are there, as they lie, {:.1} h ({how})",
            after.down_time_h, now.down_time_h
        )
    }
}

/// By which reckoning the figures are, and why where they are not exact.
fn reckoned(by: Reckoning) -> &'static str {
    match by {
        Reckoning::Exact => "reckoned exactly",
        Reckoning::VariMetric => {
            "reckoned by VARI-METRIC, an approximation, since the exact tables would be too large"
        }
        Reckoning::Metric => "reckoned by METRIC, an approximation",
    }
}

fn meaning(of: Reckoning) -> &'static str {
    match of {
        Reckoning::Exact => {
            "each piece that the central storeroom owes belongs to a storeroom by chance (Graves \
             1985)"
        }
        Reckoning::VariMetric => "mean and variance of the pieces on their way (VARI-METRIC)",
        Reckoning::Metric => {
            "the mean alone (METRIC): too low where the central storeroom is short"
        }
    }
}
