//! The level of a model in a storeroom: which policy, which target, what service it gives.

use super::spares_demand::{Known, Source, StoreDemand};
use super::spares_facts::Held;
use crate::{Failure, FailureKind};
use slotkeep_domain::model::Model;
use slotkeep_domain::place::{self, Criticality};
use slotkeep_domain::spares::{
    BuyingLimits, LeadDemand, Measure, OrderRule, PriceBreak, Prices, Service, Target, ToCover,
    lot_at_breaks, used_before_expiry,
};

/// How sure it must be that a piece is used before its shelf date (a decision, no source).
const USED_IN_TIME: f64 = 0.9;

/// Largest lot that is proposed, pieces.
const LARGEST_LOT: u64 = 10_000;

/// When to order and up to how many.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Level {
    pub reorder_at: i64,
    pub order_up_to: u64,
}

impl Level {
    pub fn rule(self) -> OrderRule {
        OrderRule::UpTo { point: self.reorder_at, up_to: self.order_up_to }
    }

    fn lot(self) -> u64 {
        let up_to = i64::try_from(self.order_up_to).unwrap_or(i64::MAX);
        u64::try_from(up_to - self.reorder_at).unwrap_or(1).max(1)
    }
}

/// The level of one model in one storeroom by itself, with what it was reckoned from.
pub(super) struct Leveled {
    pub class: Criticality,
    pub target: Target,
    pub lead: LeadDemand,
    /// `base_stock`, `lots`, `periodic` or `planned`.
    pub policy: &'static str,
    /// What a position has to cover in the lead time that begins now.
    pub cover: ToCover,
    pub level: Level,
    /// With the level kept.
    pub at_level: Service,
    pub limits: BuyingLimits,
}

impl Leveled {
    /// The service that a position gives in the lead time that begins now.
    pub fn service(&self, stock: u64) -> Service {
        self.cover.service(stock)
    }

    pub fn of(
        known: &Known<'_>,
        model: &Model,
        storeroom: &str,
        demand: &StoreDemand,
    ) -> Result<Self, Failure> {
        let held = known.facts.of(model.part_no.as_str());
        let named = |why: String| {
            Failure::new(FailureKind::Refused, format!("{} in {storeroom}: {why}", model.part_no))
        };
        let lead = demand.in_resupply().map_err(|no| named(no.to_string()))?;
        let choice = held.choice(storeroom);
        let class = choice.and_then(|choice| choice.class).unwrap_or_else(|| class_of(held));
        let target = target(known.facts.rules.targets.of(class)).map_err(&named)?;
        let limits = limits(model, held, storeroom, demand).map_err(named)?;
        let lot = lot(known, model, demand, &limits);
        let cover = match demand.source {
            Source::Failures => ToCover::at_an_uncertain_rate(lead.pmf.clone()),
            _ => ToCover::one_by_one(lead.pmf.clone()),
        };
        let chosen = choice.and_then(|choice| choice.level).map(|level| Level {
            reorder_at: level.reorder_at.into(),
            order_up_to: level.order_up_to.into(),
        });
        let level = match chosen {
            // Both zero: none is held.
            Some(Level { order_up_to: 0, .. }) => Level { reorder_at: -1, order_up_to: 0 },
            Some(level) => level,
            None => level_for(&cover, lot, target),
        };
        let at_level = kept(&cover, level);
        let policy = match demand.source {
            Source::Planned | Source::Nothing => "planned",
            _ if demand.review_d > 0.0 => "periodic",
            _ if level.lot() > 1 => "lots",
            _ => "base_stock",
        };
        Ok(Self { class, target, lead, policy, cover, level, at_level, limits })
    }
}

/// The least level that meets a target, ordering so many pieces at a time.
fn level_for(cover: &ToCover, lot: u64, target: Target) -> Level {
    if lot > 1 && target.measure() == Measure::NoStockOut {
        let reorder_at = cover.level_for(target).stock;
        let signed = i64::try_from(reorder_at).unwrap_or(i64::MAX);
        return Level { reorder_at: signed, order_up_to: reorder_at.saturating_add(lot) };
    }
    lots_of(lot, if lot > 1 { cover.in_lots(lot) } else { cover.clone() }.level_for(target).stock)
}

/// The service of a level that is kept. With lots the stock is owed nothing most of the time
/// whatever the reorder point is, so the chance of no stock-out is that of a lead time which begins
/// there, as the clerk lives it; the other measures are means over time.
fn kept(cover: &ToCover, level: Level) -> Service {
    if level.lot() == 1 {
        return cover.service(level.order_up_to);
    }
    let from = u64::try_from(level.reorder_at).unwrap_or(0);
    Service {
        no_stock_out: cover.service(from).no_stock_out,
        ..cover.in_lots(level.lot()).service(level.order_up_to)
    }
}

/// The level with a lot on top of it. A shelf that is filled by lots is never let run so low that
/// places wait before anything is ordered, though that might meet the target on average (a
/// decision, no source).
fn lots_of(lot: u64, order_up_to: u64) -> Level {
    let signed = |pieces: u64| i64::try_from(pieces).unwrap_or(i64::MAX);
    let reorder_at = signed(order_up_to) - signed(lot);
    if lot > 1 && reorder_at < 0 {
        return Level { reorder_at: 0, order_up_to: lot };
    }
    Level { reorder_at, order_up_to }
}

/// The class of the most critical slot; desirable where it stands in none.
fn class_of(held: &Held) -> Criticality {
    held.critical.as_ref().map_or(Criticality::Desirable, |(class, _)| *class)
}

fn target(target: &place::Target) -> Result<Target, String> {
    let measure = match target.measure {
        place::Measure::NoStockOut => Measure::NoStockOut,
        place::Measure::FillRate => Measure::FillRate,
        place::Measure::Backorders => Measure::Backorders,
        place::Measure::DownTime => Measure::DownTimeH,
    };
    Target::new(measure, target.value).map_err(|no| no.to_string())
}

/// Prices of a model with its breaks; none where no price is known.
pub(super) fn prices(model: &Model) -> Option<Prices> {
    let breaks: Vec<PriceBreak> = model
        .price_breaks
        .iter()
        .map(|step| PriceBreak { from: step.from.into(), price_cents: step.price_cents })
        .collect();
    let price_cents = model.price_cents.filter(|cents| *cents > 0)?;
    Prices::new(price_cents, &breaks).ok()
}

/// What bounds each purchase; nothing does where pieces come from another storeroom.
pub(super) fn limits_of_purchase(model: &Model, from_storeroom: bool) -> BuyingLimits {
    let pieces = |field: Option<u32>| field.map(u64::from);
    if from_storeroom {
        return BuyingLimits::none();
    }
    let limits = BuyingLimits::new(pieces(model.min_order), pieces(model.pack_size));
    let limits = limits.unwrap_or_else(|_| BuyingLimits::none());
    match prices(model) {
        Some(prices) => limits.with_prices(prices),
        None => limits,
    }
}

fn limits(
    model: &Model,
    held: &Held,
    storeroom: &str,
    demand: &StoreDemand,
) -> Result<BuyingLimits, String> {
    let mut limits = limits_of_purchase(model, false);
    if let Some(years) = model.shelf_life() {
        let days = years * super::spares_demand::YEAR_D;
        let lead_time = slotkeep_domain::spares::LeadTime { mean_d: days, deviation_d: 0.0 };
        let used = demand.question(lead_time, 0.0, &demand.planned);
        let used = slotkeep_domain::spares::lead_demand(&used).map_err(|no| no.to_string())?;
        let before = held.shelf(storeroom).usable + held.on_order(storeroom);
        let most = used_before_expiry(&used.pmf, before.into(), USED_IN_TIME);
        limits = limits.with_shelf_life(most.map_err(|no| no.to_string())?);
    }
    Ok(limits)
}

/// The lot that costs least a year; one piece where prices or demand say nothing.
fn lot(known: &Known<'_>, model: &Model, demand: &StoreDemand, limits: &BuyingLimits) -> u64 {
    let rules = &known.facts.rules;
    let Some(prices) = prices(model) else { return 1 };
    let yearly = demand.yearly();
    // A lot has to be used up before it expires, and no more is known of a model that fails rarely.
    let best =
        lot_at_breaks(&prices, limits, rules.order_cost_cents as f64, rules.holding_pct_a, yearly);
    best.map_or(1, |best| best.quantity.clamp(1, LARGEST_LOT))
}
