//! The last purchase in words and in lines that open down to what it was reckoned from.

use super::spares_last::{Chance, MISSING_TIMES_PRICE};
use super::spares_last_need::{asked, away, by_year, coming};
use super::spares_sums::{day, given, money, sum};
use crate::wire::spares::SumLine;
use crate::wire::spares_last::LastChanceYear;
use slotkeep_domain::spares::LastBuy;

pub(super) fn sums(
    chance: &Chance<'_>,
    bought: &LastBuy,
    years: &[LastChanceYear],
) -> Vec<SumLine> {
    let mut all = vec![buy(chance, bought), cost(chance, bought), cover(chance, bought)];
    all.extend(away(chance));
    all.push(by_year(chance, bought, years));
    all
}

/// The purchase, down to costs, demand, what comes, and the shelf.
fn buy(chance: &Chance<'_>, bought: &LastBuy) -> SumLine {
    let ratio = chance.wanted_chance();
    let wanted = sum(
        "Wanted chance that it is enough",
        100.0 * ratio,
        "%",
        "cost of one too few over the costs of one too few and one too many: there one more piece \
         costs as much as it saves (newsvendor)",
        vec![too_few(chance), too_many(chance)],
    );
    let need = sum(
        "To have today, for that chance",
        bought.shortfall.quantile(ratio) as f64,
        "pieces",
        "what is asked for outruns what comes by no more than this, at its worst, with the wanted \
         chance; the whole distributions are used, and what comes later helps only later",
        vec![
            asked(chance, bought),
            given("Spread of that (standard deviation)", bought.demand_deviation, "pieces"),
            coming(chance, bought),
            given("Outruns it at its worst, on average", bought.shortfall.mean(), "pieces"),
        ],
    );
    let shelf = sum(
        "On the shelf",
        chance.on_hand as f64,
        "pieces",
        "usable, less what is kept for something and what is too old before it is wanted",
        vec![
            given(
                "Usable",
                chance.on_hand as f64 + f64::from(chance.reserved + chance.too_old),
                "pieces",
            ),
            given("Reserved", 0.0 - f64::from(chance.reserved), "pieces"),
            given("Too old before they are wanted", 0.0 - f64::from(chance.too_old), "pieces"),
        ],
    );
    let mut parts = vec![wanted, need, shelf];
    if bought.unlimited != bought.bought {
        let model = chance.model;
        parts.push(given("If any number could be bought", bought.unlimited as f64, "pieces"));
        parts.extend(model.min_order.map(|least| given("Least order", least, "pieces")));
        parts.extend(model.pack_size.map(|pack| given("In a pack", pack, "pieces")));
    }
    sum(
        "Buy",
        bought.bought as f64,
        "pieces",
        "what is to be had today less what is on the shelf; of the numbers that may be bought the \
         one with the least cost to expect",
        parts,
    )
}

fn too_few(chance: &Chance<'_>) -> SumLine {
    let price = chance.model.price_cents.filter(|price| *price > 0);
    let usual = price.and_then(|price| price.checked_mul(MISSING_TIMES_PRICE));
    let (rule, parts) = match (usual == Some(chance.too_few_cents), price) {
        (true, Some(price)) => ("four times its price", vec![money("Price", price, "", vec![])]),
        _ => ("", vec![]),
    };
    money("One too few", chance.too_few_cents, rule, parts)
}

fn too_many(chance: &Chance<'_>) -> SumLine {
    let own = chance.model.price_cents == Some(chance.too_many_cents);
    let parts = match own {
        true => vec![money("Price", chance.too_many_cents, "", vec![])],
        false => vec![],
    };
    money("One too many", chance.too_many_cents, if own { "its price" } else { "" }, parts)
}

/// What it costs to be wrong with this number.
fn cost(chance: &Chance<'_>, bought: &LastBuy) -> SumLine {
    let point = bought.curve.iter().find(|point| point.bought == bought.bought);
    let (short, left) = point.map_or((0.0, 0.0), |point| (point.short, point.left));
    let times = |what: &str, mean: f64, of: &str, each: SumLine, cents: i64| {
        let whole = (mean * cents as f64).round() as i64;
        money(what, whole, "pieces times the cost of each", vec![given(of, mean, "pieces"), each])
    };
    money(
        "Cost to expect of having too few or too many",
        bought.cost.round() as i64,
        "of each number it is the sum of these two; the list beside the curve has them all",
        vec![
            times("Too few", short, "Missing, on average", too_few(chance), chance.too_few_cents),
            times(
                "Too many",
                left,
                "Left over, on average",
                too_many(chance),
                chance.too_many_cents,
            ),
        ],
    )
}

/// When cover runs out, with nothing bought and with the purchase.
fn cover(chance: &Chance<'_>, bought: &LastBuy) -> SumLine {
    let at = |what: &str, found: Option<f64>| match found.and_then(|day| chance.day(day)) {
        Some(on) => day(what, Some(on), "", vec![]),
        None => day(&format!("{what}: not"), Some(chance.end()), "", vec![]),
    };
    let (nothing, with) = (&bought.nothing_bought, &bought.with_bought);
    let last = |cover: &slotkeep_domain::spares::Cover| 100.0 * cover.out_at(chance.end_d());
    let parts = vec![
        at("With a chance of 1 in 10 by", nothing.day_at(0.1)),
        given("Chance that it has run out at the end", last(nothing), "%"),
        at("With the purchase, as likely as not by", with.day_at(0.5)),
        given("Chance that it has run out at the end then", last(with), "%"),
        sum(
            "Chance that it is empty before a purchase of today is there",
            100.0 * bought.out_before_arrival,
            "%",
            "no purchase helps before it is there",
            vec![
                given("Lead time", chance.demand.lead_time.mean_d, "days"),
                day("There on", Some(chance.arrives_on()), "", vec![]),
            ],
        ),
    ];
    let rule = "the day by which a piece has been missing with a chance of one half: shelf, what \
                comes on its day, and what is asked for, followed month by month";
    match nothing.day_at(0.5).and_then(|day| chance.day(day)) {
        Some(on) => day("Cover runs out if nothing is bought", Some(on), rule, parts),
        None => {
            let what = "Cover lasts, as likely as not, if nothing is bought, until";
            day(what, Some(chance.end()), rule, parts)
        }
    }
}
