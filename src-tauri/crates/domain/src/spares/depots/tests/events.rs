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
    /// Each store, and at last the central store towards all that ask it.
    pub stores: Vec<StoreSeen>,
}

/// What one store was like, by batch of time.
#[derive(Clone)]
pub(super) struct StoreSeen {
    /// Pieces owed on average.
    pub owed: Vec<f64>,
    /// Share of the time in which nothing was owed.
    pub nothing_owed: Vec<f64>,
    /// Share of demands that were served at once.
    pub at_once: Vec<f64>,
}

/// The same while it is added up: pieces times time, time, demands.
#[derive(Clone, Default)]
struct Sums {
    owed: f64,
    nothing_owed: f64,
    asked: f64,
    at_once: f64,
}

struct Run<'a> {
    network: &'a Network,
    draws: Draw,
    loan_time: Option<f64>,
    queue: BinaryHeap<Reverse<(u64, u64, Event)>>,
    number: u64,
    now: u64,
    central_shelf: u64,
    /// Pieces that the central store orders at once, and how many of a lot have gone out since.
    lot: u64,
    gone: u64,
    /// Who waits for the central store, in order.
    central_waits: VecDeque<usize>,
    shelf: Vec<u64>,
    /// Who waits at a place, in order of coming, and how many of each store.
    waits: VecDeque<usize>,
    waiting: Vec<u64>,
    on_loan: u64,
    loans: u64,
    /// Stores to which what next comes to a store goes on, since they lent to it.
    owed_to: Vec<VecDeque<usize>>,
    /// By batch of time and by store, the central one last.
    sums: Vec<Vec<Sums>>,
    batch: usize,
}

const TICKS: f64 = 1e9;

/// Runs `batches` of `batch` units of time after one that is not counted. The central store orders
/// lots of `lot` pieces, and its stock is that of a full position.
pub(super) fn run(
    network: &Network,
    lot: u64,
    loan_time: Option<f64>,
    seed: u64,
    batch: f64,
    batches: usize,
) -> Seen {
    let stores = network.sites.len() + 1;
    let mut run = Run {
        network,
        draws: Draw::of(seed),
        loan_time,
        queue: BinaryHeap::new(),
        number: 0,
        now: 0,
        central_shelf: network.central_stock,
        lot,
        gone: 0,
        central_waits: VecDeque::new(),
        shelf: network.sites.iter().map(|site| site.stock).collect(),
        waits: VecDeque::new(),
        waiting: vec![0; stores],
        on_loan: 0,
        loans: 0,
        owed_to: vec![VecDeque::new(); network.sites.len()],
        sums: vec![vec![Sums::default(); stores]; batches + 1],
        batch: 0,
    };
    for source in 0..stores {
        run.next_demand(source);
    }
    let mut owed = vec![0.0; batches + 1];
    let ends: Vec<u64> = (1..=batches + 1).map(|n| (n as f64 * batch * TICKS) as u64).collect();
    while run.batch <= batches {
        let Some(Reverse((time, _, event))) = run.queue.pop() else { break };
        while run.batch <= batches && time >= ends[run.batch] {
            run.pass(ends[run.batch], &mut owed);
            run.batch += 1;
            if run.batch == 1 {
                run.loans = 0;
            }
        }
        if run.batch <= batches {
            run.pass(time, &mut owed);
            run.happen(event);
        }
    }
    let whole = batch * TICKS;
    let of_store = |store: usize| {
        let by_batch = |figure: &dyn Fn(&Sums) -> f64| {
            run.sums[1..].iter().map(|stores| figure(&stores[store])).collect()
        };
        StoreSeen {
            owed: by_batch(&|sums| sums.owed / whole),
            nothing_owed: by_batch(&|sums| sums.nothing_owed / whole),
            at_once: by_batch(&|sums| sums.at_once / sums.asked),
        }
    };
    Seen {
        backorders: owed[1..].iter().map(|owed| owed / whole).collect(),
        loans: run.loans as f64 / (batch * batches as f64),
        stores: (0..stores).map(of_store).collect(),
    }
}

impl Run<'_> {
    /// Lets time go by in which nothing happens.
    fn pass(&mut self, until: u64, owed: &mut [f64]) {
        let span = (until - self.now) as f64;
        self.now = until;
        owed[self.batch] += span * (self.waits.len() as u64 + self.on_loan) as f64;
        let central = self.network.sites.len();
        for (store, sums) in self.sums[self.batch].iter_mut().enumerate() {
            let waiting = match store == central {
                true => self.central_waits.len() as u64,
                false => self.waiting[store],
            };
            sums.owed += span * waiting as f64;
            sums.nothing_owed += if waiting == 0 { span } else { 0.0 };
        }
    }

    fn asked(&mut self, store: usize, at_once: bool) {
        let sums = &mut self.sums[self.batch][store];
        sums.asked += 1.0;
        sums.at_once += f64::from(u8::from(at_once));
    }

    fn wait(&mut self, source: usize) {
        self.waits.push_back(source);
        self.waiting[source] += 1;
    }

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
            Event::CentralArrival => {
                for _ in 0..self.lot {
                    match self.central_waits.pop_front() {
                        Some(waits) => self.send(waits),
                        None => self.central_shelf += 1,
                    }
                }
            }
            Event::SiteArrival(site) | Event::RepairDone(site) => {
                let site = self.owed_to[site].pop_front().unwrap_or(site);
                self.arrive(site);
            }
            Event::LoanArrival => self.on_loan -= 1,
        }
    }

    fn demand(&mut self, source: usize) {
        if source == self.network.sites.len() {
            self.wait(source);
            self.order(source);
            return;
        }
        self.asked(source, self.shelf[source] > 0);
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
                self.wait(source);
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
        self.gone += 1;
        if self.gone == self.lot {
            // The position has come down to the point.
            self.gone = 0;
            self.after(self.network.central_time, Event::CentralArrival);
        }
        self.asked(self.network.sites.len(), self.central_shelf > 0);
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
            let served = self.waits.remove(at);
            served.into_iter().for_each(|store| self.waiting[store] -= 1);
        }
    }
}
