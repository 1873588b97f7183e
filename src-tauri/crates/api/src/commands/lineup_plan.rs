//! A proposed line-up: its findings and its bill of material, before anything is mounted.

use super::lineup::{Shelf, count, described, line, meant, of_rail, said};
use super::{find, lineup_material};
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::lineup::{MaterialLine, PlanItem, PlanItemInput, PlanLineupInput, PlannedLineup};
use crate::wire::words;
use slotkeep_domain::key::KeySetting;
use slotkeep_domain::lineup::{self, Item, Known, Rail, What, Wish, WishKind, planned};
use slotkeep_domain::model::{Model, PartNo};
use slotkeep_domain::place::SlotAddress;
use slotkeep_domain::register::View;
use slotkeep_domain::rules::Severity;
use std::collections::HashSet;
use std::sync::Arc;

/// The most things that one rail is planned with.
const MOST_ITEMS: usize = 500;

pub(super) fn commands() -> Vec<Command> {
    vec![table::ask(
        "lineup.plan",
        "Judges a proposed line-up of a rail, and says what it takes and what of it there is.",
        plan,
    )]
}

fn plan(ask: &Ask<'_>, input: PlanLineupInput) -> Result<PlannedLineup, Failure> {
    let today = ask.today();
    ask.read(|r| {
        let (cabinet, address) = meant(r, &input.rail)?;
        let address = address.ok_or_else(|| {
            Failure::bad_input(format!(
                "{} is a cabinet: plan one of its rails, for instance {}.1",
                input.rail, cabinet
            ))
        })?;
        let site = r.site().ok_or_else(find::empty)?;
        let title = r.rail(&address).map(|rail| rail.title).unwrap_or_default();
        let models = Shelf::of(r, &cabinet)?;
        let mut cabinet = described(r, &site, &cabinet)?;
        let Some(at) = cabinet.rails.iter().position(|rail| rail.address == address) else {
            return Err(Failure::not_found(format!("there is no rail {address}")));
        };
        let now = cabinet.rails[at].clone();
        let plan = match &input.items {
            None => now.clone(),
            Some(items) => {
                let wishes = wishes(items, &models)?;
                planned(&now, &wishes).map_err(|no| Failure::bad_input(no.to_string()))?
            }
        };
        cabinet.rails[at] = plan.clone();
        let findings = of_rail(
            lineup::check(&cabinet, &site.rules, &site.own_rules),
            &cabinet,
            Some(&address),
        );
        let materials = lineup_material::lines(r, &models, &now, &plan, today)?;
        Ok(PlannedLineup {
            message: message(&address.to_string(), &findings, &materials),
            rail: address.to_string(),
            title,
            length_mm: plan.length_mm,
            left_mm: plan.length_mm - plan.items.iter().map(Item::right_mm).fold(0.0, f64::max),
            stops: count(&findings, Severity::Stop),
            cautions: count(&findings, Severity::Caution),
            notes: count(&findings, Severity::Note),
            unknown: findings.iter().filter(|finding| finding.unknown).count() as u32,
            items: drawn(&now, &plan),
            findings: findings.iter().map(line).collect(),
            order_cents: total(&materials),
            ready_in_d: ready(&materials),
            materials,
        })
    })
}

fn message(rail: &str, findings: &[lineup::Finding], materials: &[MaterialLine]) -> String {
    let to_order = materials.iter().filter(|line| line.order > 0).count();
    let stock = match (materials.is_empty(), to_order) {
        (true, _) => "nothing changes".to_owned(),
        (false, 0) => "all that it takes is there".to_owned(),
        (false, 1) => "1 model has to be ordered".to_owned(),
        (false, many) => format!("{many} models have to be ordered"),
    };
    format!("{}; {stock}", said(rail, findings))
}

fn total(materials: &[MaterialLine]) -> Option<i64> {
    let to_order = materials.iter().filter(|line| line.order > 0);
    to_order.map(|line| line.cost_cents).sum()
}

/// Days until what has to be ordered is there.
fn ready(materials: &[MaterialLine]) -> Option<u32> {
    let to_order = materials.iter().filter(|line| line.order > 0);
    to_order.map(|line| line.lead_time_d).try_fold(0, |most, days| Some(most.max(days?)))
}

fn wishes(items: &[PlanItemInput], models: &Shelf) -> Result<Vec<Wish>, Failure> {
    if items.len() > MOST_ITEMS {
        let said =
            format!("{} items are too many for one rail: plan {MOST_ITEMS} at most", items.len());
        return Err(Failure::bad_input(said));
    }
    let wish = |(at, item): (usize, &PlanItemInput)| {
        wish(item, models).map_err(|why| Failure::bad_input(format!("item {}: {why}", at + 1)))
    };
    items.iter().enumerate().map(wish).collect()
}

fn wish(item: &PlanItemInput, models: &Shelf) -> Result<Wish, String> {
    let model = item.model.as_deref().map(|text| model(text, models)).transpose()?;
    let slot = item.slot.as_deref().map(SlotAddress::parse).transpose();
    let slot = slot.map_err(|no| no.to_string())?;
    let key = item
        .key
        .as_ref()
        .map(|key| KeySetting { scheme: key.scheme.clone(), code: key.code.trim().to_uppercase() });
    let what = match item.kind.as_str() {
        "slot" => WishKind::Slot { slot, empty: item.empty, key, bus_address: item.bus_address },
        "terminator" => WishKind::Terminator,
        "end_support" => WishKind::EndSupport,
        "blank" => WishKind::Blank,
        "base" => WishKind::Base,
        other => {
            let kinds = "slot, terminator, end_support, blank or base";
            return Err(format!("there is no kind {other:?}: write {kinds}"));
        }
    };
    Ok(Wish { gap_mm: item.gap_mm, what, model })
}

fn model(text: &str, models: &Shelf) -> Result<Arc<Model>, String> {
    let part_no = PartNo::parse(text)?;
    models.model(&part_no).ok_or_else(|| {
        let known =
            models.models.keys().map(|known| (strsim::jaro_winkler(known.as_str(), text), known));
        match known.max_by(|a, b| a.0.total_cmp(&b.0)) {
            Some((likeness, near)) if likeness > 0.8 => {
                format!("there is no model {part_no}; the nearest is {near}")
            }
            _ => format!("there is no model {part_no}: see the catalogue"),
        }
    })
}

fn drawn(now: &Rail, plan: &Rail) -> Vec<PlanItem> {
    let known: HashSet<_> = now.places().map(|(_, place)| place.address.clone()).collect();
    let mut end_mm = 0.0;
    let draw = |item: &Item| {
        let place = item.place();
        let gap_mm = item.x_mm - end_mm;
        end_mm = item.right_mm();
        PlanItem {
            kind: match item.what {
                What::Slot(_) => "slot",
                What::Terminator => "terminator",
                What::EndSupport => "end_support",
                What::Blank => "blank",
                What::Base => "base",
            }
            .to_owned(),
            model: item.meant().map(|model| model.part_no.to_string()),
            title: item.meant().map(|model| model.title.clone()).unwrap_or_default(),
            slot: place.map(|place| place.address.to_string()),
            new: place.is_some_and(|place| !known.contains(&place.address)),
            empty: place.is_some_and(|place| !place.filled),
            base: place.map(|place| words::base(place.base).to_owned()),
            key: place.and_then(|place| place.key.clone()).map(Into::into),
            bus_address: place.and_then(|place| place.bus_address),
            x_mm: item.x_mm,
            width_mm: item.width_mm,
            gap_mm: if gap_mm.abs() < 1e-6 { 0.0 } else { gap_mm },
        }
    };
    plan.items.iter().map(draw).collect()
}
