use super::*;
use crate::spares::draw::Draw;
use crate::spares::tests::Interval;
use crate::spares::{Measure, expected_backorders};
use proptest::prelude::*;
use std::cmp::Reverse;
use std::collections::{BinaryHeap, VecDeque};

fn model(mean: f64, stock: u64, stand_ins: &[usize]) -> Substitutable {
    let stand_ins = stand_ins.iter().map(|model| StandIn { model: *model, reserved: 0 });
    Substitutable { stock, demand: Pmf::poisson(mean).unwrap(), stand_ins: stand_ins.collect() }
}

/// The second model stands in for the first.
fn pair(means: [f64; 2], stocks: [u64; 2], reserved: u64) -> Vec<Substitutable> {
    let mut pair = vec![model(means[0], stocks[0], &[1]), model(means[1], stocks[1], &[])];
    pair[0].stand_ins[0].reserved = reserved;
    pair
}

#[test]
fn events_lie_where_the_joint_distribution_says() {
    for (reserved, constant, seed) in [(0, true, 1), (0, false, 2), (1, true, 3), (2, false, 4)] {
        let means = [1.5, 2.0];
        let stocks = [1, 3];
        let found = substitution(&pair(means, stocks, reserved)).unwrap();
        let seen = Run::of(means, stocks, reserved, constant, Rule::GoesBack, seed);
        let owed = seen.owed.map(|owed| Interval::of(&owed));
        for (model, owed) in found.iter().zip(&owed) {
            let (least, most) = (model.with_at_best.backorders, model.with.backorders);
            assert!(owed.mean + owed.half >= least, "{owed:?} {model:?}");
            assert!(owed.mean - owed.half <= most, "{owed:?} {model:?}");
        }
        for (model, fill) in found.iter().zip(seen.fill_rate) {
            assert!(fill >= model.with.fill_rate - 0.004, "{fill} {model:?}");
            assert!(fill <= model.with_at_best.fill_rate + 0.004, "{fill} {model:?}");
        }
        if reserved == 0 {
            // Whoever goes first, as many wait in all.
            let both = Interval::of(&seen.both);
            let all = found[0].with.backorders + found[1].with_at_best.backorders;
            assert!(both.holds(all), "{both:?} {all}");
            assert!(both.half < 0.02 * all, "{both:?} says too little");
            let alone: f64 = found.iter().map(|model| model.without.backorders).sum();
            assert!(!both.holds(alone), "{alone}");
        }
    }
}

#[test]
fn a_stand_in_that_stays_for_good_costs_a_little_more() {
    // Where the stand-in stays and one of its own kind is ordered, the figure is not the same: a
    // later place of its own kind waits though the borrower's model has come.
    let (means, stocks) = ([1.0, 1.0], [2, 2]);
    let found = substitution(&pair(means, stocks, 0)).unwrap();
    let all = found[0].with.backorders + found[1].with_at_best.backorders;
    let seen = Run::of(means, stocks, 0, true, Rule::StaysForGood, 5);
    let both = Interval::of(&seen.both);
    assert!(both.mean > 1.05 * all && both.mean < 1.2 * all, "{both:?} {all}");
    let alone: f64 = found.iter().map(|model| model.without.backorders).sum();
    assert!(both.mean < alone);
}

#[test]
fn cover_is_pooled_one_way_only() {
    let found = substitution(&pair([1.0, 1.0], [0, 3], 0)).unwrap();
    assert!(found[0].with.fill_rate > 0.5 && found[0].without.fill_rate == 0.0);
    // Turned round, what lies with the borrower is of no use to the lender.
    let turned = substitution(&pair([1.0, 1.0], [3, 0], 0)).unwrap();
    assert_eq!(turned[1].with.fill_rate, 0.0);
    assert!((turned[1].with_at_best.backorders - 1.0).abs() < 1e-9);
}

#[test]
fn a_reserve_of_all_pieces_lends_none() {
    for reserved in [3, u64::MAX] {
        for model in substitution(&pair([1.0, 2.0], [1, 3], reserved)).unwrap() {
            assert!((model.with.backorders - model.without.backorders).abs() < 1e-12);
            assert!((model.with.fill_rate - model.without.fill_rate).abs() < 1e-12);
            assert_eq!(model.with_at_best.stand_ins, 0.0);
        }
    }
}

#[test]
fn models_that_stand_in_for_each_other_are_one_stock() {
    let mut both = pair([1.0, 2.0], [2, 1], 0);
    both[1].stand_ins.push(StandIn { model: 0, reserved: 0 });
    let found = substitution(&both).unwrap();
    let pooled = expected_backorders(3.0, 3);
    let all: f64 = found.iter().map(|model| model.with_at_best.backorders).sum();
    assert!(all <= pooled + 1e-9);
    let first = found[0].with.backorders + found[1].with_at_best.backorders;
    let second = found[0].with_at_best.backorders + found[1].with.backorders;
    assert!((first - pooled).abs() < 1e-9 || (second - pooled).abs() < 1e-9, "{first} {second}");
    // A circle of three has an answer too, and helps each.
    let circle: Vec<_> = (0..3).map(|at| model(1.0, 1, &[(at + 1) % 3])).collect();
    for model in substitution(&circle).unwrap() {
        assert!(model.exact && model.with_at_best.backorders < model.without.backorders);
    }
}

#[test]
fn what_makes_no_sense_is_refused() {
    let mut bad = pair([1.0, 1.0], [1, 1], 0);
    bad[0].stand_ins[0].model = 2;
    let unknown = SubstitutionRefusal::Unknown { model: 0, stand_in: 2, models: 2 };
    assert_eq!(substitution(&bad), Err(unknown));
    bad[0].stand_ins[0].model = 0;
    assert_eq!(substitution(&bad), Err(SubstitutionRefusal::Itself(0)));
    let mut twice = pair([1.0, 1.0], [1, 1], 0);
    twice[0].stand_ins.push(StandIn { model: 1, reserved: 3 });
    let named = SubstitutionRefusal::Twice { model: 0, stand_in: 1 };
    assert_eq!(substitution(&twice), Err(named));
    assert_eq!(fewest_pieces(&twice, &[]), Err(named));
    let short = fewest_pieces(&pair([1.0, 1.0], [1, 1], 0), &[]);
    assert_eq!(short, Err(SubstitutionRefusal::Targets { given: 0, models: 2 }));
    assert_eq!(substitution(&[]), Ok(Vec::new()));
}

#[test]
fn a_large_group_is_reckoned_by_neighbours_and_says_so() {
    // Seven models in a chain: too many joint states.
    let chain = |models: usize| -> Vec<Substitutable> {
        let next = |at: usize| if at + 1 < models { vec![at + 1] } else { Vec::new() };
        (0..models).map(|at| model(1.0, 1 + (at % 2) as u64, &next(at))).collect()
    };
    let long = substitution(&chain(7)).unwrap();
    assert!(long.iter().all(|model| !model.exact));
    // Five are few enough to be exact; the middle of both chains sees nearly the same.
    let short = substitution(&chain(5)).unwrap();
    assert!(short.iter().all(|model| model.exact));
    for at in 0..3 {
        let off = long[at].with.backorders / short[at].with.backorders - 1.0;
        assert!(
            off.abs() < 0.05,
            "{at}: {} {}",
            long[at].with.backorders,
            short[at].with.backorders
        );
        assert!(long[at].with.backorders < long[at].without.backorders);
    }
}

#[test]
fn neighbours_alone_are_nearly_the_whole_group() {
    // Random groups of five, once exactly and once as if all five were too many.
    let mut draws = Draw::of(17);
    let (mut off, mut exact_sum, mut off_far) = (0.0, 0.0, 0);
    for _ in 0..100 {
        let mut group: Vec<Substitutable> = (0..5)
            .map(|_| model(0.1 + 0.9 * draws.share(), (3.0 * draws.share()) as u64, &[]))
            .collect();
        for (borrower, model) in group.iter_mut().enumerate() {
            for lender in (0..5).filter(|lender| *lender != borrower) {
                if draws.share() < 0.25 {
                    model.stand_ins.push(StandIn { model: lender, reserved: 0 });
                }
            }
        }
        let fewer = group_states(&group) - 1.0;
        for (exact, near) in served(&group, MOST_STATES).iter().zip(&served(&group, fewer)) {
            let (exact, near) = (exact.with.backorders, near.with.backorders);
            off += (near - exact).abs();
            exact_sum += exact;
            off_far += usize::from((near / exact - 1.0).abs() > 0.1);
        }
    }
    assert!(off < 0.02 * exact_sum, "{off} of {exact_sum}");
    assert!(off_far <= 35, "{off_far} of 500 are more than a tenth off");
}

#[test]
fn fewer_pieces_meet_the_same_targets() {
    let target = |measure, value| Target::new(measure, value).unwrap();
    let wanted = [target(Measure::NoStockOut, 0.95), target(Measure::NoStockOut, 0.95)];
    let found = fewest_pieces(&pair([1.0, 1.0], [0, 0], 0), &wanted).unwrap();
    // Poisson of mean 1: P(X <= 3) = 0.981, P(X <= 2) = 0.920.
    assert_eq!(found.without, [3, 3]);
    assert!(found.proven && found.fewer >= 1, "{found:?}");
    let with = pair([1.0, 1.0], [found.with[0], found.with[1]], 0);
    for (model, target) in substitution(&with).unwrap().iter().zip(wanted) {
        assert!(model.with.meets(target));
    }
    for first in 0..=6 {
        let Some(second) = (5 - found.fewer).checked_sub(first) else { continue };
        let less = substitution(&pair([1.0, 1.0], [first, second], 0)).unwrap();
        let met = less.iter().zip(wanted).all(|(model, target)| model.with.meets(target));
        assert!(!met, "{first} and {second} are fewer than {found:?}");
    }
    let three = vec![model(0.5, 0, &[2]), model(0.5, 0, &[2]), model(0.5, 0, &[])];
    let found = fewest_pieces(&three, &[target(Measure::FillRate, 0.95); 3]).unwrap();
    assert!(!found.proven && found.fewer >= 1, "{found:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn as_many_wait_in_all_whoever_goes_first(
        means in prop::array::uniform2(0.05..4.0f64),
        stocks in prop::array::uniform2(0u64..5),
    ) {
        let found = substitution(&pair(means, stocks, 0)).unwrap();
        let own = found[0].with.backorders + found[1].with_at_best.backorders;
        let borrowers = found[0].with_at_best.backorders + found[1].with.backorders;
        prop_assert!((own - borrowers).abs() < 1e-9, "{found:?}");
        // By the sums that define it: E(((X − s)+ + Y − t)+).
        let demand = means.map(|mean| Pmf::poisson(mean).unwrap());
        let mut plainly = 0.0;
        for x in 0..40u64 {
            for y in 0..40u64 {
                let owed = (x.saturating_sub(stocks[0]) + y).saturating_sub(stocks[1]);
                plainly += owed as f64 * demand[0].at(x) * demand[1].at(y);
            }
        }
        prop_assert!((own - plainly).abs() < 1e-9, "{own} {plainly}");
        prop_assert!(found[0].with.backorders <= found[0].without.backorders + 1e-12);
        prop_assert!(found[1].with.backorders >= found[1].without.backorders - 1e-12);
        for model in &found {
            prop_assert!(model.with.fill_rate <= model.with.no_stock_out + 1e-12);
            prop_assert!(model.with.fill_rate <= model.with_at_best.fill_rate + 1e-12);
        }
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Rule {
    /// What the place calls for is ordered, and the stand-in goes back when it comes.
    GoesBack,
    /// What was taken is ordered, and the stand-in stays.
    StaysForGood,
}

struct Seen {
    owed: [Vec<f64>; 2],
    both: Vec<f64>,
    fill_rate: [f64; 2],
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Event {
    Demand(usize),
    Arrival(usize),
}

/// Two models event by event, those who wait in the order in which they came; a lead time is 1.
struct Run {
    draws: Draw,
    means: [f64; 2],
    reserved: u64,
    constant: bool,
    rule: Rule,
    queue: BinaryHeap<Reverse<(u64, u64, Event)>>,
    number: u64,
    now: u64,
    shelf: [u64; 2],
    waits: VecDeque<usize>,
    stand_ins: u64,
    asked: [u64; 2],
    served: [u64; 2],
}

impl Run {
    const TICKS: f64 = 1e9;

    fn of(
        means: [f64; 2],
        stocks: [u64; 2],
        reserved: u64,
        constant: bool,
        rule: Rule,
        seed: u64,
    ) -> Seen {
        let mut run = Self {
            draws: Draw::of(seed),
            means,
            reserved,
            constant,
            rule,
            queue: BinaryHeap::new(),
            number: 0,
            now: 0,
            shelf: stocks,
            waits: VecDeque::new(),
            stand_ins: 0,
            asked: [0; 2],
            served: [0; 2],
        };
        run.next_demand(0);
        run.next_demand(1);
        let (batches, batch) = (41, 12_000.0 * Self::TICKS);
        let mut owed = [vec![0.0; batches], vec![0.0; batches]];
        while let Some(Reverse((time, _, event))) = run.queue.pop() {
            let at = (run.now as f64 / batch) as usize;
            if at >= batches {
                break;
            }
            for (model, owed) in owed.iter_mut().enumerate() {
                let waiting = run.waits.iter().filter(|waits| **waits == model).count();
                owed[at] += waiting as f64 * (time - run.now) as f64 / batch;
            }
            run.now = time;
            run.happen(event);
        }
        // The first batch begins with full shelves and is left out.
        let owed = owed.map(|owed| owed[1..].to_vec());
        let both = owed[0].iter().zip(&owed[1]).map(|(a, b)| a + b).collect();
        let fill_rate = [0, 1].map(|model| run.served[model] as f64 / run.asked[model] as f64);
        Seen { owed, both, fill_rate }
    }

    fn after(&mut self, time: f64, event: Event) {
        self.number += 1;
        let at = self.now + (time * Self::TICKS) as u64;
        self.queue.push(Reverse((at, self.number, event)));
    }

    fn next_demand(&mut self, model: usize) {
        let time = self.draws.wait() / self.means[model];
        self.after(time, Event::Demand(model));
    }

    fn order(&mut self, model: usize) {
        let time = if self.constant { 1.0 } else { self.draws.wait() };
        self.after(time, Event::Arrival(model));
    }

    fn happen(&mut self, event: Event) {
        match event {
            Event::Demand(model) => {
                self.next_demand(model);
                self.demand(model);
            }
            Event::Arrival(0) => match self.waits.iter().position(|waits| *waits == 0) {
                Some(first) => {
                    self.waits.remove(first);
                }
                None if self.stand_ins > 0 => {
                    self.stand_ins -= 1;
                    self.lender_gets_one();
                }
                None => self.shelf[0] += 1,
            },
            Event::Arrival(_) => self.lender_gets_one(),
        }
    }

    fn demand(&mut self, model: usize) {
        self.asked[model] += 1;
        if self.shelf[model] > 0 {
            self.served[model] += 1;
            self.shelf[model] -= 1;
            self.order(model);
        } else if model == 0 && self.shelf[1] > self.reserved {
            self.served[0] += 1;
            self.shelf[1] -= 1;
            self.lend();
        } else {
            self.waits.push_back(model);
            self.order(model);
        }
    }

    fn lend(&mut self) {
        match self.rule {
            Rule::GoesBack => {
                self.stand_ins += 1;
                self.order(0);
            }
            Rule::StaysForGood => self.order(1),
        }
    }

    fn lender_gets_one(&mut self) {
        let may_lend = self.shelf[1] + 1 > self.reserved && self.rule == Rule::GoesBack;
        let first = self.waits.iter().position(|waits| *waits == 1 || may_lend);
        match first.and_then(|first| self.waits.remove(first)) {
            // What this place called for is on its way already.
            Some(0) => self.stand_ins += 1,
            Some(_) => {}
            None => self.shelf[1] += 1,
        }
    }
}
