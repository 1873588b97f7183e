//! Figures of spares with what they were reckoned from, as lines that open down to the register.

use super::spares_days::YEAR_D;
use super::spares_demand::StoreDemand;
use super::spares_level::Leveled;
use super::spares_opened_rate::learned;
use super::spares_rate::Rate;
use super::spares_stock::{ModelStock, RoomStock};
use super::spares_sums::{given, money, sum};
use crate::wire::spares::{SpareLine, SumLine};
use slotkeep_domain::spares::{DemandKind, LimitedBy};

/// What to order, down to demand, level and stock.
pub(super) fn room(
    stock: &ModelStock,
    room: &RoomStock,
    rate: Option<&Rate>,
    line: Option<&SpareLine>,
) -> SumLine {
    let (standing, order_level) = match room.supplied_by {
        None => stock.ordering(room),
        Some(_) => (room.standing(), room.level),
    };
    let own = room.standing();
    let elsewhere = (standing.usable + standing.on_order) - (own.usable + own.on_order);
    let (stand_ins, instead) = line.map_or((0, 0), |it| (it.stand_ins, it.held_instead));
    let position = standing.position() as f64 + f64::from(stand_ins) - f64::from(instead);
    let shelf = &room.shelf;
    let there = vec![
        given("Usable on the shelf", shelf.usable, "pieces"),
        given("Reserved", -f64::from(shelf.reserved), "pieces"),
        given("Too old before they are wanted", -f64::from(room.too_old), "pieces"),
        given("On order", room.on_order, "pieces"),
        given("Set free by planned removals in time", room.harvested, "pieces"),
        given("Expected back from repair", room.repaired, "pieces"),
        given("Planned until an order is there", -f64::from(room.planned), "pieces"),
        given("In the storerooms that are filled from here", elsewhere as f64, "pieces"),
        given("Free pieces of stand-ins that count", stand_ins, "pieces"),
        given("Held in place of models that are no longer sold", -f64::from(instead), "pieces"),
    ];
    let there = there.into_iter().filter(|line| line.value != Some(0.0)).collect();
    let target = room.leveled.target;
    let mut under = vec![
        given(&capital(target.measure().words()), target.value(), ""),
        given("Order when it comes down to", order_level.reorder_at as f64, "pieces"),
    ];
    under.extend(lot(&room.leveled));
    under.push(demand(room, rate));
    let level = sum(
        "Level",
        order_level.order_up_to as f64,
        "pieces",
        "the least stock that gives the wanted service, and the lot on top, for all storerooms that \
         are ordered for together",
        under,
    );
    let there = sum(
        "What is there",
        position,
        "pieces",
        "usable and coming, less what is kept and what is planned",
        there,
    );
    let lacking = order_level.order_up_to as f64 - position;
    sum(
        &format!("Lacking in {}", room.storeroom),
        lacking.max(0.0),
        "pieces",
        "the level less what is there",
        vec![
            level,
            there,
            service("Now", room, room.position()),
            service("At the level", room, room.level.order_up_to),
        ],
    )
}

/// The lot, down to the costs that it weighs and what bounds it.
fn lot(leveled: &Leveled) -> Option<SumLine> {
    let lot = leveled.lot.as_ref()?;
    let mut parts = vec![
        given("Asked for a year", lot.pieces_a_y, "pieces"),
        given("Orders a year", lot.orders_a_y, ""),
        money("An order costs", lot.terms.order_cost_cents.round() as i64, "", Vec::new()),
        given("A piece on the shelf costs a year", lot.terms.holding_pct_a, "% of its price"),
        money("A piece costs, so many at once", lot.price_cents, "", Vec::new()),
    ];
    let bounds = leveled.lot_bounds();
    let without = bounds.iter().map(|bound| (bound_words(bound.by), bound.without as f64));
    parts.extend(without.map(|(words, lot)| given(&format!("Lot without {words}"), lot, "pieces")));
    let why = leveled.why_lot();
    let rule = why.unwrap_or_else(|| "single pieces cost least, orders and shelf together".into());
    Some(sum("Lot", lot.quantity as f64, "pieces", &rule, parts))
}

fn bound_words(by: LimitedBy) -> String {
    match by {
        LimitedBy::MinOrder(least) => format!("the least order of {least}"),
        LimitedBy::PackSize(pack) => format!("packs of {pack}"),
        LimitedBy::ShelfLife(most) => format!("a shelf date, before which {most} are used"),
        LimitedBy::Waste(pieces) => format!("a shelf date, past which {pieces} may go"),
        LimitedBy::PriceBreak { from, .. } => format!("the price from {from} pieces on"),
    }
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn service(what: &str, room: &RoomStock, stock: u64) -> SumLine {
    let service = if what == "Now" { &room.now } else { &room.at_level };
    let backorders = sum(
        "Owed at a moment",
        service.backorders,
        "pieces",
        "the mean of what demand exceeds the stock by",
        vec![given("Stock", stock as f64, "pieces")],
    );
    sum(
        &format!("Probability of no stock-out, {}", what.to_lowercase()),
        100.0 * service.no_stock_out,
        "%",
        "the chance that demand stays within the stock until it is filled up; the other measures \
         are other numbers",
        vec![
            given("Stock", stock as f64, "pieces"),
            given("Served at once (fill rate)", 100.0 * service.fill_rate, "% of demands"),
            sum(
                "Places stand empty",
                service.down_time_h,
                "h a year",
                "pieces owed on average times 8760 h",
                vec![backorders],
            ),
        ],
    )
}

/// The demand that the level covers.
pub(super) fn demand(room: &RoomStock, rate: Option<&Rate>) -> SumLine {
    let lead = &room.leveled.lead;
    let mut parts: Vec<SumLine> = lead
        .parts
        .iter()
        .map(|part| {
            let (what, rule) = match part.kind {
                DemandKind::Failures => {
                    ("Failures", "unit-hours weighted by heat times the failure rate")
                }
                DemandKind::WearOut => {
                    ("Failures by age", "renewals of an ageing population by the life learned")
                }
                DemandKind::NoFaultFound => {
                    ("Removals without a fault", "unit-hours times their rate")
                }
                DemandKind::Planned => ("Planned", "known pieces"),
                DemandKind::Consumption => ("Handed out", "the forecast of a month times months"),
            };
            let mut under = vec![given("Variance", part.variance, "")];
            if part.kind == DemandKind::Failures {
                under.push(given("Unit-hours weighted by heat", lead.weighted_h, "h"));
                under.extend(rate.and_then(|rate| rate.learned.as_ref().ok()).map(learned));
            }
            sum(what, part.mean, "pieces", rule, under)
        })
        .collect();
    parts.push(resupply(&room.demand));
    sum(
        "Demand until it is filled up again",
        lead.pmf.mean(),
        "pieces",
        "the sum of these; its whole distribution is used, not the mean alone",
        parts,
    )
}

fn resupply(demand: &StoreDemand) -> SumLine {
    let lead_time = vec![
        given("Lead time", demand.lead_time.mean_d, "days"),
        given("Spread of the lead time", demand.lead_time.deviation_d, "days"),
    ];
    let (rule, mut parts) = match demand.repair {
        None => ("the lead time, and the wait for the next review", lead_time),
        Some(repair) => {
            let mut parts = lead_time;
            parts.push(given("Turn-round of a repair", repair.turn_round_d, "days"));
            parts.push(given("Share that comes back", 100.0 * repair.yield_share, "%"));
            ("turn-round for what comes back and lead time for the rest, by their shares", parts)
        }
    };
    if demand.review_d > 0.0 {
        parts.push(given("Days between two reviews", demand.review_d, "days"));
    }
    sum("Time to cover", demand.cover_d(), "days", rule, parts)
}

/// Demand of a year.
pub(super) fn yearly(demand: &StoreDemand) -> SumLine {
    sum(
        "Demand a year",
        demand.yearly() + f64::from(demand.planned_until(YEAR_D)),
        "pieces",
        "random and planned",
        vec![
            given("At random", demand.yearly(), "pieces"),
            given("Planned", demand.planned_until(YEAR_D), "pieces"),
        ],
    )
}
