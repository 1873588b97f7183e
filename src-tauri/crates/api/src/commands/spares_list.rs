//! The lines of the order list, ranked, and kept where nothing happened to what they say.

use super::spares_known::Known;
use super::spares_line::{self, Priced};
use super::spares_stand_in::StandIns;
use crate::Failure;
use crate::wire::spares::SpareLine;
use slotkeep_domain::place::AbcBy;
use slotkeep_domain::spares::{Class, RankedBy, rank};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

/// The order list by the site's own rules, what matters most first.
pub(super) struct Listed {
    stand_ins: Arc<StandIns>,
    by_model: BTreeMap<String, Arc<Vec<Priced>>>,
    ranked: Vec<Ranked>,
    classes: Vec<Option<&'static str>>,
}

/// A line of a model.
struct Ranked {
    of_model: Arc<Vec<Priced>>,
    at: usize,
}

impl Ranked {
    fn priced(&self) -> &Priced {
        &self.of_model[self.at]
    }
}

/// A list from before something happened, and the models that it happened to.
pub(super) struct Before {
    list: Arc<Listed>,
    models: BTreeSet<String>,
}

impl Before {
    pub fn of(list: Arc<Listed>, models: BTreeSet<String>) -> Self {
        Self { list, models }
    }

    /// The same after more happened.
    pub fn and(&self, models: BTreeSet<String>) -> Self {
        Self { list: self.list.clone(), models: &self.models | &models }
    }

    /// The lines of a model, where they still say what is so: nothing happened to it or to what it
    /// names as stand-ins, and these do for it what they did.
    fn lines(
        &self,
        stand_ins: &StandIns,
        model: &str,
        other: &BTreeSet<&str>,
    ) -> Option<Arc<Vec<Priced>>> {
        let same = !other.contains(model)
            && self.list.stand_ins.of_model(model) == stand_ins.of_model(model);
        self.list.by_model.get(model).filter(|_| same).cloned()
    }
}

impl Listed {
    pub fn of(known: &Known<'_>, before: Option<&Before>) -> Result<Self, Failure> {
        let stand_ins = known.stand_ins()?;
        let stocks: HashMap<&str, _> = known
            .stocks()?
            .into_iter()
            .map(|(model, stock)| (model.part_no.as_str(), stock))
            .collect();
        let mut other: BTreeSet<&str> = BTreeSet::new();
        for model in before.into_iter().flat_map(|before| &before.models) {
            other.insert(model);
            other.extend(known.facts.ties.named_by(model).iter().map(String::as_str));
        }
        let of_each = known.of_each(|model| {
            let part_no = model.part_no.as_str();
            let Some(stock) = stocks.get(part_no) else { return Ok(None) };
            let kept = before.and_then(|before| before.lines(stand_ins, part_no, &other));
            let reckon = || Arc::new(spares_line::lines(known, model, stock, stand_ins));
            Ok(Some((part_no.to_owned(), kept.unwrap_or_else(reckon))))
        })?;
        let by_model: BTreeMap<String, Arc<Vec<Priced>>> = of_each.into_iter().flatten().collect();
        let ranked = ranked(&by_model);
        let classes = classes(&ranked, known.facts.rules.abc_by, known.facts.rules.abc_pct);
        Ok(Self { stand_ins: stand_ins.clone(), by_model, ranked, classes })
    }

    /// The lines that are wanted, with their places in the whole list.
    pub fn lines(&self, wanted: impl Fn(&SpareLine) -> bool) -> Vec<SpareLine> {
        self.wanted(wanted).map(|(rank, line)| told(rank, line, self.classes[rank - 1])).collect()
    }

    /// Those lines by their places, 1 first.
    pub fn wanted(
        &self,
        wanted: impl Fn(&SpareLine) -> bool,
    ) -> impl Iterator<Item = (usize, &SpareLine)> {
        let ranked = (1..).zip(self.ranked.iter().map(|it| &it.priced().line));
        ranked.filter(move |(_, line)| wanted(line))
    }

    /// Lines by their places as they are told, with the classes A, B and C by a rule.
    pub fn told(
        &self,
        known: &Known<'_>,
        abc_by: AbcBy,
        lines: &[(usize, &SpareLine)],
    ) -> Vec<SpareLine> {
        let rules = &known.facts.rules;
        let other = (abc_by != rules.abc_by).then(|| classes(&self.ranked, abc_by, rules.abc_pct));
        let classes = other.as_ref().unwrap_or(&self.classes);
        lines.iter().map(|(rank, line)| told(*rank, line, classes[rank - 1])).collect()
    }
}

fn told(rank: usize, line: &SpareLine, class: Option<&str>) -> SpareLine {
    let rank = u32::try_from(rank).unwrap_or(u32::MAX);
    SpareLine { rank, value_class: class.map(str::to_owned), ..line.clone() }
}

/// Whether something is to be ordered, fetched, or found that nobody sells. What is ordered as a
/// stand-in stands in the line of that one.
pub(super) fn to_act_on(line: &SpareLine) -> bool {
    let nowhere = line.lacking > 0 && line.ordered_as.is_none();
    line.order_now > 0 || line.fetch_now > 0 || nowhere
}

fn ranked(by_model: &BTreeMap<String, Arc<Vec<Priced>>>) -> Vec<Ranked> {
    // What is ordered in place of other models matters as they do.
    let mut instead: HashMap<&str, f64> = HashMap::new();
    for priced in by_model.values().flat_map(|lines| lines.iter()) {
        if let Some(stand_in) = &priced.line.ordered_as {
            *instead.entry(stand_in).or_default() += priced.matters;
        }
    }
    let mut ranked: Vec<(bool, f64, Ranked)> = Vec::new();
    for lines in by_model.values() {
        let first = lines.iter().position(|it| it.line.order_now > 0);
        for (at, priced) in lines.iter().enumerate() {
            let more = instead.get(priced.line.model.as_str()).filter(|_| first == Some(at));
            let matters = priced.matters + more.copied().unwrap_or(0.0);
            let ranked_here = Ranked { of_model: lines.clone(), at };
            ranked.push((!to_act_on(&priced.line), matters, ranked_here));
        }
    }
    // Stable: of equal ones the first by part number.
    ranked.sort_by(|a, b| a.0.cmp(&b.0).then(b.1.total_cmp(&a.1)));
    ranked.into_iter().map(|(_, _, ranked)| ranked).collect()
}

/// The classes A, B and C by yearly value; lines without a price have none.
fn classes(ranked: &[Ranked], abc_by: AbcBy, abc_pct: [f64; 2]) -> Vec<Option<&'static str>> {
    let mut classes = vec![None; ranked.len()];
    let priced = ranked.iter().enumerate();
    let (with, values): (Vec<usize>, Vec<f64>) =
        priced.filter_map(|(at, it)| Some((at, it.priced().yearly_cents?))).unzip();
    if values.iter().sum::<f64>() <= 0.0 {
        return classes;
    }
    let by = match abc_by {
        AbcBy::ShareBefore => RankedBy::ShareBefore,
        AbcBy::ShareAfter => RankedBy::ShareAfter,
    };
    let [first, second] = abc_pct;
    for ranked in rank(&values, first / 100.0, second / 100.0, by) {
        classes[with[ranked.item]] = Some(match ranked.class {
            Class::First => "A",
            Class::Second => "B",
            Class::Third => "C",
        });
    }
    classes
}
