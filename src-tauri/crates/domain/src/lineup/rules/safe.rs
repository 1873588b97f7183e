//! Intrinsically safe bases beside others. The program compares recorded figures; it certifies
//! nothing.

use super::{Findings, figure, named};
use crate::lineup::{Cabinet, Item, Rail};
use crate::model::Feeds;

fn has_safe(rail: &Rail) -> bool {
    rail.items.iter().any(Item::is_safe)
}

pub(super) fn inlet(_: &Cabinet, rail: &Rail, found: &mut Findings<'_>) {
    if !has_safe(rail) {
        return;
    }
    let supplies: Vec<&Item> = rail.items.iter().filter(|item| item.is_supply()).collect();
    let silent = supplies.iter().filter(|item| item.feeds().is_none());
    let silent: Vec<_> = silent.map(|item| rail.name_of(item)).collect();
    let has = |feeds| supplies.iter().any(|item| item.feeds() == Some(feeds));
    let others: Vec<_> = rail
        .items
        .iter()
        .filter(|item| !item.is_supply() && item.has_unsafe_terminals() == Some(true))
        .map(|item| rail.name_of(item))
        .collect();
    let standard = has(Feeds::Standard) || rail.fed_by.is_some();
    if !has(Feeds::IntrinsicallySafe) && silent.is_empty() {
        let said = "no supply of their own feeds the intrinsically safe bases".to_owned();
        let to_do = "give them their own supply inlet; this is work for competent persons";
        found.broken(&rail.address, said, to_do);
    } else if has(Feeds::IntrinsicallySafe) && !others.is_empty() && !standard {
        let said = format!("{} would be fed from the intrinsically safe inlet", named(&others));
        let to_do = "feed standard bases from a supply of their own";
        found.broken(&rail.address, said, to_do);
    } else if !silent.is_empty() {
        let said = format!("which bases {} feeds is not known", named(&silent));
        found.unknown(&rail.address, said, "record what this model feeds (feeds in models.json)");
    } else {
        found.pass(&rail.address, "a supply of their own feeds the intrinsically safe bases");
    }
}

pub(super) fn grouped(_: &Cabinet, rail: &Rail, found: &mut Findings<'_>) {
    if !has_safe(rail) {
        return;
    }
    let safe_at = |at: &usize| rail.items[*at].is_safe();
    let first = (0..rail.items.len()).find(safe_at).unwrap_or(0);
    let last = (0..rail.items.len()).rfind(safe_at).unwrap_or(0);
    let (mut others, mut unknown) = (Vec::new(), Vec::new());
    for item in &rail.items[first..=last] {
        match item.has_unsafe_terminals() {
            Some(true) => others.push(rail.name_of(item)),
            Some(false) => {}
            None => unknown.push(rail.name_of(item)),
        }
    }
    if !others.is_empty() {
        let said = format!("{} stands between intrinsically safe bases", named(&others));
        let to_do = "put the intrinsically safe bases together and others beside them";
        found.broken(&rail.address, said, to_do);
    } else if !unknown.is_empty() {
        let said = format!("what stands in {}, between safe bases, is not known", named(&unknown));
        found.unknown(&rail.address, said, "record the model of the slot");
    } else {
        found.pass(&rail.address, "the intrinsically safe bases stand together");
    }
}

pub(super) fn distance(_: &Cabinet, rail: &Rail, found: &mut Findings<'_>) {
    if !has_safe(rail) {
        return;
    }
    let before = found.count();
    let ours_mm = found.limit("distance_mm");
    let mut least_mm = f64::INFINITY;
    for pair in neighbours(rail) {
        let (safe, other) = if pair.0.is_safe() { pair } else { (pair.1, pair.0) };
        let (safe_name, name) = (rail.name_of(safe), rail.name_of(other));
        let stated = safe.meant().and_then(|model| model.on_rail.safe_distance_mm);
        let needed_mm = stated.unwrap_or(ours_mm);
        let between_mm = pair.1.x_mm - pair.0.right_mm();
        if other.has_unsafe_terminals().is_none() {
            let said = format!("what stands in {name}, next to {safe_name}, is not known");
            found.unknown(&rail.address, said, "record the model of the slot");
        } else if between_mm + 0.05 < needed_mm {
            let between = figure(between_mm, 1);
            let needed = figure(needed_mm, 1);
            let said =
                format!("{safe_name} stands {between} mm from {name}; {needed} mm are stated");
            let to_do = "move them apart; measure between the terminals, a partition may lengthen \
                         the way round; this is work for competent persons";
            found.broken(&rail.address, said, to_do);
        } else {
            least_mm = least_mm.min(between_mm);
        }
    }
    if found.count() == before {
        let said = match least_mm.is_finite() {
            true => format!("others stand {} mm off at least", figure(least_mm, 1)),
            false => "no terminals of other circuits stand on this rail".to_owned(),
        };
        found.pass(&rail.address, said);
    }
}

/// Each safe base and the next thing with other terminals, or nobody knows what, beside it.
fn neighbours(rail: &Rail) -> Vec<(&Item, &Item)> {
    let matters = |item: &&Item| item.is_safe() || item.has_unsafe_terminals() != Some(false);
    let standing: Vec<&Item> = rail.items.iter().filter(matters).collect();
    let pairs = standing.windows(2).map(|pair| (pair[0], pair[1]));
    pairs.filter(|(left, right)| left.is_safe() != right.is_safe()).collect()
}
