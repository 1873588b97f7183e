//! What a projection starts from: shelf, orders, repairs, and the way of ordering.

use super::spares_days::YEAR_D;
use super::spares_demand::Known;
use super::spares_echelon::UNKNOWN_RESUPPLY_D;
use super::spares_facts::Facts;
use super::spares_level::limits_of_purchase;
use super::spares_resupply::Repair;
use super::spares_stock::RoomStock;
use slotkeep_domain::model::Model;
use slotkeep_domain::spares::{
    Arrival, BuyingLimits, LeadTime, ProjectionQuestion, RepairTime, ShelfLot,
};

/// Days after which a unit without a fault is back on the shelf (a decision, no source).
const NO_FAULT_BACK_D: f64 = 14.0;

/// What a projection starts from, owned.
pub(super) struct Start {
    pub shelf: Vec<ShelfLot>,
    pub on_order: Vec<Arrival>,
    harvest: Vec<Arrival>,
    pub lead_time: LeadTime,
    limits: BuyingLimits,
    shelf_life_d: Option<f64>,
    repair: Option<Repair>,
}

impl Start {
    pub fn of(known: &Known<'_>, model: &Model, room: &RoomStock) -> Self {
        let facts = known.facts;
        let held = facts.of(model.part_no.as_str());
        let mut reserved = room.shelf.reserved;
        let mut shelf = Vec::new();
        // What is reserved goes for its purpose, first expired first.
        for (until, lot) in &room.shelf.lots {
            let kept = reserved.min(*lot);
            reserved -= kept;
            let expires_d = until.map(|until| (until - facts.today).num_days() as f64 + 1.0);
            shelf.push(ShelfLot { pieces: (lot - kept).into(), expires_d });
        }
        let here = held.orders.iter().filter(|order| {
            order.storeroom == room.storeroom
                || (room.supplied_by.is_none()
                    && facts
                        .serving
                        .get(&order.storeroom)
                        .is_some_and(|other| facts.serving.is_free(other)))
        });
        let lead_d = room.demand.lead_time.mean_d;
        let mut on_order: Vec<Arrival> = here
            .map(|order| Arrival {
                day: order.due_on.map_or(lead_d, |due| (due - facts.today).num_days() as f64),
                pieces: order.outstanding().into(),
            })
            .collect();
        if let Some(repair) = room.demand.repair.filter(|_| room.repaired > 0) {
            // Nobody knows how far a repair is: half of its time is taken to be left.
            let day = repair.turn_round_d / 2.0;
            on_order.push(Arrival { day, pieces: room.repaired.into() });
        }
        let harvested = room.demand.harvested.iter();
        Self {
            shelf,
            on_order,
            harvest: harvested.map(|(day, n)| Arrival { day: *day, pieces: (*n).into() }).collect(),
            lead_time: lead_time(facts, room),
            limits: limits_of_purchase(model, room.supplied_by.is_some()),
            shelf_life_d: model.shelf_life().map(|years| years * YEAR_D),
            repair: room.demand.repair,
        }
    }

    /// The question of so many months ahead, as it is.
    pub fn question<'a>(&'a self, room: &'a RoomStock, months: u32) -> ProjectionQuestion<'a> {
        let demand = &room.demand;
        ProjectionQuestion {
            months,
            shelf: &self.shelf,
            owed: 0,
            on_order: &self.on_order,
            harvest: &self.harvest,
            rule: Some(room.level.rule()),
            limits: &self.limits,
            lead_time: self.lead_time,
            review_d: demand.review_d,
            shelf_life_d: self.shelf_life_d,
            repair: self.repair.map(|repair| RepairTime {
                turn_round_d: repair.turn_round_d,
                yield_share: repair.yield_share,
            }),
            no_fault_back_d: Some(NO_FAULT_BACK_D),
            failing: demand.failing(),
            no_fault_found: demand.no_fault_found,
            population: &demand.population,
            planned: &demand.planned,
            month: demand.month.as_ref(),
        }
    }
}

/// A storeroom that another one fills waits for that one only.
fn lead_time(facts: &Facts, room: &RoomStock) -> LeadTime {
    if room.supplied_by.is_none() {
        return room.demand.lead_time;
    }
    let storeroom = facts.serving.get(&room.storeroom);
    let days = storeroom.and_then(|storeroom| storeroom.resupply_d);
    let days = days.unwrap_or(UNKNOWN_RESUPPLY_D);
    LeadTime { mean_d: days.into(), deviation_d: 0.0 }
}
