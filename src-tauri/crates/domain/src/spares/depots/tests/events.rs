//! A central store and its stores, event by event, with constant times to the stores.

use super::super::Network;
use crate::spares::draw::Draw;
use std::cmp::Reverse;
use std::collections::{BinaryHeap, VecDeque};

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Event {
    /// Demand at a site; the number after the last site is the central store's own places.
    Demand(usize),
    CentralArrival,
    SiteArrival(usize),
    RepairDone(usize),
    LoanArrival,
}

pub(super) struct Seen {
    /// Pieces owed to places, by batch of time.
    pub backorders: Vec<f64>,
    pub loans: f64,
}

struct Run<'a> {
    network: &'a Network,
    draws: Draw,
    loan_time: Option<f64>,
    queue: BinaryHeap<Reverse<(u64, u64, Event)>>,
    number: u64,
    now: u64,
    central_shelf: u64,
    /// Who waits for the central store, in order.
    central_waits: VecDeque<usize>,
    shelf: Vec<u64>,
    /// Who waits at a place, in order of coming.
    waits: VecDeque<usize>,
    on_loan: u64,
    loans: u64,
    /// Stores to which what next comes to a store goes on, since they lent to it.
    owed_to: Vec<VecDeque<usize>>,
}

const TICKS: f64 = 1e9;

/// Runs `batches` of `batch` units of time after one that is not counted.
pub(super) fn run(
    network: &Network,
    loan_time: Option<f64>,
    seed: u64,
    batch: f64,
    batches: usize,
) -> Seen {
    let mut run = Run {
        network,
        draws: Draw::of(seed),
        loan_time,
        queue: BinaryHeap::new(),
        number: 0,
        now: 0,
        central_shelf: network.central_stock,
        central_waits: VecDeque::new(),
        shelf: network.sites.iter().map(|site| site.stock).collect(),
        waits: VecDeque::new(),
        on_loan: 0,
        loans: 0,
        owed_to: vec![VecDeque::new(); network.sites.len()],
    };
    for source in 0..=network.sites.len() {
        run.next_demand(source);
    }
    let mut owed = vec![0.0; batches + 1];
    let ends: Vec<u64> = (1..=batches + 1).map(|n| (n as f64 * batch * TICKS) as u64).collect();
    let mut at = 0;
    while at <= batches {
        let Some(Reverse((time, _, event))) = run.queue.pop() else { break };
        let mut from = run.now;
        let waiting = (run.waits.len() as u64 + run.on_loan) as f64;
        while at <= batches && time >= ends[at] {
            owed[at] += waiting * (ends[at] - from) as f64;
            from = ends[at];
            at += 1;
            if at == 1 {
                run.loans = 0;
            }
        }
        if at <= batches {
            owed[at] += waiting * (time - from) as f64;
        }
        run.now = time;
        run.happen(event);
    }
    Seen {
        backorders: owed[1..].iter().map(|owed| owed / (batch * TICKS)).collect(),
        loans: run.loans as f64 / (batch * batches as f64),
    }
}

impl Run<'_> {
    fn after(&mut self, time: f64, event: Event) {
        self.number += 1;
        let at = self.now + (time * TICKS) as u64;
        self.queue.push(Reverse((at, self.number, event)));
    }

    fn next_demand(&mut self, source: usize) {
        let demand =
            self.network.sites.get(source).map_or(self.network.central_demand, |it| it.demand);
        if demand > 0.0 {
            let time = self.draws.wait() / demand;
            self.after(time, Event::Demand(source));
        }
    }

    fn happen(&mut self, event: Event) {
        match event {
            Event::Demand(source) => {
                self.next_demand(source);
                self.demand(source);
            }
            Event::CentralArrival => match self.central_waits.pop_front() {
                Some(waits) => self.send(waits),
                None => self.central_shelf += 1,
            },
            Event::SiteArrival(site) | Event::RepairDone(site) => {
                let site = self.owed_to[site].pop_front().unwrap_or(site);
                self.arrive(site);
            }
            Event::LoanArrival => self.on_loan -= 1,
        }
    }

    fn demand(&mut self, source: usize) {
        if source == self.network.sites.len() {
            self.waits.push_back(source);
            self.order(source);
            return;
        }
        if self.shelf[source] > 0 {
            self.shelf[source] -= 1;
            self.replace(source);
            return;
        }
        let lender = (0..self.shelf.len()).max_by_key(|site| self.shelf[*site]);
        match (self.loan_time, lender.filter(|site| self.shelf[*site] > 0)) {
            (Some(time), Some(lender)) => {
                self.shelf[lender] -= 1;
                self.replace(lender);
                self.lend(time);
            }
            _ => {
                self.waits.push_back(source);
                self.replace(source);
            }
        }
    }

    fn lend(&mut self, time: f64) {
        self.loans += 1;
        self.on_loan += 1;
        self.after(time, Event::LoanArrival);
    }

    /// Has a used piece repaired at the site, or asks the central store for another.
    fn replace(&mut self, site: usize) {
        let it = self.network.sites[site];
        if self.draws.share() < it.repaired_here {
            self.after(it.repair_time, Event::RepairDone(site));
        } else {
            self.order(site);
        }
    }

    fn order(&mut self, who: usize) {
        self.after(self.network.central_time, Event::CentralArrival);
        if self.central_shelf > 0 {
            self.central_shelf -= 1;
            self.send(who);
        } else {
            self.central_waits.push_back(who);
        }
    }

    fn send(&mut self, who: usize) {
        match self.network.sites.get(who) {
            Some(site) => self.after(site.order_time, Event::SiteArrival(who)),
            None => self.serve(|waits| waits == who),
        }
    }

    fn arrive(&mut self, site: usize) {
        let sites = self.shelf.len();
        match self.loan_time {
            None if self.waits.contains(&site) => self.serve(|waits| waits == site),
            Some(time) if self.waits.iter().any(|waits| *waits < sites) => {
                let first = self.waits.iter().copied().find(|waits| *waits < sites);
                if let Some(first) = first.filter(|first| *first != site) {
                    // What the borrower ordered goes to the lender when it comes.
                    self.owed_to[first].push_back(site);
                    self.lend(time);
                }
                self.serve(|waits| waits < sites);
            }
            _ => self.shelf[site] += 1,
        }
    }

    /// Ends the wait of the first that fits.
    fn serve(&mut self, fits: impl Fn(usize) -> bool) {
        if let Some(at) = self.waits.iter().position(|waits| fits(*waits)) {
            self.waits.remove(at);
        }
    }
}
