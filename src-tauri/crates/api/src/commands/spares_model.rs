//! All figures of the spares of one model, each opened down to its inputs.

use super::spares_demand::{Known, StoreDemand, YEAR_D};
use super::spares_facts::{Facts, fails};
use super::spares_foreseen::Foreseen;
use super::spares_history;
use super::spares_known::Gathered;
use super::spares_level::Leveled;
use super::spares_line::{chosen, pieces, service};
use super::spares_opened;
use super::spares_opened_rate;
use super::spares_projection::stock_of;
use super::spares_rate::Rate;
use super::spares_repair;
use super::spares_stock::{ModelStock, RoomStock};
use super::spares_substitution;
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::spares_model::{
    SpareBelief, SpareCurve, SpareDemandPart, SpareHistory, SpareLeadDemand, SpareMethod,
    SpareModel, SpareModelInput, SpareMonth, SpareRate, SpareStanding, SpareWear,
};
use crate::wire::words;
use slotkeep_domain::model::Model;
use slotkeep_domain::spares::{DemandKind, LeadDemand, NoWear, PriorFrom, RateBelief};

/// Chances left out at the end of a distribution that is shown.
const SHOWN_DOWN_TO: f64 = 1e-6;

/// Largest stock of a curve that is shown.
const MOST_STOCK: u64 = 200;

pub(super) fn commands() -> Vec<Command> {
    vec![table::ask(
        "spares.model",
        "Shows all figures of the spares of one model, with what they are reckoned from.",
        model,
    )]
}

fn model(ask: &Ask<'_>, input: SpareModelInput) -> Result<SpareModel, Failure> {
    ask.read(|r| {
        let gathered = Gathered::of(ask, r)?;
        let known = gathered.known();
        let model = known.facts.model(&input.model)?;
        let stock = stock_of(&known, model)?;
        shown(&known, model, stock)
    })
}

fn shown(known: &Known<'_>, model: &Model, stock: &ModelStock) -> Result<SpareModel, Failure> {
    let facts = known.facts;
    let part_no = model.part_no.as_str();
    let held = facts.of(part_no);
    let lines = known.list()?.lines(|line| line.model == part_no);
    let rate = known.rates.of(part_no).filter(|_| fails(model));
    let site = &known.site(model)?.demand;
    let lead = site.question(site.resupply, site.review_d, &site.planned);
    let lead = slotkeep_domain::spares::lead_demand(&lead)
        .map_err(|no| Failure::refused(format!("{part_no}: {no}")))?;
    let open = |room: &RoomStock| {
        let line = lines.iter().find(|line| line.storeroom == room.storeroom);
        spares_opened::room(stock, room, rate, line)
    };
    let mut opened: Vec<_> = stock.rooms.iter().map(open).collect();
    opened.push(spares_opened::yearly(site));
    if let Some(rate) = rate {
        opened.extend(rate.learned.as_ref().ok().map(spares_opened_rate::learned));
        opened.push(spares_opened_rate::heat(rate));
    }
    let message = lines.first().map_or_else(String::new, |line| line.reason.clone());
    Ok(SpareModel {
        model: part_no.to_owned(),
        model_title: model.title.clone(),
        kind: words::model_kind(model.kind).to_owned(),
        lifecycle: words::lifecycle(model.lifecycle).to_owned(),
        price_cents: model.price_cents,
        counted: model.counted,
        rate: rate.map(learned),
        standing: rate.map_or_else(Vec::new, |rate| standing(facts, rate, &stock.home)),
        wear: rate.map(|rate| wear(rate, site)),
        history: history(known, model, &stock.home),
        lead_demand: lead_demand(&lead, site.cover_d()),
        curves: stock.rooms.iter().map(|room| curve(stock, room)).collect(),
        repair: spares_repair::of(known, model, site, stock),
        substitution: spares_substitution::of(known, model, stock)?,
        choices: held.choices.iter().map(chosen).collect(),
        sum: opened,
        lines,
        message,
    })
}

/// What is known of the rate, moved to where the units stand.
fn learned(rate: &Rate) -> SpareRate {
    let factor = rate.mean_factor();
    let stated = rate.stated.as_ref().and_then(|stated| stated.fit().ok());
    match &rate.learned {
        Ok(learned) => {
            let record = &learned.record;
            let prior = match learned.prior_from {
                PriorFrom::Stated => "the catalogue's figure",
                PriorFrom::Family => "what its family showed",
                PriorFrom::NothingKnown => "nothing known before",
            };
            SpareRate {
                stated_fit: stated.map(|fit| fit * factor),
                stated_by: spares_opened_rate::stated_by(rate).to_owned(),
                learned_fit: Some(learned.fit * factor),
                low_fit: Some(learned.low_fit * factor),
                high_fit: Some(learned.high_fit * factor),
                before: belief(learned.prior, factor),
                after: belief(learned.belief, factor),
                failures: pieces(record.failures),
                unit_hours: record.hours_h,
                no_fault_found: pieces(record.no_fault_found),
                left_out: record.left_out.len() as u32,
                pooled_with: rate.pooled_with.clone(),
                seen_share_pct: 100.0 * learned.record_share,
                message: format!(
                    "{prior} and {} failures in {:.0} unit-hours here give {:.0} in 1e9 h at the \
                     temperature of the cabinets, between {:.0} and {:.0} with 90 %",
                    record.failures,
                    record.hours_h,
                    learned.fit * factor,
                    learned.low_fit * factor,
                    learned.high_fit * factor
                ),
            }
        }
        Err(why) => SpareRate {
            stated_fit: stated.map(|fit| fit * factor),
            stated_by: spares_opened_rate::stated_by(rate).to_owned(),
            learned_fit: None,
            low_fit: None,
            high_fit: None,
            before: None,
            after: None,
            failures: 0,
            unit_hours: 0.0,
            no_fault_found: 0,
            left_out: 0,
            pooled_with: Vec::new(),
            seen_share_pct: 0.0,
            message: why.clone(),
        },
    }
}

/// A belief moved to the temperature of the cabinets; none where it is worth nothing.
fn belief(belief: RateBelief, factor: f64) -> Option<SpareBelief> {
    let fit = |share| 1e9 * factor * belief.quantile(share);
    (belief.shape > 0.0 && belief.exposure > 0.0).then(|| SpareBelief {
        worth: belief.shape,
        mean_fit: 1e9 * factor * belief.mean(),
        low_fit: fit(0.05),
        high_fit: fit(0.95),
    })
}

fn standing(facts: &Facts, rate: &Rate, home: &str) -> Vec<SpareStanding> {
    let lines = rate.places.iter().map(|(cabinet, place)| SpareStanding {
        cabinet: cabinet.to_string(),
        area: facts.serving.area_of(cabinet).to_owned(),
        storeroom: facts.serving.of_cabinet(cabinet, home).to_owned(),
        units: place.units,
        temperature_c: place.temperature_c,
        temperature_from: place.temperature_from.to_owned(),
        factor: place.factor,
    });
    lines.collect()
}

fn wear(rate: &Rate, site: &StoreDemand) -> SpareWear {
    match &rate.wear {
        Ok(wear) => {
            let life = wear.fitted.life;
            let error = 1.959_964 * wear.fitted.ln_shape_error;
            let used = !site.ages.is_empty();
            SpareWear {
                scale_y: Some(life.scale),
                shape: Some(life.shape),
                shape_least: Some(life.shape * (-error).exp()),
                shape_most: Some(life.shape * error.exp()),
                used,
                failures_next_y: used
                    .then(|| site.within(YEAR_D).ok().map(|year| year.pmf.mean()))
                    .flatten(),
                message: format!(
                    "It wears out: a Weibull life of shape {:.2} and scale {:.1} years at the \
                     stated temperature fits the record better than a constant rate, so demand \
                     follows the ages of the units",
                    life.shape, life.scale
                ),
            }
        }
        Err(why) => SpareWear {
            scale_y: None,
            shape: match why {
                NoWear::Early { shape } => Some(*shape),
                _ => None,
            },
            shape_least: None,
            shape_most: None,
            used: false,
            failures_next_y: None,
            message: format!("A constant rate is used: {why}"),
        },
    }
}

fn history(known: &Known<'_>, model: &Model, home: &str) -> SpareHistory {
    let facts = known.facts;
    let part_no = model.part_no.as_str();
    let months = spares_history::months(facts, facts.of(part_no));
    let shape = spares_history::shape(facts, &months);
    let foreseen = known.histories.get(part_no, home);
    let message = match (&foreseen, &shape) {
        (Some(foreseen), _) => foreseen.outlook.reason(),
        (None, Some(_)) => {
            "its demand is reckoned from failures and plans, not from history".to_owned()
        }
        (None, None) => "nothing was asked for yet".to_owned(),
    };
    SpareHistory {
        months: months
            .iter()
            .map(|(month, of)| SpareMonth {
                month: *month,
                failures: of.failures,
                no_fault_found: of.no_fault_found,
                issued: of.issued,
                total: of.total(),
            })
            .collect(),
        adi: shape.as_ref().map(|shape| shape.adi),
        cv2: shape.as_ref().map(|shape| shape.cv2),
        pattern: shape.as_ref().map(|shape| shape.pattern.to_owned()),
        method: foreseen.map(|foreseen| foreseen.method().to_owned()),
        method_chosen: foreseen.is_some_and(|foreseen| foreseen.outlook.chosen.is_some()),
        mean_per_month: foreseen.map(|foreseen| foreseen.month.mean()),
        low_per_month: foreseen.map(|foreseen| foreseen.month.quantile(0.1) as f64),
        high_per_month: foreseen.map(|foreseen| foreseen.month.quantile(0.9) as f64),
        methods: foreseen.map_or_else(Vec::new, methods),
        message,
    }
}

fn methods(foreseen: &Foreseen) -> Vec<SpareMethod> {
    let lines = foreseen.methods().into_iter().map(|method| SpareMethod {
        method: method.word.to_owned(),
        title: method.title.to_owned(),
        mean_per_month: method.mean,
        loss: method.error,
        weight: method.weight,
    });
    lines.collect()
}

fn lead_demand(lead: &LeadDemand, days: f64) -> SpareLeadDemand {
    let end = lead.pmf.quantile(1.0 - SHOWN_DOWN_TO) as usize;
    let parts = lead.parts.iter().map(|part| {
        let (what, message) = match part.kind {
            DemandKind::Failures => ("failures", "at a constant rate that is not known for sure"),
            DemandKind::WearOut => ("wear_out", "by the ages of the units"),
            DemandKind::NoFaultFound => ("no_fault_found", "removals without a fault"),
            DemandKind::Planned => ("planned", "battery changes and changes of the plant"),
            DemandKind::Consumption => ("history", "as it was handed out before"),
        };
        SpareDemandPart {
            what: what.to_owned(),
            mean: part.mean,
            variance: part.variance,
            message: message.to_owned(),
        }
    });
    SpareLeadDemand {
        days,
        mean: lead.pmf.mean(),
        variance: lead.pmf.variance(),
        probabilities: lead.pmf.weights().iter().take(end + 1).copied().collect(),
        parts: parts.collect(),
    }
}

fn curve(stock: &ModelStock, room: &RoomStock) -> SpareCurve {
    let leveled: &Leveled = &room.leveled;
    let enough = leveled.cover.random().quantile(0.9999);
    let most = enough.max(room.level.order_up_to).max(room.position()).min(MOST_STOCK);
    let by_stock = match stock.network {
        // The other storerooms keep what they have.
        Some(ref network) => network.by_stock(stock, room, most),
        None => (0..=most).map(|stock| (stock, leveled.service(stock))).collect(),
    };
    SpareCurve {
        storeroom: room.storeroom.clone(),
        by_stock: by_stock.into_iter().map(|(stock, of)| service(stock, &of)).collect(),
        held: pieces(room.position()),
        level: pieces(room.level.order_up_to),
    }
}
