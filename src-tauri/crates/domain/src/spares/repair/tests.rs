use super::super::levels::Measure;
use super::super::levels::simulated::agree;
use super::*;
use crate::spares::draw::Draw;
use proptest::prelude::*;
use std::collections::VecDeque;

const TERMS: Repairing = Repairing { yield_share: 0.8, turn_round_h: 1200.0, purchase_h: 4000.0 };

/// Source: machine-repair model with spares, as the published case of the formula `repair-loop`:
/// mean time away 0.8 · 1200 h + 0.2 · 6000 h = 2160 h.
#[test]
fn repair_and_purchase_together_are_one_time_away() {
    let terms = Repairing { yield_share: 0.8, turn_round_h: 1200.0, purchase_h: 6000.0 };
    let fares = repairing(24, 2, 2e-5, terms).unwrap();
    assert!((fares.places.all_working - 0.9140153006758059).abs() < 1e-12);
    assert!((fares.places.short - 0.11027350545253245).abs() < 1e-12);
    assert!((fares.in_repair + fares.on_order - 1.0320361845644508).abs() < 1e-12);
    assert!((fares.in_repair / fares.on_order - 0.8).abs() < 1e-12);
    assert_eq!(fares.service.backorders, fares.places.short);
    // Of an endless source pieces are owed by Poisson demand of the same mean, 1.0368.
    let palm = super::super::expected_backorders(1.0368, 2);
    assert!((fares.endless.backorders - palm).abs() < 1e-12);
}

#[test]
fn a_finite_source_matters_where_places_are_few() {
    assert!(repairing(3, 0, 1e-4, TERMS).unwrap().finite_matters);
    assert!(!repairing(4000, 12, 1e-6, TERMS).unwrap().finite_matters);
}

#[test]
fn ends_have_an_answer() {
    let idle = repairing(5, 0, 0.0, TERMS).unwrap();
    assert_eq!(
        (idle.service.fill_rate, idle.places.availability, idle.bought_a_y),
        (1.0, 1.0, 0.0)
    );
    let at_once = Repairing { turn_round_h: 0.0, purchase_h: 0.0, ..TERMS };
    assert_eq!(repairing(5, 1, 1e-4, at_once).unwrap().service.fill_rate, 1.0);
    // Weights of large loops once ran over; now nearly all that can be away is.
    let broken = repair_loop(100_000, 100_000, 1.0, 1e6);
    assert!((broken.in_repair - 199_999.9).abs() < 0.1 && broken.all_working < 1e-12);
    assert!(repair_loop(5, 1, f64::NAN, 10.0).short.is_nan());
}

#[test]
fn nonsense_is_refused() {
    let refused = |places, spares, rate, terms, words: &str| {
        let refusal = repairing(places, spares, rate, terms).unwrap_err().to_string();
        assert!(refusal.contains(words), "{refusal}");
    };
    refused(0, 1, 1e-5, TERMS, "places");
    refused(1, 100_001, 1e-5, TERMS, "spares");
    for bad in [-1.0, f64::NAN, f64::INFINITY] {
        refused(5, 1, bad, TERMS, "failure rate");
        refused(5, 1, 1e-5, Repairing { turn_round_h: bad, ..TERMS }, "turn-round");
        refused(5, 1, 1e-5, Repairing { purchase_h: bad, ..TERMS }, "purchase");
        refused(5, 1, 1e-5, Repairing { yield_share: bad, ..TERMS }, "yield");
    }
    refused(100, 1, 1e9, TERMS, "mean demand");
    let target = Target::new(Measure::NoStockOut, 0.9).unwrap();
    assert!(spares_for(100_000, 10.0, TERMS, target).is_err());
}

struct Seen {
    time: f64,
    whole: f64,
    short: f64,
    in_repair: f64,
    on_order: f64,
    failures: f64,
    served: f64,
    bought: f64,
}

fn history(places: u32, spares: u32, rate_per_h: f64, hours: f64, chance: &mut Draw) -> Seen {
    let mut seen = Seen {
        time: 0.0,
        whole: 0.0,
        short: 0.0,
        in_repair: 0.0,
        on_order: 0.0,
        failures: 0.0,
        served: 0.0,
        bought: 0.0,
    };
    let (mut repairs, mut orders) = (VecDeque::new(), VecDeque::new());
    let mut now = 0.0;
    while now < hours {
        let away = repairs.len() + orders.len();
        let short = away.saturating_sub(spares as usize) as f64;
        let working = f64::from(places) - short;
        // Failures have no memory, so the next may be drawn anew after each event.
        let fails =
            if working > 0.0 { now + chance.wait() / (working * rate_per_h) } else { hours };
        let first = |queue: &VecDeque<f64>| queue.front().copied().unwrap_or(f64::INFINITY);
        let next = fails.min(first(&repairs)).min(first(&orders)).min(hours);
        let measured = now >= hours / 8.0;
        if measured {
            seen.time += next - now;
            seen.whole += if short == 0.0 { next - now } else { 0.0 };
            seen.short += short * (next - now);
            seen.in_repair += repairs.len() as f64 * (next - now);
            seen.on_order += orders.len() as f64 * (next - now);
        }
        now = next;
        if first(&repairs) <= next {
            repairs.pop_front();
        } else if first(&orders) <= next {
            orders.pop_front();
        } else if fails <= next && now < hours {
            let repaired = chance.share() < TERMS.yield_share;
            if measured {
                seen.failures += 1.0;
                seen.served += if away < spares as usize { 1.0 } else { 0.0 };
                seen.bought += if repaired { 0.0 } else { 1.0 };
            }
            match repaired {
                true => repairs.push_back(now + TERMS.turn_round_h),
                false => orders.push_back(now + TERMS.purchase_h),
            }
        }
    }
    seen
}

#[test]
fn a_repair_loop_with_yield_agrees_with_a_simulation() {
    for (places, spares, rate_per_h) in [(4, 1, 2e-4), (30, 2, 4e-5), (12, 0, 1e-4)] {
        let mut chance = Draw::of(99);
        let seen: Vec<Seen> =
            (0..60).map(|_| history(places, spares, rate_per_h, 2e6, &mut chance)).collect();
        let exact = repairing(places, spares, rate_per_h, TERMS).unwrap();
        let pairs = |pair: fn(&Seen) -> (f64, f64)| seen.iter().map(pair).collect::<Vec<_>>();
        agree("all working", exact.places.all_working, &pairs(|s| (s.whole, s.time)));
        agree("no stock-out", exact.service.no_stock_out, &pairs(|s| (s.whole, s.time)));
        agree("short", exact.places.short, &pairs(|s| (s.short, s.time)));
        agree("in repair", exact.in_repair, &pairs(|s| (s.in_repair, s.time)));
        agree("on order", exact.on_order, &pairs(|s| (s.on_order, s.time)));
        agree("fill rate", exact.service.fill_rate, &pairs(|s| (s.served, s.failures)));
        let bought_per_h = exact.bought_a_y / 8760.0;
        agree("bought", bought_per_h * 1e3, &pairs(|s| (s.bought * 1e3, s.time)));
    }
}

proptest! {
    #[test]
    fn the_fewest_spares_meet_the_target_and_one_less_does_not(
        places in 1u32..200,
        rate in 1e-6..3e-4f64,
        yield_share in 0.0..1.0f64,
        probability in 0.01..0.999f64,
        hours in 1.0..2000.0f64,
    ) {
        let terms = Repairing { yield_share, ..TERMS };
        for target in [
            Target::new(Measure::NoStockOut, probability).unwrap(),
            Target::new(Measure::FillRate, probability).unwrap(),
            Target::new(Measure::DownTimeH, hours).unwrap(),
        ] {
            let (spares, fares) = spares_for(places, rate, terms, target).unwrap();
            prop_assert!(target.met_by(&fares.service));
            if let Some(less) = spares.checked_sub(1) {
                let less = repairing(places, less, rate, terms).unwrap();
                prop_assert!(!target.met_by(&less.service), "{spares}");
            }
        }
    }
}
