//! The order list: what to hold of each model in each storeroom, and what to order now.

pub use super::battery::SumLine;
use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SparesInput {
    /// Only what should be ordered now.
    #[serde(default)]
    pub to_order: bool,
    /// Only this model; part number.
    pub model: Option<String>,
    /// Only this storeroom.
    pub storeroom: Option<String>,
    /// Only lines that hold each of these words in part number, title or storeroom.
    pub find: Option<String>,
    /// Only this class: `vital`, `essential` or `desirable`.
    pub class: Option<String>,
    /// Only models whose maker has named a last day to order.
    #[serde(default)]
    pub announced: bool,
    /// No more lines than this, what matters most first; the totals are of all.
    pub limit: Option<u32>,
    /// What decides the classes A, B and C: `share_before` or `share_after`; the site's rule where
    /// nothing is given.
    pub abc_by: Option<String>,
}

/// The order list, what matters most first.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SparesReply {
    pub lines: Vec<SpareLine>,
    pub totals: SpareTotals,
    /// The rules that the list follows.
    pub rules: SpareRules,
    pub message: String,
}

/// Over all lines that were asked for.
#[derive(Debug, Clone, Default, Serialize, JsonSchema)]
pub struct SpareTotals {
    pub lines: u32,
    pub to_order: u32,
    /// Lines for which pieces should be brought from another storeroom.
    pub to_fetch: u32,
    /// Pieces to order now.
    pub pieces: u32,
    /// What that costs, as far as prices are known.
    pub cost_cents: i64,
    /// Lines to order whose price nobody stated.
    pub without_price: u32,
    /// What the usable stock is worth.
    pub stock_cents: i64,
    /// Lines whose stock now meets the target.
    pub on_target: u32,
    /// Places that stand empty on average, now and at the levels.
    pub backorders: f64,
    pub backorders_at_level: f64,
    /// Hours a year that places stand empty, now and at the levels.
    pub down_time_h: f64,
    pub down_time_at_level_h: f64,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SpareRules {
    pub vital: SpareTarget,
    pub essential: SpareTarget,
    pub desirable: SpareTarget,
    /// `share_before` or `share_after`.
    pub abc_by: String,
    /// Shares of the yearly value at which A and B end, per cent.
    pub abc_pct: Vec<f64>,
    /// Coefficients of variation at which X and Y end.
    pub xyz_cv: Vec<f64>,
    /// Days between two reviews; none: the stock is looked at with each movement.
    pub review_d: Option<u32>,
    /// Whether storerooms lend to each other.
    pub lateral: bool,
}

/// A service that is aimed at, by one of the four measures, which are different numbers.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SpareTarget {
    /// `no_stock_out`, `fill_rate`, `backorders` or `down_time_h`.
    pub measure: String,
    pub value: f64,
}

/// The four measures of service at a stock.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SpareService {
    /// Pieces on the shelf and on the way.
    pub stock: u32,
    /// Probability that demand in the lead time stays within it.
    pub no_stock_out: f64,
    /// Share of demands that are served at once.
    pub fill_rate: f64,
    /// Pieces owed at a moment, on average.
    pub backorders: f64,
    /// Hours a year that places stand empty.
    pub down_time_h: f64,
}

/// What to hold of a model in a storeroom.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SpareLine {
    pub model: String,
    pub model_title: String,
    /// As in the catalogue: `controller`, `module`, `battery`, `consumable` and so on.
    pub kind: String,
    pub storeroom: String,
    /// The storeroom that it is filled from; none: from outside.
    pub supplied_by: Option<String>,
    /// Place in the list, 1 first.
    pub rank: u32,
    /// `vital`, `essential` or `desirable`.
    pub class: String,
    /// The most critical slot that it stands in; none where the class was chosen, or where it is in
    /// no slot.
    pub class_from_slot: Option<String>,
    /// The model that is no longer sold, in whose place this one is bought, where the class is from
    /// there: the slot is then one of that model.
    pub class_from_model: Option<String>,
    /// Class by yearly value: `A`, `B` or `C`; none where no price is known.
    pub value_class: Option<String>,
    /// Pieces a year times the price.
    pub yearly_value_cents: Option<i64>,
    /// Class by variation of the monthly demand: `X`, `Y` or `Z`; none without history.
    pub variation_class: Option<String>,
    /// `smooth`, `intermittent`, `erratic` or `lumpy`; none without history.
    pub pattern: Option<String>,
    /// What the demand is reckoned from: `failures`, `history`, `planned` or `none`.
    pub method: String,
    /// The forecast where the demand is reckoned from history, e.g. `croston`.
    pub forecast: Option<String>,
    /// `base_stock`, `lots`, `periodic`, `planned`, or `counted` where its pieces count for another
    /// storeroom.
    pub policy: String,
    pub target: SpareTarget,
    /// Order when stock, pieces on order and pieces owed come down to this.
    pub reorder_at: i64,
    /// Order up to this.
    pub order_up_to: u32,
    /// A person chose the level, the class or the forecast.
    pub chosen: Option<SpareChoice>,
    /// With what is usable and on order now.
    pub now: SpareService,
    /// At the level.
    pub at_level: SpareService,
    /// Units in slots that this storeroom serves.
    pub installed: u32,
    /// Failures in 1e9 h, catalogue and site together, at the temperature of the cabinets.
    pub failure_rate_fit: Option<f64>,
    pub lead_time_d: u32,
    /// Nobody stated the lead time: the usual one is taken.
    pub lead_time_assumed: bool,
    /// Pieces wanted in the lead time, known ones left out.
    pub lead_demand: f64,
    /// Known demand in the lead time: battery changes and planned changes of the plant, pieces.
    pub planned: u32,
    /// Planned battery changes of the next year, by day.
    pub changes: Vec<PlannedDemand>,
    /// Usable now, reserved pieces among them.
    pub on_hand: u32,
    pub reserved: u32,
    /// Not usable: expired, in quarantine, failed, suspect.
    pub not_usable: u32,
    /// Units that were handed out from here, and are neither put in nor back: not counted as stock.
    pub handed_out: u32,
    /// Usable today, but past their shelf date before they are wanted: not counted as stock.
    pub too_old: u32,
    /// Free pieces of other models that may stand in: above what those need themselves.
    pub substitutes: u32,
    /// Of these, the ones that count for this model, each for one model only.
    pub stand_ins: u32,
    /// With these, of all storerooms that are ordered for together; none where none count.
    pub with_stand_ins: Option<SpareService>,
    pub on_order: u32,
    /// To order from outside, for this storeroom and those that it fills.
    pub order_now: u32,
    /// Lacking, but no longer sold by its maker.
    pub lacking: u32,
    /// The model that is ordered in its place.
    pub ordered_as: Option<String>,
    /// Models that are no longer sold and that some of `order_now` are for.
    pub ordered_for: Vec<String>,
    /// Pieces that are held for such models on top of the level, free ones there are among them.
    pub held_instead: u32,
    /// To bring from the storeroom that fills this one.
    pub fetch_now: u32,
    pub price_cents: Option<i64>,
    /// What `order_now` costs, price breaks counted.
    pub cost_cents: Option<i64>,
    /// Last day to order if the maker takes no more after it.
    pub last_order_on: Option<NaiveDate>,
    /// Day by which the stock now is expected to be used up; none within ten years.
    pub lasts_until: Option<NaiveDate>,
    /// What to do and why, in a sentence.
    pub reason: String,
    /// What limits the order, and what is not known, a sentence each.
    pub notes: Vec<String>,
}

/// What a person chose in place of what is reckoned.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SpareChoice {
    /// None: for every storeroom.
    pub storeroom: Option<String>,
    /// Forecast method.
    pub method: Option<String>,
    pub reorder_at: Option<u32>,
    pub order_up_to: Option<u32>,
    /// `vital`, `essential` or `desirable`.
    pub class: Option<String>,
    pub reason: String,
    pub chosen_by: String,
    pub chosen_on: NaiveDate,
}

/// Pieces that a planned change takes.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PlannedDemand {
    pub on: NaiveDate,
    pub pieces: u32,
    /// A visit is agreed for that day; else it is the day by which the battery is due.
    pub agreed: bool,
}
