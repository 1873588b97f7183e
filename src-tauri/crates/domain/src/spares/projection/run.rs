use super::course::{Course, Courses};
use super::lived::MonthSeen;
use super::{MOST_PIECES, ProjectionQuestion, WhatIf};
use crate::spares::draw::Draw;
use crate::spares::lead_demand::{DAYS_PER_MONTH, Failing};
use crate::spares::pmf::Pmf;
use crate::spares::rates::RateBelief;
use std::collections::VecDeque;

/// Shortest time between two looks at the shelf that is told from none.
const LEAST_REVIEW_D: f64 = 0.25;

/// What happens on a day. Of one day, what arrives comes before what is taken.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
enum Event {
    /// Pieces that were ordered, with the day on which they expire.
    Arrives(u64, f64),
    SetFree(u64),
    BackFromRepair,
    Expires,
    Failure,
    NoFault,
    Asked(u64),
    /// A look at the shelf, or a day on which the position changes by the calendar.
    Look,
    MonthEnds,
}

/// One course of luck from today on.
pub(super) struct Run<'a> {
    question: &'a ProjectionQuestion<'a>,
    what_if: &'a WhatIf,
    /// What is known from the start, in the order of time; `next` is the first to come.
    dated: Vec<(f64, Event)>,
    next: usize,
    /// What follows from what happened, the earliest first.
    following: VecDeque<(f64, Event)>,
    /// Of orders, and of repairs: apart, so that a changed case meets the same luck.
    orders: Draw,
    repairs: Draw,
    /// Expiry day and pieces, the first to expire first; each day once.
    shelf: VecDeque<(f64, u64)>,
    on_hand: u64,
    owed: u64,
    on_order: u64,
    in_repair: u64,
    seen: MonthSeen,
}

impl<'a> Run<'a> {
    pub(super) fn new(
        question: &'a ProjectionQuestion<'a>,
        what_if: &'a WhatIf,
        courses: &Courses,
        seed: u64,
        number: u64,
    ) -> Self {
        let mut run = Self {
            question,
            what_if,
            dated: Vec::new(),
            next: 0,
            following: VecDeque::new(),
            orders: Draw::new(seed, 8 * number),
            repairs: Draw::new(seed, 8 * number + 1),
            shelf: VecDeque::new(),
            on_hand: 0,
            owed: question.owed,
            on_order: 0,
            in_repair: 0,
            seen: MonthSeen::default(),
        };
        run.draw_failures(courses, seed, number);
        run.draw_planned(Draw::new(seed, 8 * number + 4));
        run.draw_consumption(Draw::new(seed, 8 * number + 5));
        run.take_dates();
        for lot in question.shelf {
            run.put(lot.pieces, lot.expires_d.unwrap_or(f64::INFINITY));
        }
        run
    }

    fn draw_failures(&mut self, courses: &Courses, seed: u64, number: u64) {
        let mut draw = Draw::new(seed, 8 * number + 2);
        let belief = match self.question.failing {
            Failing::AtRate(belief) => Some(belief),
            _ => None,
        };
        let mut share = draw.share();
        let last = courses.failures.len().saturating_sub(1);
        let course = courses.failures.iter().enumerate().find(|(place, (weight, _))| {
            share -= weight;
            share < 0.0 || *place == last
        });
        if let Some((_, (_, course))) = course {
            self.draw_along(course, belief, draw, Event::Failure);
        }
        let no_fault = self.question.no_fault_found;
        if no_fault.shape > 0.0 {
            let draw = Draw::new(seed, 8 * number + 3);
            self.draw_along(&courses.hours, Some(no_fault), draw, Event::NoFault);
        }
    }

    /// Draws the days of events whose number to expect rises along a course, times a rate that is
    /// drawn first where there is one.
    fn draw_along(
        &mut self,
        course: &Course,
        belief: Option<RateBelief>,
        mut draw: Draw,
        event: Event,
    ) {
        let rate = belief.map_or(1.0, |it| draw.gamma(it.shape) / it.exposure);
        if rate <= 0.0 {
            return;
        }
        let (mut sum, mut piece) = (0.0, 0);
        loop {
            sum += draw.wait() / rate;
            match course.day_of(sum, &mut piece) {
                Some(day) => self.dated.push((day, event)),
                None => return,
            }
        }
    }

    fn draw_planned(&mut self, mut draw: Draw) {
        for it in self.question.planned {
            if draw.share() < it.chance && it.pieces > 0 {
                self.dated.push((it.day.max(0.0), Event::Asked(it.pieces)));
            }
        }
    }

    fn draw_consumption(&mut self, mut draw: Draw) {
        let Some(month) = self.question.month else { return };
        for number in 0..self.question.months {
            let day = (f64::from(number) + draw.share()) * DAYS_PER_MONTH;
            let pieces = drawn(month, draw.share());
            if pieces > 0 {
                self.dated.push((day, Event::Asked(pieces)));
            }
        }
    }

    /// Adds what the calendar brings, and sorts.
    fn take_dates(&mut self) {
        let question = self.question;
        if !self.what_if.supplier_lost {
            for it in question.on_order {
                let day = it.day.max(0.0) * self.what_if.lead_time_factor;
                self.on_order += it.pieces;
                self.dated.push((day, Event::Arrives(it.pieces, self.expiry(day))));
            }
        }
        for it in question.harvest {
            self.dated.push((it.day.max(0.0), Event::SetFree(it.pieces)));
        }
        let horizon_d = question.horizon_d();
        self.dated.push((0.0, Event::Look));
        if question.review_d > 0.0 {
            let every_d = question.review_d.max(LEAST_REVIEW_D);
            let looks = (horizon_d / every_d) as u32;
            let days = (1..=looks).map(|look| f64::from(look) * every_d);
            self.dated.extend(days.map(|day| (day, Event::Look)));
        } else {
            // What is planned enters the position one lead time before its day.
            let ahead_d = self.lead_time_d();
            let days = question.planned.iter().map(|it| it.day - ahead_d);
            self.dated.extend(days.filter(|day| *day > 0.0).map(|day| (day, Event::Look)));
        }
        for month in 1..=question.months {
            self.dated.push((f64::from(month) * DAYS_PER_MONTH, Event::MonthEnds));
        }
        self.dated.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.rank().cmp(&b.1.rank())));
    }

    /// Lives through the months.
    pub(super) fn months(mut self) -> Vec<MonthSeen> {
        let mut months = Vec::with_capacity(self.question.months as usize);
        while let Some((day, event)) = self.take_next() {
            self.live(day, event);
            if self.owed > 0 {
                self.seen.out = true;
            }
            if event == Event::MonthEnds {
                self.seen.stock = self.on_hand as i64 - self.owed as i64;
                months.push(self.seen);
                self.seen = MonthSeen { out: self.owed > 0, ..MonthSeen::default() };
                if months.len() == self.question.months as usize {
                    break;
                }
            }
        }
        months
    }

    fn live(&mut self, day: f64, event: Event) {
        match event {
            Event::Arrives(pieces, expires_d) => {
                self.on_order -= pieces;
                self.seen.arrived += pieces;
                self.put(pieces, expires_d);
            }
            Event::SetFree(pieces) => self.put(pieces, f64::INFINITY),
            Event::BackFromRepair => {
                self.in_repair -= 1;
                self.seen.back_from_repair += 1;
                self.put(1, f64::INFINITY);
            }
            Event::Expires => self.expire(day),
            Event::Failure => {
                self.take(1);
                if let Some(repair) = self.question.repair
                    && self.repairs.share() < repair.yield_share
                {
                    self.send_back(day + repair.turn_round_d);
                }
            }
            Event::NoFault => {
                self.take(1);
                if let Some(back_d) = self.question.no_fault_back_d {
                    self.send_back(day + back_d);
                }
            }
            Event::Asked(pieces) => self.take(pieces),
            Event::Look | Event::MonthEnds => {}
        }
        let looked = match event {
            Event::Look => true,
            Event::MonthEnds => false,
            _ => self.question.review_d == 0.0,
        };
        if looked {
            self.order(day);
        }
    }

    fn take_next(&mut self) -> Option<(f64, Event)> {
        let dated = self.dated.get(self.next);
        match (dated, self.following.front()) {
            (Some(dated), Some(following)) if following.0 > dated.0 => {
                self.next += 1;
                Some(*dated)
            }
            (Some(dated), None) => {
                self.next += 1;
                Some(*dated)
            }
            _ => self.following.pop_front(),
        }
    }

    fn follow(&mut self, day: f64, event: Event) {
        // Of one day, what was known first comes first.
        let place = self.following.partition_point(|(other, _)| *other <= day);
        self.following.insert(place, (day, event));
    }

    fn put(&mut self, pieces: u64, expires_d: f64) {
        let served = pieces.min(self.owed);
        self.owed -= served;
        let left = pieces - served;
        if left == 0 || expires_d <= 0.0 {
            return;
        }
        self.on_hand += left;
        let place = self.shelf.partition_point(|(other, _)| *other < expires_d);
        if let Some((_, lot)) = self.shelf.get_mut(place).filter(|(day, _)| *day == expires_d) {
            *lot += left;
            return;
        }
        self.shelf.insert(place, (expires_d, left));
        if expires_d.is_finite() {
            self.follow(expires_d, Event::Expires);
        }
    }

    fn take(&mut self, pieces: u64) {
        self.seen.asked_for += pieces;
        let mut wanted = pieces;
        while wanted > 0 {
            let Some((_, lot)) = self.shelf.front_mut() else { break };
            let taken = wanted.min(*lot);
            *lot -= taken;
            wanted -= taken;
            self.on_hand -= taken;
            if *lot == 0 {
                self.shelf.pop_front();
            }
        }
        self.owed += wanted;
    }

    fn expire(&mut self, day: f64) {
        while let Some((expires_d, pieces)) = self.shelf.front().copied() {
            if expires_d > day {
                break;
            }
            self.shelf.pop_front();
            self.on_hand -= pieces;
            self.seen.expired += pieces;
        }
    }

    fn send_back(&mut self, day: f64) {
        self.in_repair += 1;
        self.follow(day, Event::BackFromRepair);
    }

    fn order(&mut self, day: f64) {
        let Some(rule) = self.question.rule.filter(|_| !self.what_if.supplier_lost) else { return };
        let (pieces, _) = rule.ordered(self.position(day), self.question.limits);
        let pieces = pieces.min(MOST_PIECES);
        if pieces == 0 {
            return;
        }
        self.seen.ordered += pieces;
        self.on_order += pieces;
        let lead = self.question.lead_time;
        let lead_d = self.orders.spread(lead.mean_d, lead.deviation_d);
        let arrives_d = day + lead_d * self.what_if.lead_time_factor;
        self.follow(arrives_d, Event::Arrives(pieces, self.expiry(arrives_d)));
    }

    fn position(&self, day: f64) -> i128 {
        let until_d = day + self.lead_time_d();
        let ahead = |it: f64| it > day && it <= until_d;
        let set_free = self.question.harvest.iter().filter(|it| ahead(it.day));
        let set_free: i128 = set_free.map(|it| i128::from(it.pieces)).sum();
        let planned = self.question.planned.iter();
        let planned = planned.filter(|it| ahead(it.day) && it.chance >= 0.5);
        let planned: i128 = planned.map(|it| i128::from(it.pieces)).sum();
        let have =
            i128::from(self.on_hand) + i128::from(self.on_order) + i128::from(self.in_repair);
        have + set_free - i128::from(self.owed) - planned
    }

    fn lead_time_d(&self) -> f64 {
        self.question.lead_time.mean_d * self.what_if.lead_time_factor
    }

    fn expiry(&self, arrives_d: f64) -> f64 {
        self.question.shelf_life_d.map_or(f64::INFINITY, |life_d| arrives_d + life_d)
    }
}

impl Event {
    fn rank(self) -> u8 {
        match self {
            Self::Arrives(..) | Self::SetFree(_) | Self::BackFromRepair => 0,
            Self::Expires => 1,
            Self::Failure | Self::NoFault | Self::Asked(_) => 2,
            Self::Look => 3,
            Self::MonthEnds => 4,
        }
    }
}

/// The number whose chances up to it first reach `share`.
fn drawn(demand: &Pmf, share: f64) -> u64 {
    let mut left = share;
    let found = demand.weights().iter().position(|weight| {
        left -= weight;
        left < 0.0
    });
    found.unwrap_or(demand.weights().len() - 1) as u64
}
