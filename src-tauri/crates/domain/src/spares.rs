//! Spares: demand, the stock that covers it, and what to order.
//!
//! Failures in a lead time are Poisson unless data says otherwise; planned changes are known
//! demand and are added whole.

mod acceleration;
mod advice;
mod ageing;
mod allocation;
mod base_stock;
mod classes;
mod depots;
mod draw;
mod forecast;
mod joint;
mod last_buy;
mod lead_demand;
mod levels;
mod lots;
mod money;
mod pmf;
mod poisson;
mod projection;
mod rates;
mod renewal;
mod repair;
mod substitution;
#[cfg(test)]
mod tests;
mod wear;

pub use acceleration::acceleration;
pub use advice::{Advice, OrderRule, Standing, advice, advise};
pub use ageing::{AgeReplacement, GroupReplacement, Life, group_replacement};
pub use allocation::{Candidate, Purchase, buying_order};
pub use base_stock::{expected_backorders, expected_on_hand, fill_rate, variance_of_backorders};
pub use classes::{Class, Pattern, Ranked, RankedBy, demand_measures, pattern, rank, steadiness};
pub use depots::{
    Echelons, LARGEST_STOCK, LoanService, Network, NetworkRefusal, NetworkService, Reckoning, Site,
    SiteBackorders, Split, StoreService, TwoLevels, over_networks, two_levels,
};
pub use forecast::{
    ChoiceRefusal, Errors, Forecast, ForecastRules, History, HistoryRefusal, Judged, JudgedChance,
    Judgement, LONGEST_HISTORY, Method, MethodTest, Outlook, Question, RulesRefusal, error_scales,
    errors, forecast, judge, least_root, month_by, outlooks, pinball,
};
pub use joint::{JointItem, JointOrder, joint_order, joint_order_at};
pub use last_buy::{
    BuyPoint, Cover, LastBuy, LastBuyCosts, LastBuyQuestion, LastBuyRefusal, last_buy,
};
pub use lead_demand::{
    DAYS_PER_MONTH, DemandKind, DemandPart, Failing, LeadDemand, LeadQuestion, LeadRefusal,
    LeadTime, PlannedPieces, Population, PopulationChange, failures_in, lead_demand, over_months,
};
pub use levels::{
    BestLots, BuyingLimits, Choice, Flow, Level, LevelRefusal, LimitedBy, LotAim, LotBound,
    LotTerms, Lots, Manner, Measure, Ordering, Performance, Policy, PriceBreak, PriceRefusal,
    Prices, Service, Target, ToCover, best_lots, lot_at_breaks, lot_bounds, used_before_expiry,
};
pub use lots::{
    LARGEST_LOT, LotCosts, Reorder, economic_order, order_quantity_cost, reorder, reorder_cost,
    reorder_for, single_order, single_order_cost,
};
pub use money::{
    Aim, Bought, Buyable, Curve, CurveStep, DEAREST_CENTS, DeadWhy, MoneyPoint, MoneyRefusal,
    Optimum, Proof, ShelfStock, Surplus, USUAL_EFFORT, Worth, best_for_budget, least_money,
    money_curve, surplus, worth_of_stock,
};
pub use pmf::Pmf;
pub use poisson::{
    DemandRefusal, LARGEST_MEAN, ToHold, expected_failures, poisson_above, poisson_cdf, to_hold,
};
pub use projection::{
    Arrival, Fan, LONGEST_MONTHS, MonthAhead, Projection, ProjectionQuestion, ProjectionRefusal,
    RepairTime, Runs, ShelfLot, USUAL_RUNS, WhatIf, project,
};
pub use rates::{
    FamilyMember, FamilyPrior, FamilyRefusal, LARGEST_SHAPE, LEAST_FAMILY_SHAPE, LEAST_MEMBERS,
    LearnedRate, LeftOut, LeftOutWhy, MtbfBounds, NoFaultFound, PartsLine, Pooled, PooledBy,
    PriorFrom, RateBelief, RateHeat, RateRefusal, Record, ShapeFound, StatedRate, Stay, StayEnd,
    USUAL_ACTIVATION_EV, USUAL_STATED_C, USUAL_WORTH, family_prior, learned_rate, mtbf_bounds,
    normal_quantile, pool,
};
pub use renewal::{BlockReplacement, gamma_renewals, shares_of};
pub use repair::{
    RepairFares, RepairLoop, Repairing, lost_share, repair_loop, repairing, spares_for,
};
pub use substitution::{
    FewestPieces, Helped, Lacking, MOST_STATES, NoStandIn, PlaceService, StandIn, Substitutable,
    Substituted, SubstitutionRefusal, fewest_pieces, free_pieces, may_stand_in, substitution,
};
pub use wear::{
    AgeGroup, HOURS_PER_YEAR_OF_AGE, LEAST_FAILURES, Lives, NoWear, WEAR_SHOWS, Wear,
    ageing_course, ageing_demand, wear,
};
