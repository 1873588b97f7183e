//! Event by event, piece by piece, beside the exact figures: draws from a fixed seed, and
//! intervals of four standard errors from independent histories.

use super::*;
use crate::spares::Pmf;
use crate::spares::draw::Draw;
use std::collections::VecDeque;

/// What one history saw.
#[derive(Default, Clone, Copy)]
struct Seen {
    time: f64,
    nothing_owed: f64,
    owed: f64,
    on_hand: f64,
    asked: f64,
    served: f64,
    orders: f64,
}

/// Demand as a history draws it: demands a day, and the pieces of each.
struct Draws {
    demands_a_d: f64,
    sizes: Pmf,
    /// Of a gamma-distributed rate; the sum of so many exponential ones.
    shape: Option<u32>,
}

fn history(draws: &Draws, lead_time_d: f64, policy: Policy, days: f64, chance: &mut Draw) -> Seen {
    let rate = match draws.shape {
        None => draws.demands_a_d,
        Some(shape) => {
            let sum: f64 = (0..shape).map(|_| chance.wait()).sum();
            draws.demands_a_d * sum / f64::from(shape)
        }
    };
    let every_d = match policy.manner {
        Manner::Review { every_d } | Manner::ReviewPoint { every_d, .. } => Some(every_d),
        _ => None,
    };
    let mut seen = Seen::default();
    let warm = days / 2.0;
    let (mut now, mut net) = (0.0, policy.up_to as i64);
    let mut position = net;
    let mut coming: VecDeque<(f64, i64)> = VecDeque::new();
    let mut next_demand = chance.wait() / rate;
    let mut next_review = every_d.unwrap_or(f64::INFINITY);
    while now < days {
        let arrives = coming.front().map_or(f64::INFINITY, |order| order.0);
        let next = next_demand.min(next_review).min(arrives).min(days);
        if now >= warm {
            let span = next - now;
            seen.time += span;
            seen.nothing_owed += if net >= 0 { span } else { 0.0 };
            seen.owed += span * (-net).max(0) as f64;
            seen.on_hand += span * net.max(0) as f64;
        }
        now = next;
        if arrives <= next {
            net += coming.pop_front().map_or(0, |order| order.1);
            continue;
        }
        let mut may_order = every_d.is_none();
        if next_demand <= next {
            let pieces = draws.sizes.quantile(chance.share()) as i64;
            if now >= warm {
                seen.asked += pieces as f64;
                seen.served += pieces.min(net.max(0)) as f64;
            }
            net -= pieces;
            position -= pieces;
            next_demand = now + chance.wait() / rate;
        } else if next_review <= next {
            may_order = true;
            next_review += every_d.unwrap_or(f64::INFINITY);
        }
        if may_order && position <= policy.point() {
            let lacking = policy.up_to as i64 - position;
            let order = match policy.manner {
                Manner::Lots { quantity } => {
                    let quantity = quantity as i64;
                    (policy.point() + 1 - position + quantity - 1) / quantity * quantity
                }
                _ => lacking,
            };
            position += order;
            coming.push_back((now + lead_time_d, order));
            seen.orders += if now >= warm { 1.0 } else { 0.0 };
        }
    }
    seen
}

/// A ratio of sums over independent histories, with its standard error.
pub(in crate::spares) fn ratio(pairs: &[(f64, f64)]) -> (f64, f64) {
    let (above, below) = pairs.iter().fold((0.0, 0.0), |sum, p| (sum.0 + p.0, sum.1 + p.1));
    let ratio = above / below;
    let n = pairs.len() as f64;
    let square: f64 = pairs.iter().map(|p| (p.0 - ratio * p.1).powi(2)).sum();
    (ratio, (square * n / (n - 1.0)).sqrt() / below)
}

pub(in crate::spares) fn agree(what: &str, exact: f64, pairs: &[(f64, f64)]) {
    let (simulated, error) = ratio(pairs);
    assert!(
        (exact - simulated).abs() <= 4.0 * error + 1e-9,
        "{what}: exactly {exact}, simulated {simulated} ± {error}"
    );
    assert!(error <= 0.05 * exact.abs() + 0.004, "{what}: {simulated} ± {error} says too little");
}

fn compare(name: &str, flow: &Flow, shape: Option<u32>, lead_time_d: f64, policies: &[Policy]) {
    let draws = Draws { demands_a_d: flow.demands_a_d(), sizes: flow.sizes().unwrap(), shape };
    let (histories, days) = if shape.is_some() { (2500, 1600.0) } else { (60, 12_000.0) };
    for (number, policy) in policies.iter().enumerate() {
        let mut chance = Draw::of(4711 + number as u64);
        let seen: Vec<Seen> = (0..histories)
            .map(|_| history(&draws, lead_time_d, *policy, days, &mut chance))
            .collect();
        let exact = Ordering::new(flow, lead_time_d, policy.manner).unwrap().at(policy.up_to);
        let pairs = |pair: fn(&Seen) -> (f64, f64)| seen.iter().map(pair).collect::<Vec<_>>();
        let what = |measure: &str| format!("{name}, {policy:?}, {measure}");
        let service = exact.service;
        agree(&what("no stock-out"), service.no_stock_out, &pairs(|s| (s.nothing_owed, s.time)));
        agree(&what("fill rate"), service.fill_rate, &pairs(|s| (s.served, s.asked)));
        agree(&what("owed"), service.backorders, &pairs(|s| (s.owed, s.time)));
        agree(&what("on hand"), service.on_hand, &pairs(|s| (s.on_hand, s.time)));
        agree(&what("orders"), exact.orders_a_y / 365.0, &pairs(|s| (s.orders, s.time)));
    }
}

fn policies() -> Vec<Policy> {
    [
        (Manner::OneForOne, 4),
        (Manner::Lots { quantity: 5 }, 7),
        (Manner::UpTo { width: 4 }, 6),
        (Manner::Review { every_d: 14.0 }, 7),
        (Manner::ReviewPoint { every_d: 9.0, width: 3 }, 8),
    ]
    .map(|(manner, up_to)| Policy { manner, up_to })
    .to_vec()
}

#[test]
fn single_failures_agree_with_a_simulation() {
    compare("Poisson", &Flow::poisson(0.15).unwrap(), None, 20.0, &policies());
    // With no lead time only what is not ordered at once is missing. Levels are lower, since an
    // event that is hardly ever seen has no interval.
    let lower: Vec<Policy> = policies()[1..]
        .iter()
        .map(|policy| Policy { up_to: policy.up_to - 4, ..*policy })
        .collect();
    compare("at once", &Flow::poisson(0.15).unwrap(), None, 0.0, &lower);
}

#[test]
fn demand_in_groups_agrees_with_a_simulation() {
    let sizes = Pmf::of(vec![0.0, 5.0, 3.0, 0.0, 2.0]).unwrap();
    compare("groups", &Flow::in_groups(0.08, sizes).unwrap(), None, 20.0, &policies());
    let negative_binomial = Flow::in_logarithmic_groups(0.15, 2.5).unwrap();
    compare("negative binomial, compound", &negative_binomial, None, 20.0, &policies());
}

#[test]
fn an_uncertain_rate_agrees_with_a_simulation() {
    let flow = Flow::at_an_uncertain_rate(0.12, 3.0).unwrap();
    compare("negative binomial, mixed", &flow, Some(3), 20.0, &policies());
}
