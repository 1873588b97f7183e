use super::{Calc, Entry, above_zero, entry};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::spares::{JointItem, JointOrder, joint_order, joint_order_at};

pub(super) fn entries() -> Vec<Entry> {
    vec![entry::<Joint>()]
}

/// Items that share the cost of an order: the time between orders, and in every how many of them
/// each item is ordered, at least cost (joint replenishment; Goyal 1974).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Joint {
    /// Cost of an order, whatever is in it, in any money.
    major_cost: f64,
    /// What is ordered together.
    items: Vec<Item>,
    /// Cost of holding a value of 1 for a year.
    carrying: f64,
    /// Multiples to cost in place of the best ones, one for each item.
    every: Option<Vec<u32>>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Item {
    /// Cost of having it in an order, besides the order's own.
    minor_cost: f64,
    /// Demand in a year times the price of a piece.
    value_a: f64,
}

#[derive(Serialize, JsonSchema)]
struct Cycle {
    /// In how many orders each item stands once.
    every: Vec<u32>,
    /// Years between two orders.
    cycle_y: f64,
    /// Ordering and holding in a year.
    cost_a: f64,
}

impl Calc for Joint {
    const NAME: &'static str = "joint-replenishment";
    type Reply = Cycle;

    fn reckon(self) -> Result<Cycle, String> {
        let major_cost = above_zero("major_cost", self.major_cost)?;
        let carrying = above_zero("carrying", self.carrying)?;
        if self.items.is_empty() {
            return Err("items is empty: give what is ordered together".to_owned());
        }
        let mut items = Vec::with_capacity(self.items.len());
        for item in &self.items {
            items.push(JointItem {
                minor_cost: above_zero("items[].minor_cost", item.minor_cost)?,
                value_a: above_zero("items[].value_a", item.value_a)?,
            });
        }
        let found = match &self.every {
            None => joint_order(major_cost, &items, carrying),
            Some(every) if every.len() != items.len() || every.contains(&0) => {
                return Err("every: give one number of 1 or more for each item".to_owned());
            }
            Some(every) => joint_order_at(major_cost, &items, carrying, every),
        };
        let JointOrder { every, cycle_y, cost_a } = found.ok_or(
            "the figures lie too far apart to be ordered together: check costs and values",
        )?;
        Ok(Cycle { every, cycle_y, cost_a })
    }
}
