use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// One item of a joint order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JointItem {
    /// Cost of having it in an order, besides the order's own.
    pub minor_cost: f64,
    /// Demand in a year times the price of a piece.
    pub value_a: f64,
}

/// Items ordered together in every cycle or in every so many cycles.
#[derive(Debug, Clone, PartialEq)]
pub struct JointOrder {
    /// In how many cycles each item is ordered once.
    pub every: Vec<u32>,
    /// Years between two orders.
    pub cycle_y: f64,
    /// Ordering and holding, in a year.
    pub cost_a: f64,
}

/// Steps after which the search gives up: as many multiples as no store orders by.
const MOST_STEPS: usize = 1_000_000;

/// Returns the cycle and the multiples that cost least when items share the cost of an order.
///
/// `carrying` is the cost of holding a value of 1 for a year. For a cycle of T years item i is best
/// ordered in every m-th one, the smallest m with m(m + 1) at least 2aᵢ/(r·vᵢ·T²). As T falls these
/// multiples rise one by one; each set of them has its own best T. No cycle below the order's cost
/// over the best cost can be better, so the search ends there, and what it found is the optimum.
///
/// `None` for no items, for a figure that is not above zero, and past a million steps.
///
/// Source: Goyal, Determination of optimum packaging frequency of items jointly replenished,
/// Management Science 21 (1974), from memory; checked by enumeration.
pub fn joint_order(major_cost: f64, items: &[JointItem], carrying: f64) -> Option<JointOrder> {
    let positive = |figure: f64| figure.is_finite() && figure > 0.0;
    let sound = items.iter().all(|item| positive(item.minor_cost) && positive(item.value_a));
    if items.is_empty() || !sound || !positive(major_cost) || !positive(carrying) {
        return None;
    }
    let mut every = vec![1; items.len()];
    let mut rises: BinaryHeap<Rise> =
        (0..items.len()).map(|item| Rise::of(items, item, 1, carrying)).collect();
    let mut best = joint_order_at(major_cost, items, carrying, &every)?;
    for _ in 0..MOST_STEPS {
        let next = rises.pop()?;
        if next.cycle_y < major_cost / best.cost_a {
            return Some(best);
        }
        every[next.item] += 1;
        rises.push(Rise::of(items, next.item, every[next.item], carrying));
        let here = joint_order_at(major_cost, items, carrying, &every)?;
        if here.cost_a < best.cost_a {
            best = here;
        }
    }
    None
}

/// Returns the best cycle for given multiples; `None` where the figures go out of all bounds.
pub fn joint_order_at(
    major_cost: f64,
    items: &[JointItem],
    carrying: f64,
    every: &[u32],
) -> Option<JointOrder> {
    let pairs = || items.iter().zip(every.iter().map(|times| f64::from(*times)));
    let orders: f64 = major_cost + pairs().map(|(item, m)| item.minor_cost / m).sum::<f64>();
    let held: f64 = carrying * pairs().map(|(item, m)| item.value_a * m).sum::<f64>();
    let (cycle_y, cost_a) = ((2.0 * orders / held).sqrt(), (2.0 * orders * held).sqrt());
    let sound = cycle_y.is_finite() && cost_a.is_finite() && cost_a > 0.0;
    sound.then(|| JointOrder { every: every.to_vec(), cycle_y, cost_a })
}

/// The cycle below which an item is better ordered one time more seldom.
#[derive(PartialEq)]
struct Rise {
    cycle_y: f64,
    item: usize,
}

impl Rise {
    fn of(items: &[JointItem], item: usize, every: u32, carrying: f64) -> Self {
        let m = f64::from(every);
        let JointItem { minor_cost, value_a } = items[item];
        Self { cycle_y: (2.0 * minor_cost / (carrying * value_a * m * (m + 1.0))).sqrt(), item }
    }
}

impl Eq for Rise {}

impl PartialOrd for Rise {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Rise {
    fn cmp(&self, other: &Self) -> Ordering {
        self.cycle_y.total_cmp(&other.cycle_y).then(self.item.cmp(&other.item))
    }
}
