//! What people record about lots and orders.

use crate::journal::Purpose;
use crate::label::LabelCode;
use crate::model::PartNo;
use crate::place::BinPath;
use chrono::NaiveDate;
use uuid::Uuid;

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotReceived {
    pub label: LabelCode,
    pub code: String,
    pub model: PartNo,
    pub bin: BinPath,
    pub quantity: u32,
    pub made_on: Option<NaiveDate>,
    pub shelf_until: Option<NaiveDate>,
    pub order: Option<Uuid>,
}

/// Pieces left the stock: used, or scrapped.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotIssued {
    pub lot: LabelCode,
    pub bin: BinPath,
    pub quantity: u32,
    pub to: String,
    pub scrapped: bool,
    /// What they were handed out to.
    pub purpose: Option<Purpose>,
    /// The reservation under which they were taken.
    pub reservation: Option<Uuid>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotCounted {
    pub lot: LabelCode,
    pub bin: BinPath,
    /// Pieces that lie there.
    pub quantity: u32,
    pub note: String,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotMoved {
    pub lot: LabelCode,
    pub from: BinPath,
    pub to: BinPath,
    pub quantity: u32,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotQuarantined {
    pub lot: LabelCode,
    pub quarantined: bool,
    pub reason: String,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderPlaced {
    pub model: PartNo,
    pub storeroom: String,
    pub quantity: u32,
    pub due_on: Option<NaiveDate>,
    pub reason: String,
    /// Number of the order at the supplier or in the plant's books.
    pub number: Option<String>,
    /// Price of one piece that was agreed, cents.
    pub price_cents: Option<i64>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderClosed {
    pub order: Uuid,
    pub reason: String,
}
