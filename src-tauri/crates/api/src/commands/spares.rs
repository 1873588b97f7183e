//! The order list.

use super::spares_demand::Known;
use super::spares_facts::Facts;
use super::spares_known::Gathered;
use super::spares_line::{self, Priced};
use super::spares_stand_in::StandIns;
use super::spares_stock::ModelStock;
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::spares::{
    SpareLine, SpareRules, SpareTarget, SpareTotals, SparesInput, SparesReply,
};
use crate::wire::words;
use slotkeep_domain::place::{AbcBy, SparesRules, Target};
use slotkeep_domain::spares::{Class, RankedBy, rank};

pub(super) fn commands() -> Vec<Command> {
    vec![table::ask(
        "spares.table",
        "Says what to hold of each model and what to order now, and why.",
        spares,
    )]
}

fn spares(ask: &Ask<'_>, input: SparesInput) -> Result<SparesReply, Failure> {
    ask.read(|r| {
        let gathered = Gathered::of(ask, r)?;
        let known = gathered.known();
        let facts = known.facts;
        let abc_by = match input.abc_by.as_deref() {
            None => facts.rules.abc_by,
            Some(word) => parse_abc(word)?,
        };
        if let Some(model) = &input.model {
            facts.model(model)?;
        }
        if let Some(storeroom) = &input.storeroom {
            facts.storeroom(storeroom)?;
        }
        let mut lines = lines(&known, abc_by)?;
        let named = |wanted: &Option<String>, it: &str| {
            wanted.as_ref().is_none_or(|wanted| wanted.trim() == it)
        };
        lines.retain(|line| {
            named(&input.model, &line.model)
                && named(&input.storeroom, &line.storeroom)
                && (!input.to_order || to_act_on(line))
        });
        let totals = totals(facts, &lines);
        Ok(SparesReply {
            message: message(&totals),
            totals,
            rules: rules(&facts.rules, abc_by),
            lines,
        })
    })
}

/// Whether something is to be ordered, fetched, or found that nobody sells. What is ordered as a
/// stand-in stands in the line of that one.
fn to_act_on(line: &SpareLine) -> bool {
    let nowhere = line.lacking > 0 && line.ordered_as.is_none();
    line.order_now > 0 || line.fetch_now > 0 || nowhere
}

/// Every line, what matters most first.
pub(super) fn lines(known: &Known<'_>, abc_by: AbcBy) -> Result<Vec<SpareLine>, Failure> {
    if abc_by != known.facts.rules.abc_by {
        return reckoned(known, abc_by);
    }
    if let Some(lines) = known.lines.get() {
        return Ok(lines.clone());
    }
    let lines = reckoned(known, abc_by)?;
    Ok(known.lines.get_or_init(|| lines).clone())
}

fn reckoned(known: &Known<'_>, abc_by: AbcBy) -> Result<Vec<SpareLine>, Failure> {
    let stocks = ModelStock::all(known)?;
    let stand_ins = StandIns::of(known, &stocks)?;
    let mut priced = Vec::new();
    for (model, stock) in &stocks {
        priced.extend(spares_line::lines(known, model, stock, &stand_ins));
    }
    spares_line::weigh(&mut priced);
    by_value(known, abc_by, &mut priced);
    priced.sort_by(|a, b| {
        let waits = |it: &Priced| !to_act_on(&it.line);
        waits(a)
            .cmp(&waits(b))
            .then(b.matters.total_cmp(&a.matters))
            .then_with(|| a.line.model.cmp(&b.line.model))
    });
    let ranked = (1..).zip(priced).map(|(rank, priced)| SpareLine { rank, ..priced.line });
    Ok(ranked.collect())
}

/// Gives the classes A, B and C by yearly value; lines without a price have none.
fn by_value(known: &Known<'_>, abc_by: AbcBy, priced: &mut [Priced]) {
    let with: Vec<usize> =
        (0..priced.len()).filter(|at| priced[*at].yearly_cents.is_some()).collect();
    let values: Vec<f64> = with.iter().filter_map(|at| priced[*at].yearly_cents).collect();
    if values.iter().sum::<f64>() <= 0.0 {
        return;
    }
    let by = match abc_by {
        AbcBy::ShareBefore => RankedBy::ShareBefore,
        AbcBy::ShareAfter => RankedBy::ShareAfter,
    };
    let [first, second] = known.facts.rules.abc_pct;
    for ranked in rank(&values, first / 100.0, second / 100.0, by) {
        let class = match ranked.class {
            Class::First => "A",
            Class::Second => "B",
            Class::Third => "C",
        };
        priced[with[ranked.item]].line.value_class = Some(class.to_owned());
    }
}

pub(super) fn totals(facts: &Facts, lines: &[SpareLine]) -> SpareTotals {
    let count = |keep: &dyn Fn(&&SpareLine) -> bool| lines.iter().filter(keep).count() as u32;
    // Pieces that work uses up are owed to nobody's place.
    let places = || lines.iter().filter(|line| line.installed > 0);
    let sum = |of: &dyn Fn(&SpareLine) -> f64| places().map(of).sum::<f64>();
    SpareTotals {
        lines: lines.len() as u32,
        to_order: count(&|line| line.order_now > 0),
        to_fetch: count(&|line| line.fetch_now > 0),
        pieces: lines.iter().map(|line| line.order_now).sum(),
        cost_cents: lines.iter().filter_map(|line| line.cost_cents).sum(),
        without_price: count(&|line| line.order_now > 0 && line.price_cents.is_none()),
        stock_cents: lines
            .iter()
            .map(|line| line.price_cents.unwrap_or(0) * i64::from(line.on_hand))
            .sum(),
        on_target: count(&|line| spares_line::meets(facts, line)),
        backorders: sum(&|line| line.now.backorders),
        backorders_at_level: sum(&|line| line.at_level.backorders),
        down_time_h: sum(&|line| line.now.down_time_h),
        down_time_at_level_h: sum(&|line| line.at_level.down_time_h),
    }
}

fn message(totals: &SpareTotals) -> String {
    let lines = match totals.lines {
        0 => return "Nothing to hold: no model is installed, in stock or planned.".to_owned(),
        1 => "1 line".to_owned(),
        lines => format!("{lines} lines"),
    };
    let money = format!("{}.{:02}", totals.cost_cents / 100, totals.cost_cents % 100);
    let order = match totals.to_order {
        0 => "nothing to order".to_owned(),
        1 => format!("1 to order for {money}"),
        more => format!("{more} to order for {money}"),
    };
    let unpriced = match totals.without_price {
        0 => String::new(),
        some => format!(", {some} of them without a price"),
    };
    format!(
        "{lines}: {order}{unpriced}; places stand empty {:.1} h a year with what is there, {:.1} h \
         at the levels.",
        totals.down_time_h, totals.down_time_at_level_h
    )
}

fn rules(rules: &SparesRules, abc_by: AbcBy) -> SpareRules {
    SpareRules {
        vital: target(&rules.targets.vital),
        essential: target(&rules.targets.essential),
        desirable: target(&rules.targets.desirable),
        abc_by: words::abc_by(abc_by).to_owned(),
        abc_pct: rules.abc_pct.to_vec(),
        xyz_cv: rules.xyz_cv.to_vec(),
        review_d: rules.review_d,
        lateral: rules.lateral,
    }
}

pub(super) fn target(target: &Target) -> SpareTarget {
    SpareTarget { measure: target.measure.word().to_owned(), value: target.value }
}

fn parse_abc(word: &str) -> Result<AbcBy, Failure> {
    match word {
        "share_before" => Ok(AbcBy::ShareBefore),
        "share_after" => Ok(AbcBy::ShareAfter),
        _ => Err(Failure::bad_input(format!(
            "{word:?} is no rule for the classes by value: write share_before or share_after"
        ))),
    }
}
