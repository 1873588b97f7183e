//! The level of a model in a storeroom: which policy, which target, what service it gives.

use super::spares_class::Classed;
use super::spares_demand::{Known, Source, StoreDemand};
use super::spares_site::SiteDemand;
use crate::{Failure, FailureKind};
use slotkeep_domain::model::Model;
use slotkeep_domain::place;
use slotkeep_domain::spares::{
    BestLots, BuyingLimits, LeadDemand, LeadTime, LotAim, LotBound, LotTerms, Measure, OrderRule,
    PriceBreak, Prices, Service, Target, ToCover, best_lots, lead_demand, lot_bounds,
    used_before_expiry,
};

/// How sure it must be that a piece is used before its shelf date (a decision, no source).
const USED_IN_TIME: f64 = 0.9;

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
    pub classed: Classed,
    pub target: Target,
    pub lead: LeadDemand,
    /// `base_stock`, `lots`, `periodic` or `planned`.
    pub policy: &'static str,
    /// What a position has to cover in the lead time that begins now.
    pub cover: ToCover,
    pub level: Level,
    /// With the level kept.
    pub at_level: Service,
    /// The lot that the level goes by; none where a person chose the level, or nothing is bought.
    pub lot: Option<Lot>,
    /// What bounds an order that is placed now.
    pub limits: BuyingLimits,
}

impl Leveled {
    /// The service that a position gives in the lead time that begins now.
    pub fn service(&self, stock: u64) -> Service {
        self.cover.service(stock)
    }

    /// `buys`: it orders from outside. A storeroom that another one fills fetches piece by piece, so
    /// no lot is looked for.
    pub fn of(
        known: &Known<'_>,
        model: &Model,
        storeroom: &str,
        demand: &StoreDemand,
        buys: bool,
    ) -> Result<Self, Failure> {
        let held = known.facts.of(model.part_no.as_str());
        let named = |why: String| {
            Failure::new(FailureKind::Refused, format!("{} in {storeroom}: {why}", model.part_no))
        };
        let lead = demand.in_resupply().map_err(|no| named(no.to_string()))?;
        let choice = held.choice(storeroom);
        let classed = Classed::of(known.facts, model, storeroom);
        let target = target(known.facts.rules.targets.of(classed.class)).map_err(&named)?;
        let there = held.shelf(storeroom).usable + held.on_order(storeroom);
        let limits = limits(model, demand, there.into()).map_err(&named)?;
        let cover = to_cover(demand, &lead);
        let chosen = choice.and_then(|choice| choice.level).map(|level| Level {
            reorder_at: level.reorder_at.into(),
            order_up_to: level.order_up_to.into(),
        });
        let lot = match chosen {
            Some(_) => None,
            None if !buys => None,
            None => Lot::of(known, model, demand, &cover, target).map_err(named)?,
        };
        let level = match chosen {
            // Both zero: none is held.
            Some(Level { order_up_to: 0, .. }) => single(0),
            Some(level) => level,
            None => level_for(&cover, lot.as_ref(), target),
        };
        let at_level = kept(&cover, level);
        let policy = match demand.source {
            Source::Planned | Source::Nothing => "planned",
            _ if demand.review_d > 0.0 => "periodic",
            _ => by_lot(level),
        };
        Ok(Self { classed, target, lead, policy, cover, level, at_level, lot, limits })
    }
}

fn by_lot(level: Level) -> &'static str {
    if level.lot() > 1 { "lots" } else { "base_stock" }
}

/// What a position has to cover of the demand in a lead time.
fn to_cover(demand: &StoreDemand, lead: &LeadDemand) -> ToCover {
    let cover = match demand.source {
        Source::Failures => ToCover::at_an_uncertain_rate(lead.pmf.clone()),
        _ => ToCover::one_by_one(lead.pmf.clone()),
    };
    // With a lead time of zero nothing is on its way, though pieces are asked for.
    cover.with_asking(demand.yearly() > 0.0)
}

/// The least level that meets a target with single pieces, or with the lots that cost least a year.
/// A shelf that is filled by lots is never let run so low that places wait before anything is
/// ordered, though that might meet the target on average (a decision, no source).
fn level_for(cover: &ToCover, lot: Option<&Lot>, target: Target) -> Level {
    match lot {
        Some(lot) if lot.quantity > 1 => {
            let up_to = lot.point.max(0).unsigned_abs().saturating_add(lot.quantity);
            Level { reorder_at: lot.point, order_up_to: up_to }
        }
        _ => single(cover.level_for(target).stock),
    }
}

/// Each piece that is used is ordered again.
fn single(order_up_to: u64) -> Level {
    let signed = i64::try_from(order_up_to).unwrap_or(i64::MAX);
    Level { reorder_at: signed - 1, order_up_to }
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

/// Days until a bought piece is past its shelf date; none where it keeps.
pub(super) fn shelf_life_d(model: &Model) -> Option<f64> {
    model.shelf_life().map(|years| years * super::spares_demand::YEAR_D)
}

/// Limits of a purchase that comes on top of so many pieces, which go first.
fn limits(model: &Model, demand: &StoreDemand, before: u64) -> Result<BuyingLimits, String> {
    let limits = limits_of_purchase(model, false);
    let Some(days) = shelf_life_d(model) else { return Ok(limits) };
    let lead_time = LeadTime { mean_d: days, deviation_d: 0.0 };
    let used = demand.question(lead_time, 0.0, &demand.planned);
    let used = lead_demand(&used).map_err(|no| no.to_string())?;
    let most = used_before_expiry(&used.pmf, before, USED_IN_TIME).map_err(|no| no.to_string())?;
    Ok(limits.with_shelf_life(most))
}

/// How many pieces are ordered at once, and what that was reckoned from.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Lot {
    /// What the position has to cover where a storeroom orders for others too; none: the level's own.
    cover: Option<ToCover>,
    /// Order when the position comes down to this.
    pub point: i64,
    pub quantity: u64,
    /// Of each piece in such an order.
    pub price_cents: i64,
    pub pieces_a_y: f64,
    pub orders_a_y: f64,
    pub terms: LotTerms,
    aim: LotAim,
}

impl Lot {
    /// The lot that costs least a year in purchase, orders and shelf, and meets the target; none
    /// where prices, costs or demand say nothing, or where no lot may be bought.
    fn of(
        known: &Known<'_>,
        model: &Model,
        demand: &StoreDemand,
        cover: &ToCover,
        target: Target,
    ) -> Result<Option<Self>, String> {
        let rules = &known.facts.rules;
        let sold = model.can_be_ordered_on(known.facts.today);
        let Some(prices) = prices(model).filter(|_| sold) else { return Ok(None) };
        // A lot comes on top of what is there when it is ordered, whatever lies there today.
        let limits = limits(model, demand, cover.level_for(target).stock)?;
        let terms = LotTerms {
            order_cost_cents: rules.order_cost_cents as f64,
            holding_pct_a: rules.holding_pct_a,
            prices,
            limits,
        };
        let (pieces_a_y, aim) = (demand.yearly(), LotAim::Keep(target));
        let Ok(best) = best_lots(cover, pieces_a_y, &terms, aim) else { return Ok(None) };
        let BestLots { point, quantity, price_cents, orders_a_y, .. } = best;
        let cover = None;
        Ok(Some(Self { cover, point, quantity, price_cents, pieces_a_y, orders_a_y, terms, aim }))
    }
}

impl Leveled {
    /// Names the policy of a level that the storerooms give each other.
    pub fn name_policy(&mut self, level: Level) {
        if matches!(self.policy, "lots" | "base_stock") {
            self.policy = by_lot(level);
        }
    }

    /// Takes the lot and the limits of an order that is for several storerooms: by the demand of all
    /// of them, with `there` in all of them. What a person chose stays.
    pub fn order_for_all(
        &mut self,
        known: &Known<'_>,
        model: &Model,
        all: &SiteDemand,
        there: u64,
    ) -> Result<(), String> {
        let demand = &all.demand;
        self.limits = limits(model, demand, there)?;
        if self.lot.is_some() {
            let lead = all.in_resupply(model).map_err(|no| no.to_string())?;
            let cover = to_cover(demand, lead);
            let lot = Lot::of(known, model, demand, &cover, self.target)?;
            self.lot = lot.map(|lot| Lot { cover: Some(cover), ..lot });
        }
        Ok(())
    }
}

impl Leveled {
    /// What makes the lot another one than would cost least without it: price breaks, packs, the
    /// least order, shelf life. None where only the cost of an order and that of the shelf weigh
    /// against each other, and where there is no lot.
    pub fn lot_bounds(&self) -> Vec<LotBound> {
        let Some(lot) = &self.lot else { return Vec::new() };
        let cover = lot.cover.as_ref().unwrap_or(&self.cover);
        lot_bounds(cover, lot.pieces_a_y, &lot.terms, lot.aim).unwrap_or_default()
    }

    /// The same as the end of a sentence, such as "100 at a time, since from 100 pieces on each costs
    /// 0.80 (60 would cost least otherwise)"; none for single pieces that nothing bounds.
    pub fn why_lot(&self) -> Option<String> {
        let quantity = self.lot.as_ref()?.quantity;
        let bounds: Vec<String> = self.lot_bounds().iter().map(LotBound::to_string).collect();
        match (quantity, bounds.is_empty()) {
            (..=1, true) => None,
            (_, true) => {
                Some(format!("{quantity} at a time cost least, orders and shelf together"))
            }
            (_, false) => Some(format!("{quantity} at a time, {}", bounds.join(", and "))),
        }
    }
}
