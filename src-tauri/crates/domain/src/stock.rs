//! Counted stock in lots, and orders for more of a model.

use crate::label::LabelCode;
use crate::model::PartNo;
use crate::place::BinPath;
use chrono::{DateTime, NaiveDate, Utc};
use std::collections::BTreeMap;
use uuid::Uuid;

/// Counted pieces of one model that were made and received together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lot {
    pub label: LabelCode,
    /// The lot code printed by its maker.
    pub code: String,
    pub model: PartNo,
    pub made_on: Option<NaiveDate>,
    /// Last day on which a piece may still be fitted.
    pub shelf_until: Option<NaiveDate>,
    pub quarantined: bool,
    /// Pieces in each bin; no entry is zero.
    pub pieces: BTreeMap<BinPath, u32>,
}

impl Lot {
    pub fn total(&self) -> u32 {
        self.pieces.values().sum()
    }

    /// Pieces that may be handed out on a day: not in quarantine, shelf date not passed.
    pub fn usable_on(&self, day: NaiveDate) -> u32 {
        if self.quarantined || self.expired_on(day) { 0 } else { self.total() }
    }

    /// Pieces of it in a storeroom that may be handed out on a day.
    pub fn usable_in(&self, storeroom: &str, day: NaiveDate) -> u32 {
        if self.usable_on(day) == 0 {
            return 0;
        }
        let here = self.pieces.iter().filter(|(bin, _)| bin.storeroom() == storeroom);
        here.map(|(_, pieces)| pieces).sum()
    }

    pub fn expired_on(&self, day: NaiveDate) -> bool {
        self.shelf_until.is_some_and(|until| until < day)
    }
}

/// Pieces of a model asked for from outside.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order {
    pub id: Uuid,
    pub model: PartNo,
    pub storeroom: String,
    pub ordered: u32,
    pub received: u32,
    pub placed_at: DateTime<Utc>,
    pub due_on: Option<NaiveDate>,
    pub reason: String,
    /// Nothing more will come, though fewer were received than ordered.
    pub closed: bool,
    /// Number of the order at the supplier or in the plant's books.
    pub number: Option<String>,
    /// Price of one piece that was agreed, cents.
    pub price_cents: Option<i64>,
}

impl Order {
    /// Days by which it is late on a day; none where nothing is to come, or it is in time.
    pub fn late_d(&self, day: NaiveDate) -> Option<u32> {
        let late = (day - self.due_on?).num_days();
        u32::try_from(late).ok().filter(|late| *late > 0 && self.outstanding() > 0)
    }

    /// Pieces still to come.
    pub fn outstanding(&self) -> u32 {
        if self.closed { 0 } else { self.ordered.saturating_sub(self.received) }
    }
}
