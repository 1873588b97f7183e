//! Everything that is known of the spares of one model.

use super::spares::{SpareChoice, SpareLine, SpareService, SumLine};
use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SpareModelInput {
    /// Part number.
    pub model: String,
}

/// All figures of one model, each with what it was reckoned from.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SpareModel {
    pub model: String,
    pub model_title: String,
    pub kind: String,
    /// `active`, `discontinued` or `recalled`.
    pub lifecycle: String,
    pub price_cents: Option<i64>,
    /// Counted in lots rather than by serial number.
    pub counted: bool,
    /// As in the order list, for each storeroom.
    pub lines: Vec<SpareLine>,
    pub rate: Option<SpareRate>,
    /// Where it stands, by cabinet.
    pub standing: Vec<SpareStanding>,
    pub wear: Option<SpareWear>,
    pub history: SpareHistory,
    pub lead_demand: SpareLeadDemand,
    /// Service at each stock, for each storeroom.
    pub curves: Vec<SpareCurve>,
    pub repair: Option<SpareRepair>,
    /// Models that may stand in for it, and those that it may stand in for.
    pub substitution: Vec<SpareSubstitute>,
    pub choices: Vec<SpareChoice>,
    /// The figures with the sums behind them.
    pub sum: Vec<SumLine>,
    pub message: String,
}

/// What is known of the failure rate, failures in 1e9 h at the temperature of the cabinets.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SpareRate {
    /// The catalogue's figure moved to that temperature.
    pub stated_fit: Option<f64>,
    /// What the catalogue states: `fit`, `mtbf`, `parts_count` or `none`.
    pub stated_by: String,
    /// Mean of both, what is stated and what was seen; none where nothing is known.
    pub learned_fit: Option<f64>,
    /// It lies between these with a probability of 90 %.
    pub low_fit: Option<f64>,
    pub high_fit: Option<f64>,
    /// What was believed before the record, by catalogue or family.
    pub before: Option<SpareBelief>,
    /// The same with the record.
    pub after: Option<SpareBelief>,
    /// Failures and unit-hours seen here.
    pub failures: u32,
    pub unit_hours: f64,
    /// Removals in which no fault was found: demand, and no failure.
    pub no_fault_found: u32,
    /// Stays without a known first day, or that contradict another: they give neither hours nor
    /// failures.
    pub left_out: u32,
    /// Models of the family that the rate was pooled over; empty where it was not.
    pub pooled_with: Vec<String>,
    /// How much of the result is what was seen here, per cent.
    pub seen_share_pct: f64,
    pub message: String,
}

/// A gamma distribution of the failure rate at the temperature of the cabinets.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SpareBelief {
    /// Failures that it is worth: its shape.
    pub worth: f64,
    /// Failures in 1e9 h.
    pub mean_fit: f64,
    /// 90 % lie between these, 5 % on either side.
    pub low_fit: f64,
    pub high_fit: f64,
}

/// Units of the model in one cabinet.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SpareStanding {
    pub cabinet: String,
    pub area: String,
    /// The storeroom that serves it.
    pub storeroom: String,
    pub units: u32,
    pub temperature_c: f64,
    /// `logged`, `monthly`, `yearly` or `site`.
    pub temperature_from: String,
    /// How many times as fast as at the stated temperature units fail there.
    pub factor: f64,
}

/// Whether it wears out: a Weibull life learned from the stays here.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SpareWear {
    /// Years; none where nothing could be learned.
    pub scale_y: Option<f64>,
    /// Above 1: it wears out.
    pub shape: Option<f64>,
    /// Bounds of the shape, 95 %.
    pub shape_least: Option<f64>,
    pub shape_most: Option<f64>,
    /// The demand follows the ages of the units and not the constant rate.
    pub used: bool,
    /// Failures to expect in the next year by the ages of the units.
    pub failures_next_y: Option<f64>,
    pub message: String,
}

/// What was asked for, month by month, and the forecast from it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SpareHistory {
    /// Oldest first; months without demand among them.
    pub months: Vec<SpareMonth>,
    /// Mean interval between months with demand; none where nothing was asked for.
    pub adi: Option<f64>,
    /// Squared coefficient of variation of the sizes.
    pub cv2: Option<f64>,
    pub pattern: Option<String>,
    /// The method in use, and why.
    pub method: Option<String>,
    /// It was chosen by a person.
    pub method_chosen: bool,
    pub mean_per_month: Option<f64>,
    /// Pieces of a month to come, with a chance of 10 % below and of 10 % above.
    pub low_per_month: Option<f64>,
    pub high_per_month: Option<f64>,
    /// All methods as they did in the back-test, the best first.
    pub methods: Vec<SpareMethod>,
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SpareMonth {
    /// First day of the month.
    pub month: NaiveDate,
    pub failures: u32,
    pub no_fault_found: u32,
    /// Counted pieces handed out.
    pub issued: u32,
    pub total: u32,
}

/// How a forecast method did on past months of this model.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SpareMethod {
    /// Its word, for `spares.choose`.
    pub method: String,
    pub title: String,
    /// What it forecasts, pieces a month.
    pub mean_per_month: f64,
    /// Loss in the back-test, the smaller the better; none where the history is too short for one.
    pub loss: Option<f64>,
    /// Its share in the blend.
    pub weight: f64,
}

/// Demand in the lead time as a distribution.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SpareLeadDemand {
    /// Days until a piece for a failure of today is there.
    pub days: f64,
    pub mean: f64,
    pub variance: f64,
    /// Probabilities of 0, 1, 2 … pieces, cut where less than one in a million is left.
    pub probabilities: Vec<f64>,
    pub parts: Vec<SpareDemandPart>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SpareDemandPart {
    /// `failures`, `wear_out`, `no_fault_found`, `history` or `planned`.
    pub what: String,
    pub mean: f64,
    pub variance: f64,
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SpareCurve {
    pub storeroom: String,
    /// From no stock on, until a piece more changes nothing.
    pub by_stock: Vec<SpareService>,
    pub held: u32,
    pub level: u32,
}

/// Failed units that come back from repair.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SpareRepair {
    pub turn_round_d: f64,
    /// Share that comes back, per cent.
    pub yield_pct: f64,
    /// Units away now.
    pub in_repair: u32,
    pub places: u32,
    /// Pieces beside those in places: usable, on order, and expected back.
    pub spares: u32,
    /// Of all places while each has a working unit.
    pub failures_a_y: f64,
    /// Units in repair on average.
    pub expected_in_repair: f64,
    /// Units on order in place of those beyond repair, on average.
    pub expected_on_order: f64,
    /// Pieces bought a year in place of those beyond repair.
    pub bought_a_y: f64,
    /// Probability that every place has a working unit with these spares.
    pub all_working: f64,
    /// Share of places with a working unit.
    pub availability: f64,
    /// Share of failures that find a spare on the shelf.
    pub fill_rate: f64,
    /// Places without a working unit, on average.
    pub backorders: f64,
    /// Hours a year that places stand empty.
    pub down_time_h: f64,
    /// Pieces owed on average if places that stand empty went on failing (Palm).
    pub backorders_endless: f64,
    /// Whether that makes a tenth of difference or more.
    pub finite_matters: bool,
    pub price_cents: Option<i64>,
    pub sum: Vec<SumLine>,
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SpareSubstitute {
    pub model: String,
    /// `stands_in` for this model, or `is_helped` by it.
    pub direction: String,
    pub usable: u32,
    /// What is left there after its own level.
    pub left_over: u32,
    /// Probability of no stock-out alone, and with both stocks pooled.
    pub alone: f64,
    pub pooled: f64,
    /// Pieces owed on average of the model that is helped.
    pub backorders_alone: f64,
    pub backorders_pooled: f64,
    pub exact: bool,
    pub message: String,
}
