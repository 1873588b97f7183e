use super::network::own_mean;
use super::waiting::{Tails, Way};
use super::{Echelons, NetworkRefusal, Reckoning};

/// How stores serve that lend to each other.
#[derive(Debug, Clone, PartialEq)]
pub struct LoanService {
    /// Pieces owed to places at a moment, those on their way from another store included.
    pub backorders: f64,
    pub down_time_h: f64,
    /// Of these, pieces on their way from another store.
    pub on_loan: f64,
    /// Loans in a unit of time, on average.
    pub loans: f64,
    /// Share of the stores' demands that find a piece on their own shelf.
    pub from_own: f64,
    /// Share served from another store at once.
    pub from_others: f64,
    /// Pieces owed where nobody lends.
    pub without: f64,
}

impl Echelons {
    /// Returns how the stores serve when one that is out of stock gets a piece from another, which
    /// takes `loan_time`, and nobody waits while any store has a piece: whoever waits longest gets
    /// the next that comes to any store. The lender orders the piece anew. Places that the central store serves itself take no part.
    ///
    /// Pieces owed without those under way are exact for stores of one resupply time: together they
    /// are one store that holds all their pieces. How many loans there are is an approximation
    /// (within a fifth in the tests): each store is a birth and death process of its own, which sees
    /// the others' requests while it has stock; a piece that somebody waits for comes to the own
    /// store as often as that store orders.
    ///
    /// Fails unless `loan_time` is zero or more and there is a stock for each store.
    ///
    /// Source: pooled group of Lee 1987, Management Science 33(11):1302-1316; shares from the own
    /// shelf and from others by the iteration of Axsäter 1990, Management Science 36(11):1329-1338.
    pub fn with_loans(
        &self,
        central_stock: u64,
        stocks: &[u64],
        loan_time: f64,
    ) -> Result<LoanService, NetworkRefusal> {
        if !(loan_time.is_finite() && loan_time >= 0.0) {
            return Err(NetworkRefusal::LoanTime(loan_time));
        }
        let alone = self.service(central_stock, stocks)?;
        let central = central_stock as usize;
        let network = &self.network;
        let way = Way {
            central_mean: network.central_mean(),
            own_mean: network.sites.iter().map(own_mean).sum(),
            share: network.sites.iter().map(|site| network.share(site)).sum::<f64>().min(1.0),
            shape: network.rate_shape,
        };
        let reckoning = if way.own_mean > 500.0 { Reckoning::VariMetric } else { self.reckoning };
        let pooled = Tails::reckon(&way, &self.central, reckoning)
            .map_err(|_| NetworkRefusal::Pieces { pieces: way.own_mean })?;
        let row = pooled.row(central);
        let all: usize = stocks.iter().sum::<u64>() as usize;
        let owed: f64 = row.iter().skip(all).rev().sum();
        let none_left = if all == 0 { 1.0 } else { row.get(all - 1).copied().unwrap_or(0.0) };
        let lenders: Vec<Lender> = network
            .sites
            .iter()
            .zip(&alone.sites)
            .map(|(site, served)| Lender {
                demand: site.demand,
                on_way: served.on_way,
                stock: served.stock,
            })
            .collect();
        let shares = shares(&lenders, none_left);
        let asked: f64 = lenders.iter().map(|lender| lender.demand).sum();
        let at_once: f64 = lenders.iter().zip(&shares).map(|(it, share)| it.demand * share.1).sum();
        let elsewhere = |it: &Lender| it.demand * (1.0 - it.demand / asked);
        let after_a_wait: f64 = lenders.iter().map(elsewhere).sum::<f64>() * none_left;
        let loans = if asked > 0.0 { at_once + after_a_wait } else { 0.0 };
        let own: f64 = lenders.iter().zip(&shares).map(|(it, share)| it.demand * share.0).sum();
        let on_loan = loans * loan_time;
        let backorders = owed + on_loan + alone.central_places;
        let of_all = |rate: f64| if asked > 0.0 { rate / asked } else { 0.0 };
        Ok(LoanService {
            backorders,
            down_time_h: backorders * crate::spares::levels::HOURS_A_YEAR,
            on_loan,
            loans,
            from_own: of_all(own),
            from_others: of_all(at_once),
            without: alone.backorders,
        })
    }
}

struct Lender {
    demand: f64,
    /// Pieces on their way when nobody lends, on average.
    on_way: f64,
    stock: u64,
}

/// Shares of each store's demands that find a piece on its own shelf, and with another store.
fn shares(lenders: &[Lender], none_left: f64) -> Vec<(f64, f64)> {
    let mut own = vec![0.5; lenders.len()];
    let mut lent = vec![0.0; lenders.len()];
    for _ in 0..500 {
        let stocked: f64 = own.iter().sum();
        // What each store asks of one other that has stock.
        let asks: Vec<f64> = lenders
            .iter()
            .zip(own.iter().zip(&lent))
            .map(|(lender, (own, lent))| {
                let others = stocked - own;
                if others > 0.0 { lender.demand * lent / others } else { 0.0 }
            })
            .collect();
        let asked: f64 = asks.iter().sum();
        let mut moved: f64 = 0.0;
        for (number, lender) in lenders.iter().enumerate() {
            let of_others = (asked - asks[number]).max(0.0);
            let has = has_stock(lender, of_others, none_left, own[number]);
            let others = lenders.iter().enumerate().any(|(n, it)| n != number && it.stock > 0);
            let borrows = if others { (1.0 - has - none_left).max(0.0) } else { 0.0 };
            moved = moved.max((has - own[number]).abs()).max((borrows - lent[number]).abs());
            // Half steps, since full ones can swing.
            own[number] = 0.5 * (own[number] + has);
            lent[number] = 0.5 * (lent[number] + borrows);
        }
        if moved < 1e-12 {
            break;
        }
    }
    own.into_iter().zip(lent).collect()
}

/// Chance that a store has a piece: pieces on their way rise by its own demand and, while it has
/// stock, by the others' requests; without stock only by demand that nobody can serve.
fn has_stock(lender: &Lender, of_others: f64, none_left: f64, before: f64) -> f64 {
    if lender.stock == 0 {
        return 0.0;
    }
    if lender.demand == 0.0 || lender.on_way == 0.0 {
        return 1.0;
    }
    let time = lender.on_way / lender.demand;
    let stocked = (lender.demand + of_others) * time;
    let empty = 1.0 - before;
    let waits = if empty > 0.0 { (none_left / empty).min(1.0) } else { 0.0 };
    let owing = lender.demand * waits * time;
    let (mut weight, mut has) = (1.0, 0.0);
    for on_way in 1..=lender.stock {
        has += weight;
        weight *= stocked / on_way as f64;
        if weight > 1e200 {
            (weight, has) = (weight * 1e-200, has * 1e-200);
        }
    }
    let mut short = 0.0;
    let mut on_way = lender.stock as f64;
    while weight > 1e-16 * (has + short) || owing > on_way {
        short += weight;
        on_way += 1.0;
        weight *= owing / on_way;
        if short > 1e200 {
            return 0.0;
        }
    }
    has / (has + short)
}
