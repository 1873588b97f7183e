//! The order list.

use super::spares_known::Gathered;
use super::spares_list::to_act_on;
use super::{spares_choice, spares_line};
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::spares::{
    SpareLine, SpareRules, SpareTarget, SpareTotals, SparesInput, SparesReply,
};
use crate::wire::words;
use slotkeep_domain::place::{AbcBy, SparesRules, Target};

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
        if let Some(class) = &input.class {
            spares_choice::class(class)?;
        }
        let list = known.list()?;
        let mut lines: Vec<(usize, &SpareLine)> = list.wanted(asked_for(&input)).collect();
        let totals = totals(&lines);
        lines.truncate(input.limit.map_or(usize::MAX, |limit| limit as usize));
        Ok(SparesReply {
            message: message(&totals),
            totals,
            rules: rules(&facts.rules, abc_by),
            lines: list.told(&known, abc_by, &lines),
        })
    })
}

/// Whether a line is asked for.
fn asked_for(input: &SparesInput) -> impl Fn(&SpareLine) -> bool {
    let find = input.find.as_deref().unwrap_or_default().to_lowercase();
    let words: Vec<String> = find.split_whitespace().map(str::to_owned).collect();
    let named = |wanted: &Option<String>, it: &str| {
        wanted.as_ref().is_none_or(|wanted| wanted.trim() == it)
    };
    move |line| {
        let said = || format!("{} {} {}", line.model, line.model_title, line.storeroom);
        let holds = |words: &[String]| {
            let said = said().to_lowercase();
            words.iter().all(|word| said.contains(word))
        };
        named(&input.model, &line.model)
            && named(&input.storeroom, &line.storeroom)
            && named(&input.class, &line.class)
            && (!input.to_order || to_act_on(line))
            && (!input.announced || line.last_order_on.is_some())
            && (words.is_empty() || holds(&words))
    }
}

/// Over all lines, in one go, since a large plant has a hundred thousand.
fn totals(lines: &[(usize, &SpareLine)]) -> SpareTotals {
    let mut totals = SpareTotals { lines: lines.len() as u32, ..SpareTotals::default() };
    for (_, line) in lines {
        totals.to_order += u32::from(line.order_now > 0);
        totals.to_fetch += u32::from(line.fetch_now > 0);
        totals.pieces += line.order_now;
        totals.cost_cents += line.cost_cents.unwrap_or(0);
        totals.without_price += u32::from(line.order_now > 0 && line.price_cents.is_none());
        totals.stock_cents += line.price_cents.unwrap_or(0) * i64::from(line.on_hand);
        totals.on_target += u32::from(spares_line::meets(line));
        // Pieces that work uses up are owed to nobody's place.
        if line.installed > 0 {
            totals.backorders += line.now.backorders;
            totals.backorders_at_level += line.at_level.backorders;
            totals.down_time_h += line.now.down_time_h;
            totals.down_time_at_level_h += line.at_level.down_time_h;
        }
    }
    totals
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
