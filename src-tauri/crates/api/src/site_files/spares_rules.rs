//! The object `spares_rules` of `site.json`.

use super::catalogue::word;
use super::problem::Problems;
use serde::Deserialize;
use slotkeep_domain::place::{AbcBy, ByClass, Measure, SparesRules, Target};

#[derive(Deserialize)]
pub(super) struct SparesJson {
    targets: Option<ClassesJson<TargetJson>>,
    missing_cost_cents_h: Option<ClassesJson<i64>>,
    order_cost_cents: Option<i64>,
    holding_pct_a: Option<f64>,
    review_d: Option<u32>,
    abc_pct: Option<[f64; 2]>,
    abc_by: Option<String>,
    xyz_cv: Option<[f64; 2]>,
    lateral: Option<bool>,
    lateral_d: Option<u32>,
    dead_after_y: Option<f64>,
}

#[derive(Deserialize)]
struct ClassesJson<T> {
    vital: Option<T>,
    essential: Option<T>,
    desirable: Option<T>,
}

#[derive(Deserialize)]
struct TargetJson {
    measure: String,
    value: f64,
}

/// Takes the site's rules, and ours for those that it leaves open.
pub(super) fn read(read: SparesJson, protection: f64, problems: &mut Problems) -> SparesRules {
    let ours = SparesRules::ours(protection);
    let targets = read.targets.map_or(ours.targets, |targets| {
        let target = |stated: Option<TargetJson>, ours: Target| {
            let stated = stated.and_then(|target| {
                Some(Target { measure: Measure::parse(&target.measure)?, value: target.value })
            });
            stated.unwrap_or(ours)
        };
        ByClass {
            vital: target(targets.vital, ours.targets.vital),
            essential: target(targets.essential, ours.targets.essential),
            desirable: target(targets.desirable, ours.targets.desirable),
        }
    });
    let costs = ours.missing_cost_cents_h;
    let missing_cost_cents_h = read.missing_cost_cents_h.map_or(costs, |stated| ByClass {
        vital: stated.vital.unwrap_or(costs.vital),
        essential: stated.essential.unwrap_or(costs.essential),
        desirable: stated.desirable.unwrap_or(costs.desirable),
    });
    let abc_by = read.abc_by.as_deref().and_then(|text| word(ABC_BY, text));
    let rules = SparesRules {
        targets,
        missing_cost_cents_h,
        order_cost_cents: read.order_cost_cents.unwrap_or(ours.order_cost_cents),
        holding_pct_a: read.holding_pct_a.unwrap_or(ours.holding_pct_a),
        review_d: read.review_d,
        abc_pct: read.abc_pct.unwrap_or(ours.abc_pct),
        abc_by: abc_by.unwrap_or(ours.abc_by),
        xyz_cv: read.xyz_cv.unwrap_or(ours.xyz_cv),
        lateral: read.lateral.unwrap_or(ours.lateral),
        lateral_d: read.lateral_d.unwrap_or(ours.lateral_d),
        dead_after_y: read.dead_after_y.unwrap_or(ours.dead_after_y),
    };
    if let Err(no) = rules.check() {
        let pointer = format!("/spares_rules/{}", no.rule);
        problems.json("site.json", &pointer, &no.value, no.to_do);
    }
    rules
}

const ABC_BY: &[(&str, AbcBy)] =
    &[("share_before", AbcBy::ShareBefore), ("share_after", AbcBy::ShareAfter)];
