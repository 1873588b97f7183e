use super::unit::UnitLine;
use chrono::{DateTime, NaiveDate, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LotLine {
    pub label: String,
    pub label_human: String,
    /// Code printed by its maker.
    pub code: String,
    pub model: String,
    pub model_title: String,
    pub made_on: Option<NaiveDate>,
    pub shelf_until: Option<NaiveDate>,
    pub expired: bool,
    pub quarantined: bool,
    /// In this bin, or in all where the list is of lots.
    pub pieces: u32,
    pub bins: Vec<BinPieces>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BinPieces {
    pub bin: String,
    pub pieces: u32,
}

#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShelfInput {
    /// Code of a storeroom; all of them where nothing is given.
    pub storeroom: Option<String>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Shelf {
    pub storerooms: Vec<StoreroomShelf>,
    /// Units on the bench, away for repair, and lost.
    pub elsewhere: Vec<UnitLine>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StoreroomShelf {
    pub code: String,
    pub title: String,
    pub bins: Vec<BinShelf>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BinShelf {
    pub path: String,
    pub label: String,
    pub label_human: String,
    pub title: String,
    /// When it was last counted as a whole.
    pub counted_at: Option<DateTime<Utc>>,
    pub units: Vec<UnitLine>,
    pub lots: Vec<LotLine>,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BinInput {
    /// Path or label.
    pub bin: String,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LotInput {
    /// Label, or the maker's lot code.
    pub lot: String,
}

/// Counted pieces came in.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReceiveInput {
    /// Part number.
    pub model: String,
    /// Code printed by its maker.
    pub code: String,
    /// Path or label.
    pub bin: String,
    /// Pieces.
    pub quantity: u32,
    /// Day of making.
    pub made_on: Option<NaiveDate>,
    /// Reckoned from the day of making and the catalogue's shelf life where nothing is given.
    pub shelf_until: Option<NaiveDate>,
    /// Id of the order that they came on.
    pub order: Option<Uuid>,
    /// Take in more than the order still asks for.
    #[serde(default)]
    pub accept_over: bool,
    /// A label that is already stuck on.
    pub label: Option<String>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Received {
    pub label: String,
    pub label_human: String,
    pub done: super::Done,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ScrapInput {
    /// Label, or the maker's lot code.
    pub lot: String,
    /// Path or label; may be left out where the lot lies in one bin.
    pub bin: Option<String>,
    /// Pieces.
    pub quantity: u32,
    /// Why they are scrapped.
    pub reason: String,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CountInput {
    /// Label, or the maker's lot code.
    pub lot: String,
    /// Path or label; may be left out where the lot lies in one bin.
    pub bin: Option<String>,
    /// Pieces that lie there.
    pub quantity: u32,
    /// A remark for the journal.
    #[serde(default)]
    pub note: String,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MoveLotInput {
    /// Label, or the maker's lot code.
    pub lot: String,
    /// Path or label; may be left out where the lot lies in one bin.
    pub from: Option<String>,
    /// Path or label.
    pub to: String,
    /// Pieces.
    pub quantity: u32,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct QuarantineInput {
    /// Label, or the maker's lot code.
    pub lot: String,
    /// False lifts it.
    pub quarantined: bool,
    /// Why, so that somebody can judge later.
    pub reason: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OrderLine {
    pub order: Uuid,
    pub model: String,
    pub model_title: String,
    pub storeroom: String,
    pub ordered: u32,
    pub received: u32,
    pub outstanding: u32,
    pub placed_at: DateTime<Utc>,
    pub due_on: Option<NaiveDate>,
    /// Days by which it is late; null where it is in time or nothing more comes.
    pub late_d: Option<u32>,
    /// Number of the order at the supplier or in the plant's books.
    pub number: Option<String>,
    /// Price of one piece that was agreed, cents.
    pub price_cents: Option<i64>,
    pub reason: String,
    pub closed: bool,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlaceOrderInput {
    /// Part number.
    pub model: String,
    /// Code of the storeroom.
    pub storeroom: String,
    /// Pieces.
    pub quantity: u32,
    /// Reckoned from the catalogue's lead time where nothing is given.
    pub due_on: Option<NaiveDate>,
    /// Number of the order at the supplier or in the plant's books.
    pub number: Option<String>,
    /// Price of one piece that was agreed, cents; the catalogue's where nothing is given.
    pub price_cents: Option<i64>,
    /// Why it is ordered.
    #[serde(default)]
    pub reason: String,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CloseOrderInput {
    /// Id of the order.
    pub order: Uuid,
    /// Why no more will come.
    pub reason: String,
}
