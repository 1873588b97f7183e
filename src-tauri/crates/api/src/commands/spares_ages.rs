//! How old the units of a model are, for demand by wear.

use super::spares_facts::Held;
use super::spares_rate::Rate;
use slotkeep_domain::place::CabinetAddress;
use slotkeep_domain::spares::{AgeGroup, HOURS_PER_YEAR_OF_AGE, Stay, StayEnd};
use std::collections::BTreeMap;

/// Most groups that stand for the units of a model (a decision, no source): ages and heat are kept
/// to their means in each, so that a hundred say what thousands would, to some parts in a thousand.
const MOST_GROUPS: usize = 100;

/// Ages of the units that a storeroom serves, at the stated temperature, in few groups.
pub(super) fn ages(
    held: &Held,
    rate: &Rate,
    serves: &impl Fn(&CabinetAddress) -> bool,
    changes: &[(f64, i32)],
) -> Vec<AgeGroup> {
    let mut lived = vec![0.0; held.running.len()];
    // Stays are numbered by unit, the running ones first; a failure makes a unit new.
    let mut by_time: Vec<&Stay> =
        rate.stays.iter().filter(|stay| stay.unit < held.running.len()).collect();
    by_time.sort_by_key(|stay| stay.to);
    for stay in by_time {
        let hours = stay.from.map_or(0.0, |from| (stay.to - from).num_seconds() as f64 / 3600.0);
        lived[stay.unit] += hours.max(0.0) * stay.factor / HOURS_PER_YEAR_OF_AGE;
        if stay.end == StayEnd::Failure {
            lived[stay.unit] = 0.0;
        }
    }
    let served = held.running.iter().zip(lived).filter(|(running, _)| serves(&running.cabinet));
    let units: Vec<(f64, f64)> = served
        .map(|(running, age_y)| {
            (age_y, rate.places.get(&running.cabinet).map_or(1.0, |place| place.factor))
        })
        .collect();
    let mut ages = grouped(&units);
    let factor = rate.mean_factor();
    for (day, more) in changes {
        match u32::try_from(*more) {
            Ok(units) => {
                ages.push(AgeGroup { units, age_y: 0.0, factor, from_d: *day, until_d: None })
            }
            Err(_) => leave(&mut ages, *day, more.unsigned_abs()),
        }
    }
    ages
}

/// Units of about one age and heat together: by quarters of a year and twentieths of a factor, and
/// by twice as wide cells for as long as those are too many.
fn grouped(units: &[(f64, f64)]) -> Vec<AgeGroup> {
    let (mut a_year, mut a_factor) = (4.0, 20.0);
    loop {
        let mut cells: BTreeMap<(u64, u64), (u32, f64, f64)> = BTreeMap::new();
        for (age_y, factor) in units {
            let cell = ((age_y * a_year) as u64, (factor * a_factor) as u64);
            let (count, ages, factors) = cells.entry(cell).or_default();
            *count += 1;
            *ages += age_y;
            *factors += factor;
        }
        if cells.len() <= MOST_GROUPS {
            let groups = cells.into_values().map(|(count, ages, factors)| {
                let units = f64::from(count);
                AgeGroup::present(count, ages / units, factors / units)
            });
            return groups.collect();
        }
        (a_year, a_factor) = (a_year / 2.0, a_factor / 2.0);
    }
}

/// Takes the oldest units out on a day, since those are the ones that are replaced first.
fn leave(ages: &mut Vec<AgeGroup>, day: f64, mut units: u32) {
    ages.sort_by(|a, b| b.age_y.total_cmp(&a.age_y));
    let mut gone = Vec::new();
    for group in ages.iter_mut().filter(|group| group.until_d.is_none()) {
        let go = group.units.min(units);
        group.units -= go;
        units -= go;
        gone.push(AgeGroup { units: go, until_d: Some(day), ..*group });
    }
    ages.extend(gone);
    ages.retain(|group| group.units > 0);
}

#[cfg(test)]
mod tests {
    use super::{MOST_GROUPS, grouped};
    use slotkeep_domain::spares::{Life, ageing_demand};

    /// Our own: 3,000 units of all ages and heats, one group each, beside the groups that stand for
    /// them.
    #[test]
    fn few_groups_fail_as_many_units_do() {
        let spread = |at: u32, step: u32| f64::from(at * step % 997) / 997.0;
        let units: Vec<(f64, f64)> =
            (0..3000).map(|at| (12.0 * spread(at, 389), 0.4 + 1.6 * spread(at, 211))).collect();
        let groups = grouped(&units);
        assert!(groups.len() <= MOST_GROUPS, "{}", groups.len());
        assert_eq!(groups.iter().map(|group| group.units).sum::<u32>(), 3000);
        for shape in [1.4, 3.0, 5.0] {
            let life = Life { scale: 14.0, shape };
            let single = |(age_y, factor): &(f64, f64)| {
                let one = slotkeep_domain::spares::AgeGroup::present(1, *age_y, *factor);
                ageing_demand(life, &[one], 200.0).unwrap().mean()
            };
            let all: f64 = units.iter().map(single).sum();
            let together = ageing_demand(life, &groups, 200.0).unwrap().mean();
            assert!((together / all - 1.0).abs() < 0.01, "shape {shape}: {together} for {all}");
        }
    }
}
