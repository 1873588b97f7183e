//! What months were like, run by run, and over many of them.

use super::{Fan, MonthAhead};
use crate::spares::lead_demand::DAYS_PER_MONTH;

/// What a month of one run was like.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct MonthSeen {
    pub(super) stock: i64,
    pub(super) out: bool,
    pub(super) asked_for: u64,
    pub(super) ordered: u64,
    pub(super) arrived: u64,
    pub(super) back_from_repair: u64,
    pub(super) expired: u64,
}

/// The same of many runs: the stocks one by one, all else added up.
#[derive(Debug, Clone, Default)]
pub(super) struct Lived {
    stocks: Vec<i64>,
    out: u32,
    out_by: u32,
    asked_for: u64,
    ordered: u64,
    arrived: u64,
    back_from_repair: u64,
    expired: u64,
}

impl Lived {
    /// `out_by`: something was owed in this month or in one before it.
    pub(super) fn add(&mut self, seen: &MonthSeen, out_by: bool) {
        self.stocks.push(seen.stock);
        self.out += u32::from(seen.out);
        self.out_by += u32::from(out_by);
        self.asked_for += seen.asked_for;
        self.ordered += seen.ordered;
        self.arrived += seen.arrived;
        self.back_from_repair += seen.back_from_repair;
        self.expired += seen.expired;
    }

    /// Takes in other runs of the same month.
    pub(super) fn join(&mut self, other: Self) {
        self.stocks.extend(other.stocks);
        self.out += other.out;
        self.out_by += other.out_by;
        self.asked_for += other.asked_for;
        self.ordered += other.ordered;
        self.arrived += other.arrived;
        self.back_from_repair += other.back_from_repair;
        self.expired += other.expired;
    }

    pub(super) fn month(mut self, number: u32) -> MonthAhead {
        self.stocks.sort_unstable();
        let stocks = &self.stocks;
        let runs = stocks.len() as f64;
        let mean = |sum: u64| sum as f64 / runs;
        let part =
            |of: fn(i64) -> i64| stocks.iter().map(|stock| of(*stock) as f64).sum::<f64>() / runs;
        let stock_out_by = f64::from(self.out_by) / runs;
        MonthAhead {
            number,
            ends_d: f64::from(number) * DAYS_PER_MONTH,
            stock: Fan::of(stocks),
            on_hand: part(|stock| stock.max(0)),
            owed: part(|stock| (-stock).max(0)),
            stock_out: f64::from(self.out) / runs,
            stock_out_by,
            stock_out_by_error: (stock_out_by * (1.0 - stock_out_by) / runs).sqrt(),
            asked_for: mean(self.asked_for),
            ordered: mean(self.ordered),
            arrived: mean(self.arrived),
            back_from_repair: mean(self.back_from_repair),
            expired: mean(self.expired),
        }
    }
}
