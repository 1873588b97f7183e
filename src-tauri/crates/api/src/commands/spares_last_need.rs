//! What is asked for until the end and what comes without a purchase, as lines that open.

use super::spares_facts::fails;
use super::spares_last::Chance;
use super::spares_opened_rate;
use super::spares_sums::{day, given, sum};
use crate::wire::spares::SumLine;
use crate::wire::spares_last::LastChanceYear;
use slotkeep_domain::spares::{DemandKind, Failing, LastBuy, LeadDemand};

/// What is asked for until the end, each part down to hours and rate.
pub(super) fn asked(chance: &Chance<'_>, bought: &LastBuy) -> SumLine {
    let within = chance.demand.within(chance.end_d()).ok();
    let mut parts = vec![failures(chance, bought, within.as_ref())];
    let end_d = chance.end_d();
    let held = chance.facts.of(chance.model.part_no.as_str());
    let cells = held.changes.iter().map(|it| ("Battery change", it.on, it.pieces));
    let plant = held.population.iter().filter(|it| it.from_stock > 0);
    let plant = plant.map(|it| (it.reason.as_str(), it.on, it.from_stock));
    let planned: Vec<SumLine> = cells
        .chain(plant)
        .filter(|(_, on, _)| *on <= chance.end() && !chance.demand.planned.is_empty())
        .map(|(what, on, n)| {
            sum(what, n, "pieces", "on a known day", vec![day("Day", Some(on), "", vec![])])
        })
        .collect();
    if !planned.is_empty() {
        let pieces = chance.demand.planned_until(end_d);
        parts.push(sum("Planned", pieces, "pieces", "known pieces", planned));
    }
    let no_fault = within.iter().flat_map(|within| &within.parts);
    let no_fault = no_fault.filter(|it| it.kind == DemandKind::NoFaultFound);
    for it in no_fault {
        parts.push(sum(
            "For removals without a fault",
            0.0,
            "pieces",
            "such a unit comes back to the shelf, so it asks for no purchase",
            vec![given("Removals to expect", it.mean, "")],
        ));
    }
    parts.push(day("The end", Some(chance.end()), "", Vec::new()));
    sum(
        "Asked for until the end, on average",
        bought.demand_mean,
        "pieces",
        "the sum of these",
        parts,
    )
}

/// Failures beyond repair, or what is handed out by the forecast.
fn failures(chance: &Chance<'_>, bought: &LastBuy, within: Option<&LeadDemand>) -> SumLine {
    let months = chance.end_d() / slotkeep_domain::spares::DAYS_PER_MONTH;
    if chance.demand.month.is_some() {
        return sum(
            "Handed out, by the forecast",
            bought.failures_mean,
            "pieces",
            "the forecast of a month times months; its spread is that of each month, and of a level \
             that is known only as well as the months on record say",
            vec![
                given("Months", months, ""),
                given("A month, on average", bought.failures_mean / months, "pieces"),
            ],
        );
    }
    let beyond = 1.0 - chance.yield_share();
    let rate = chance.known.rates.of(chance.model.part_no.as_str());
    let rate = rate.filter(|_| fails(chance.model));
    let ways = [DemandKind::Failures, DemandKind::WearOut];
    let all = within.iter().flat_map(|within| &within.parts);
    let all: f64 = all.filter(|it| ways.contains(&it.kind)).map(|it| it.mean).sum();
    let (rule, mut under) = match chance.demand.failing() {
        Failing::Wearing { .. } => {
            ("renewals of an ageing population by the life learned", Vec::new())
        }
        _ => ("unit-hours weighted by heat times the failure rate", hours(chance, within)),
    };
    if let Some(rate) = rate {
        under.extend(rate.learned.as_ref().ok().map(spares_opened_rate::learned));
        under.push(spares_opened_rate::heat(rate));
    }
    sum(
        "Failures beyond repair",
        bought.failures_mean,
        "pieces",
        "failures times the share that is not repaired; a unit that is repaired comes back, so it \
         asks for no purchase",
        vec![
            sum("Failures", all, "", rule, under),
            given("Share beyond repair", 100.0 * beyond, "%"),
        ],
    )
}

fn hours(chance: &Chance<'_>, within: Option<&LeadDemand>) -> Vec<SumLine> {
    let Some(within) = within else { return Vec::new() };
    let stands = &chance.demand.population;
    let held = chance.facts.of(chance.model.part_no.as_str());
    let changes = held.population.iter().filter(|it| it.installed_change != 0);
    let changes = changes.filter(|it| it.on <= chance.end()).map(|it| {
        let parts = vec![day("Day", Some(it.on), "", vec![])];
        sum(&it.reason, it.installed_change, "units", "on a known day", parts)
    });
    let mut under = vec![given("Installed now", stands.units, "units")];
    under.extend(changes);
    under.push(given("Unit-hours, not weighted", within.hours_h, "h"));
    let rule = "units times hours, each weighted by how warm it stands; those that planned \
                changes take out or add until and from their day";
    vec![sum("Unit-hours weighted by heat", within.weighted_h, "h", rule, under)]
}

/// What comes without a purchase, each on its day.
pub(super) fn coming(chance: &Chance<'_>, bought: &LastBuy) -> SumLine {
    let of = |from: &str, what: &str, value: f64, rule: &str| {
        let here = chance.coming.iter().filter(|it| it.from == from);
        let parts: Vec<SumLine> = here
            .map(|it| {
                let mut parts = vec![day("Day", Some(it.on), "", vec![])];
                if it.chance < 1.0 {
                    parts.push(given("Chance of each", 100.0 * it.chance, "%"));
                }
                sum(&it.what, it.pieces, "pieces", "on its day", parts)
            })
            .collect();
        sum(what, value, "pieces", rule, parts)
    };
    let mut parts = vec![
        of("order", "On order", bought.on_order as f64, "each order on the day it is due"),
        of(
            "removal",
            "Set free by planned removals",
            bought.harvested as f64,
            "each from the day of its removal on",
        ),
        of(
            "repair",
            "Back from repair, on average",
            bought.repaired_mean,
            "units that are away now times the share that comes back",
        ),
    ];
    parts.retain(|it| it.value != Some(0.0));
    let all = (bought.on_order + bought.harvested) as f64 + bought.repaired_mean;
    sum("Comes without a purchase", all, "pieces", "the sum of these", parts)
}

/// Units that are on their round of repair, which the purchase does not count.
pub(super) fn away(chance: &Chance<'_>) -> Option<SumLine> {
    let repair = chance.demand.repair?;
    let year_d = super::spares_demand::YEAR_D;
    let year = chance.demand.within(year_d).ok()?;
    let ways = [DemandKind::Failures, DemandKind::WearOut];
    let failures = year.parts.iter().filter(|it| ways.contains(&it.kind));
    let failures: f64 = failures.map(|it| it.mean).sum();
    Some(sum(
        "Away for repair at a moment, not counted here",
        failures * repair.yield_share * repair.turn_round_d / year_d,
        "units",
        "failures of the next year that are repaired, times the part of a year that each is away; \
         they come back, so no purchase is made for them, but a place may wait meanwhile",
        vec![
            given("Failures of the next year", failures, ""),
            given("Share that comes back", 100.0 * repair.yield_share, "%"),
            given("Turn-round of a repair", repair.turn_round_d, "days"),
        ],
    ))
}

/// The years as they are listed, each down to its parts.
pub(super) fn by_year(chance: &Chance<'_>, bought: &LastBuy, years: &[LastChanceYear]) -> SumLine {
    let mut asked = 0.0;
    let lines: Vec<SumLine> = years
        .iter()
        .zip(1..)
        .map(|(year, number)| {
            asked += year.demand;
            sum(
                &format!("Year {number}"),
                year.with,
                "pieces",
                "shelf, what has come and what was bought, less what was asked for, on average; \
                 below nothing where more is owed than lies there",
                vec![
                    day("Until", Some(year.until), "", Vec::new()),
                    given("On the shelf today", chance.on_hand as f64, "pieces"),
                    given("Come without a purchase", year.come, "pieces"),
                    given("Bought", bought.bought as f64, "pieces"),
                    given("Asked for, this year", 0.0 - year.demand, "pieces"),
                    given("Asked for, in the years before", year.demand - asked, "pieces"),
                    given("Installed then", year.installed, "units"),
                ],
            )
        })
        .collect();
    let last = years.last().map_or(0.0, |year| year.with);
    sum("Stock in the end, on average", last, "pieces", "year by year", lines)
}
