//! What there is of a model in each storeroom, against its level there.

use super::battery_demand::Demand;
use super::spares_demand::{Known, Share, StoreDemand, day_after};
use super::spares_echelon::{self, Network};
use super::spares_facts::{Facts, Held, Shelf};
use super::spares_level::{Level, Leveled};
use crate::Failure;
use chrono::NaiveDate;
use slotkeep_domain::model::Model;
use slotkeep_domain::spares::{Pmf, Service, Standing};

/// A model in all storerooms that have to do with it.
pub(super) struct ModelStock {
    /// There is nothing of it, and nothing asked for it yet.
    pub idle: bool,
    pub home: String,
    /// The home storeroom first.
    pub rooms: Vec<RoomStock>,
    /// Central storeroom and those that it fills, where there are such.
    pub network: Option<Network>,
    /// Storerooms whose pieces are counted for the home one.
    pub counted: Vec<String>,
}

/// A model in one storeroom.
pub(super) struct RoomStock {
    pub storeroom: String,
    /// The storeroom that fills it; none: from outside.
    pub supplied_by: Option<String>,
    pub demand: StoreDemand,
    pub leveled: Leveled,
    pub level: Level,
    pub shelf: Shelf,
    pub too_old: u32,
    pub on_order: u32,
    pub planned: u32,
    pub harvested: u32,
    /// Of the units away for repair, those that are expected back.
    pub repaired: u32,
    pub now: Service,
    pub at_level: Service,
}

impl RoomStock {
    /// Pieces that count against the level.
    pub fn standing(&self) -> Standing {
        let usable = self.shelf.usable.saturating_sub(self.shelf.reserved);
        Standing {
            usable: usable.saturating_sub(self.too_old).into(),
            on_order: (self.on_order + self.harvested + self.repaired).into(),
            planned: self.planned.into(),
            ..Standing::default()
        }
    }

    /// The same less what is planned; nothing where that is more.
    pub fn position(&self) -> u64 {
        u64::try_from(self.standing().position()).unwrap_or(0)
    }
}

impl ModelStock {
    /// A model over its storerooms; none where there is no storeroom.
    pub fn of(known: &Known<'_>, model: &Model) -> Result<Option<Self>, Failure> {
        let facts = known.facts;
        let part_no = model.part_no.as_str();
        let held = facts.of(part_no);
        let pieces = |room: &str| {
            let shelf = held.shelf(room);
            shelf.usable + shelf.not_usable
        };
        let Some(home) = facts.serving.home(pieces) else { return Ok(None) };
        let mut rooms = Vec::new();
        let mut counted = Vec::new();
        for room in &facts.serving.storerooms {
            let has = held.shelves.contains_key(&room.code) || held.on_order(&room.code) > 0;
            if room.code != home && facts.serving.is_free(room) {
                if has {
                    counted.push(room.code.clone());
                }
                continue;
            }
            let demand = StoreDemand::of(known, model, Share::Room { storeroom: &room.code, home });
            if room.code == home || has || demand.yearly() > 0.0 {
                rooms.push((room, demand));
            }
        }
        let mut stocked = Vec::new();
        for (room, demand) in rooms {
            let at_home = room.code == home;
            let also = if at_home { counted.as_slice() } else { &[] };
            let supplied_by = room.supplied_by.clone().filter(|_| !at_home);
            let buys = supplied_by.is_none();
            let leveled = Leveled::of(known, model, &room.code, &demand, buys)?;
            stocked.push(stocked_room(facts, held, &room.code, also, demand, leveled, supplied_by));
        }
        stocked.sort_by_key(|room| room.storeroom != home);
        let network = spares_echelon::level(known, model, &mut stocked);
        Ok(Some(Self {
            idle: held.is_idle(),
            home: home.to_owned(),
            rooms: stocked,
            network,
            counted,
        }))
    }

    pub fn room(&self, storeroom: &str) -> Option<&RoomStock> {
        self.rooms.iter().find(|room| room.storeroom == storeroom)
    }

    /// The storerooms that a storeroom orders for besides itself: those that it fills.
    pub fn filled_by<'s>(
        &'s self,
        room: &RoomStock,
    ) -> impl Iterator<Item = &'s RoomStock> + use<'s> {
        let at_home = room.storeroom == self.home;
        let network = self.network.as_ref().filter(|_| at_home);
        network.into_iter().flat_map(|network| &network.filled).map(|at| &self.rooms[*at])
    }

    /// What there is and what is to be held where a storeroom orders from outside. What lies in the
    /// storerooms that it fills counts, and so does what they are to hold: an order is for all.
    pub fn ordering(&self, room: &RoomStock) -> (Standing, Level) {
        let (mut standing, mut level) = (room.standing(), room.level);
        for filled in self.filled_by(room) {
            let there = filled.standing();
            standing.usable += there.usable;
            standing.on_order += there.on_order;
            let hold = filled.level.order_up_to;
            level.order_up_to += hold;
            level.reorder_at += i64::try_from(hold).unwrap_or(i64::MAX);
        }
        (standing, level)
    }

    /// What is asked for in a lead time where a storeroom orders from outside.
    pub fn asked_for(
        &self,
        known: &Known<'_>,
        model: &Model,
        room: &RoomStock,
    ) -> Result<Pmf, Failure> {
        let filled: Vec<&RoomStock> = self.filled_by(room).collect();
        if filled.is_empty() {
            return Ok(room.leveled.lead.pmf.clone());
        }
        if filled.len() + 1 == self.rooms.len() {
            return Ok(known.site(model)?.in_resupply(model)?.pmf.clone());
        }
        let own = room.leveled.lead.pmf.clone();
        Ok(filled.iter().fold(own, |sum, room| sum.plus(&room.leveled.lead.pmf)))
    }
}

fn stocked_room(
    facts: &Facts,
    held: &Held,
    storeroom: &str,
    also: &[String],
    demand: StoreDemand,
    leveled: Leveled,
    supplied_by: Option<String>,
) -> RoomStock {
    let mut shelf = held.shelf(storeroom);
    let mut on_order = held.on_order(storeroom);
    for other in also {
        let there = held.shelf(other);
        shelf.usable += there.usable;
        shelf.not_usable += there.not_usable;
        shelf.reserved += there.reserved;
        shelf.lots.extend(there.lots);
        on_order += held.on_order(other);
    }
    shelf.lots.sort_unstable_by_key(|(until, _)| until.unwrap_or(NaiveDate::MAX));
    let order_d = demand.order_d();
    let horizon = day_after(facts.today, order_d).unwrap_or(NaiveDate::MAX);
    let changes = if demand.planned.is_empty() { &[] } else { held.changes.as_slice() };
    let level = leveled.level;
    let back = |yield_share: f64| (f64::from(held.in_repair) * yield_share).floor() as u32;
    let repaired = demand.repair.filter(|_| supplied_by.is_none());
    let mut room = RoomStock {
        storeroom: storeroom.to_owned(),
        supplied_by,
        too_old: too_old(&shelf, changes, horizon),
        planned: demand.planned_until(order_d),
        harvested: demand.harvested_until(order_d),
        repaired: repaired.map_or(0, |repair| back(repair.yield_share)),
        at_level: leveled.at_level,
        now: leveled.service(0),
        shelf,
        on_order,
        demand,
        leveled,
        level,
    };
    room.now = room.leveled.service(room.position());
    room
}

/// Pieces that may be handed out today, but whose shelf date passes before they are wanted: first
/// expired, first out, for the planned changes in turn.
fn too_old(shelf: &Shelf, changes: &[Demand], horizon: NaiveDate) -> u32 {
    let mut left: Vec<(NaiveDate, u32)> = shelf
        .lots
        .iter()
        .map(|(until, pieces)| (until.unwrap_or(NaiveDate::MAX), *pieces))
        .collect();
    for demand in changes.iter().filter(|demand| demand.on <= horizon) {
        let mut pieces = demand.pieces;
        for (_, held) in left.iter_mut().filter(|(until, _)| *until >= demand.on) {
            let taken = pieces.min(*held);
            *held -= taken;
            pieces -= taken;
        }
    }
    left.iter().filter(|(until, _)| *until < horizon).map(|(_, held)| held).sum()
}
