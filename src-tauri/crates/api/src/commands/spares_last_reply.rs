//! The last purchase as it is shown: figures, years, and what is to be said.

use super::spares_demand::UNKNOWN_LEAD_TIME_D;
use super::spares_last::Chance;
use super::spares_last_opened::sums;
use super::spares_level::prices;
use super::spares_line::pieces;
use crate::wire::spares_last::{LastChanceCost, LastChanceReply, LastChanceYear};
use chrono::Days;
use slotkeep_domain::spares::{BuyPoint, LastBuy};

pub(super) fn reply(chance: &Chance<'_>, bought: &LastBuy) -> LastChanceReply {
    let buy = bought.bought;
    let years = years(chance, bought);
    LastChanceReply {
        model: chance.model.part_no.to_string(),
        model_title: chance.model.title.clone(),
        last_order_on: chance.last_order_on,
        until: chance.until,
        shelf_until: chance.shelf_until,
        buy: pieces(buy),
        buy_unlimited: pieces(bought.unlimited),
        cost_cents: prices(chance.model)
            .map(|prices| prices.at(buy).saturating_mul(i64::from(pieces(buy)))),
        too_few_cents: chance.too_few_cents,
        too_many_cents: chance.too_many_cents,
        wanted_chance: chance.wanted_chance(),
        on_hand: pieces(chance.on_hand),
        on_order: pieces(bought.on_order),
        harvested: pieces(bought.harvested),
        repaired: bought.repaired_mean,
        coming: chance.coming.clone(),
        arrives_on: chance.arrives_on(),
        out_before_arrival: bought.out_before_arrival,
        demand_mean: bought.demand_mean,
        demand_p10: pieces(bought.demand.quantile(0.1)),
        demand_p50: pieces(bought.demand.quantile(0.5)),
        demand_p90: pieces(bought.demand.quantile(0.9)),
        enough: bought.shortfall.cdf(chance.on_hand + buy),
        runs_out_on: bought.nothing_bought.day_at(0.5).and_then(|day| chance.day(day)),
        runs_out_early_on: bought.nothing_bought.day_at(0.1).and_then(|day| chance.day(day)),
        then_runs_out_on: bought.with_bought.day_at(0.5).and_then(|day| chance.day(day)),
        by_quantity: bought.curve.iter().map(|point| cost(chance, point)).collect(),
        notes: notes(chance, bought),
        sum: sums(chance, bought, &years),
        message: message(chance, bought),
        years,
    }
}

fn cost(chance: &Chance<'_>, point: &BuyPoint) -> LastChanceCost {
    let few = point.short * chance.too_few_cents as f64;
    let many = point.left * chance.too_many_cents as f64;
    LastChanceCost {
        buy: pieces(point.bought),
        short: point.short,
        left: point.left,
        too_few_cents: few.round() as i64,
        too_many_cents: many.round() as i64,
        total_cents: (few + many).round() as i64,
        enough: 1.0 - point.run_out,
    }
}

/// Every twelfth month, and the end.
fn years(chance: &Chance<'_>, bought: &LastBuy) -> Vec<LastChanceYear> {
    let by_month = &bought.demand_by;
    let ends = by_month.iter().enumerate().filter(|(month, _)| (month + 1) % 12 == 0);
    let mut ends: Vec<(f64, f64)> = ends.map(|(_, end)| *end).collect();
    match (ends.last(), by_month.last()) {
        (Some(last), Some(end)) if last.0 < end.0 - 0.5 => ends.push(*end),
        (None, Some(end)) => ends.push(*end),
        _ => {}
    }
    let mut before = 0.0;
    let last = ends.len();
    let year = |(at, (day, asked)): (usize, (f64, f64))| {
        let by = |from: &str| -> u64 {
            let come = chance.arrivals(from).into_iter().filter(|it| it.day <= day);
            come.map(|it| it.pieces).sum()
        };
        let back = chance.yield_share() * by("repair") as f64;
        let come = (by("order") + by("removal")) as f64 + back;
        let there = chance.on_hand as f64 + come;
        let stands = &chance.demand.population;
        let changes = stands.changes.iter().filter(|it| it.day <= day);
        let change: f64 = changes.map(|it| it.units).sum();
        let until = chance.facts.today.checked_add_days(Days::new(day.round() as u64));
        let shown = LastChanceYear {
            until: until.filter(|_| at + 1 < last).unwrap_or_else(|| chance.end()),
            installed: (stands.units + change).max(0.0).round() as u32,
            demand: asked - before,
            harvested: pieces(by("removal")),
            come,
            without: there - asked,
            with: there + bought.bought as f64 - asked,
            out_without: bought.nothing_bought.out_at(day),
            out_with: bought.with_bought.out_at(day),
        };
        before = asked;
        shown
    };
    ends.into_iter().enumerate().map(year).collect()
}

fn message(chance: &Chance<'_>, bought: &LastBuy) -> String {
    let part_no = &chance.model.part_no;
    let end = chance.end();
    let without = match bought.nothing_bought.day_at(0.5).and_then(|day| chance.day(day)) {
        Some(on) => format!("without a purchase cover runs out about {on}"),
        None => format!("without a purchase it lasts to {end}, as likely as not"),
    };
    let enough = 100.0 * bought.shortfall.cdf(chance.on_hand + bought.bought);
    match bought.bought {
        0 => format!("{part_no}: nothing to buy until {end}; {without}"),
        buy => format!(
            "{part_no}: buy {buy} by {}; that is enough to {end} with {enough:.0} %; {without}",
            chance.last_order_on
        ),
    }
}

/// What bounds the purchase, and what is taken where nobody said it.
fn notes(chance: &Chance<'_>, bought: &LastBuy) -> Vec<String> {
    let mut notes = Vec::new();
    let model = chance.model;
    if let Some(until) = chance.shelf_until {
        notes.push(format!(
            "What is bought is past its shelf date on {until}, before {}: no purchase helps after \
             that, so nothing later is looked at.",
            chance.until
        ));
    }
    if bought.unlimited != bought.bought {
        let bounds = [
            model.min_order.map(|least| format!("no order is taken for fewer than {least}")),
            model.pack_size.map(|pack| format!("it comes in packs of {pack}")),
        ];
        let bounds: Vec<String> = bounds.into_iter().flatten().collect();
        notes.push(format!("{} would cost least, but {}.", bought.unlimited, bounds.join(" and ")));
    }
    if let Some(repair) = chance.demand.repair {
        let assumed = if repair.yield_assumed { ", as taken where no yield is stated" } else { "" };
        notes.push(format!(
            "{:.0} % of failed units come back from repair{assumed}; only those beyond repair ask \
             for a piece.",
            100.0 * repair.yield_share
        ));
    }
    if bought.out_before_arrival >= 0.05 {
        notes.push(format!(
            "With a chance of {:.0} % the shelf is empty before a purchase of today is there on {}.",
            100.0 * bought.out_before_arrival,
            chance.arrives_on()
        ));
    }
    if chance.demand.lead_time_assumed {
        notes.push(format!(
            "The catalogue gives no lead time; {UNKNOWN_LEAD_TIME_D} days are assumed."
        ));
    }
    if chance.demand_is_unknown() {
        notes.push(
            "No failure rate is known and nothing is planned, so nothing is asked for.".to_owned(),
        );
    }
    notes
}
