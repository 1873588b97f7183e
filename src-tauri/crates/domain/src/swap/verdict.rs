//! The rules of the verdict, and how they become findings.

mod battery;
mod budget;
mod entity;
mod fit;
mod partner;
mod state;
mod version;

use super::{Finding, Rule, RuleOf, Seat, Severity, Situation, Spare};
use crate::model::PartNo;
use crate::rules;
use crate::rules::own::{Judges, Looked, OwnRule};
use foldhash::{HashMap, HashMapExt};

/// Compares a spare with a slot, rule by rule, and returns every finding.
///
/// Unknown data is a finding of its own and never a pass. The order is that of [`Rule::ALL`]. Rules
/// that the site has switched off say nothing; those that nobody may override are always asked. The
/// site's own rules come last and can only add to what ours find.
pub fn verdict(s: &Situation<'_>) -> Vec<Finding> {
    let ours = Rule::ALL.into_iter().flat_map(|rule| asked(rule, s));
    ours.chain(of_swaps(&s.seat.own).filter_map(|rule| asked_own(rule, s))).collect()
}

fn of_swaps(own: &[OwnRule]) -> impl Iterator<Item = &OwnRule> {
    own.iter().filter(|rule| rule.judges == Judges::Swap)
}

fn asked_own(rule: &OwnRule, s: &Situation<'_>) -> Option<Finding> {
    let said = rule.judge(&Looked::swap(s))?;
    Some(Finding {
        rule: RuleOf::Site(rule.name.clone()),
        severity: said.severity,
        unknown: said.unknown,
        compared: said.compared,
        to_do: said.to_do,
    })
}

/// Stops that nobody may override, by what the register alone says.
///
/// Asked whenever a swap begins or is read back from the journal, so it asks no more than was asked
/// when the oldest entries were made: unknown intrinsic safety and work elsewhere are left to
/// [`verdict`], whose findings the entry carries.
pub fn barred(s: &Situation<'_>) -> Option<Finding> {
    let fixed = Rule::ALL.into_iter().filter(|rule| !rule.can_be_overridden());
    let later = [Rule::IntrinsicSafety, Rule::SlotBusy];
    fixed.flat_map(|rule| asked(rule, s)).find(|finding| {
        let later = later.iter().any(|rule| finding.rule == *rule);
        finding.severity == Severity::Stop && !(finding.unknown && later)
    })
}

/// Judges many spares for one slot: what depends on the model alone is worked out once.
pub struct Judge<'a> {
    seat: &'a Seat,
    by_model: HashMap<PartNo, Shared>,
}

/// What depends on slot and model alone.
struct Shared {
    ours: Vec<Finding>,
    /// Of each own rule of swaps, in their order; none of those that look at the unit.
    own: Vec<Option<Finding>>,
}

impl<'a> Judge<'a> {
    pub fn new(seat: &'a Seat) -> Self {
        Self { seat, by_model: HashMap::new() }
    }

    /// The same findings as [`verdict`] gives.
    pub fn findings(&mut self, spare: &Spare) -> Vec<Finding> {
        let s = Situation { seat: self.seat, spare };
        if !self.by_model.contains_key(&spare.model.part_no) {
            let of_model = Rule::ALL.into_iter().filter(|rule| by_model(*rule));
            let own = of_swaps(&self.seat.own)
                .map(|rule| (!rule.asks_of_unit()).then(|| asked_own(rule, &s)).flatten());
            let shared = Shared {
                ours: of_model.flat_map(|rule| asked(rule, &s)).collect(),
                own: own.collect(),
            };
            self.by_model.insert(spare.model.part_no.clone(), shared);
        }
        let shared = &self.by_model[&spare.model.part_no];
        let mut ours = shared.ours.iter().peekable();
        let mut findings = Vec::with_capacity(Rule::ALL.len() + shared.own.len());
        for rule in Rule::ALL {
            if by_model(rule) {
                while let Some(finding) = ours.next_if(|finding| finding.rule == rule) {
                    findings.push(finding.clone());
                }
            } else {
                findings.extend(asked(rule, &s));
            }
        }
        for (rule, known) in of_swaps(&self.seat.own).zip(&shared.own) {
            match rule.asks_of_unit() {
                true => findings.extend(asked_own(rule, &s)),
                false => findings.extend(known.clone()),
            }
        }
        findings
    }
}

/// Whether a rule looks at slot and model only, never at the single unit.
fn by_model(rule: Rule) -> bool {
    use Rule::{
        Base, Bus, Channels, Entity, Heat, IntrinsicSafety, Lifecycle, Model, Supply, Width,
    };
    matches!(
        rule,
        Model
            | Base
            | IntrinsicSafety
            | Entity
            | Channels
            | Width
            | Lifecycle
            | Supply
            | Bus
            | Heat
    )
}

/// The worst severity of some findings; in order where there are none.
pub fn worst(findings: &[Finding]) -> Severity {
    findings.iter().map(|finding| finding.severity).max().unwrap_or(Severity::Pass)
}

/// What a rule says before the site's settings are looked at.
struct Said {
    how: How,
    compared: String,
    to_do: String,
}

#[derive(Clone, Copy, PartialEq)]
enum How {
    Passes,
    /// It is broken.
    Fails,
    /// It is broken in a way that is never worse than this.
    AtMost(Severity),
    Unknown,
    /// Something is unknown, which is never worse than this.
    UnknownAtMost(Severity),
}

fn said(how: How, compared: impl Into<String>, to_do: impl Into<String>) -> Said {
    Said { how, compared: compared.into(), to_do: to_do.into() }
}

fn passes(compared: impl Into<String>) -> Said {
    said(How::Passes, compared, "")
}

fn fails(compared: impl Into<String>, to_do: impl Into<String>) -> Said {
    said(How::Fails, compared, to_do)
}

fn unknown(compared: impl Into<String>, to_do: impl Into<String>) -> Said {
    said(How::Unknown, compared, to_do)
}

fn asked(rule: Rule, s: &Situation<'_>) -> Vec<Finding> {
    let kept = rules::kept(rule.spec(), &s.seat.settings);
    if !kept.on {
        return Vec::new();
    }
    let judge: fn(&Situation<'_>) -> Vec<Said> = match rule {
        Rule::Key => |s| vec![fit::key(s)],
        Rule::Model => |s| vec![fit::model(s)],
        Rule::Base => |s| vec![fit::base(s)],
        Rule::IntrinsicSafety => |s| fit::intrinsic_safety(s).into_iter().collect(),
        Rule::Width => |s| vec![fit::width(s)],
        Rule::Channels => |s| fit::channels(s).into_iter().collect(),
        Rule::Entity => entity::entity,
        Rule::Place => |s| vec![state::place(s)],
        Rule::Condition => |s| vec![state::condition(s)],
        Rule::SlotBusy => |s| vec![state::slot_busy(s)],
        Rule::Reservation => |s| vec![state::reservation(s)],
        Rule::Lifecycle => |s| vec![state::lifecycle(s)],
        Rule::Revision => |s| version::revision(s).into_iter().collect(),
        Rule::Firmware => |s| version::firmware(s).into_iter().collect(),
        Rule::Partner => |s| partner::partner(s).into_iter().collect(),
        Rule::Battery => |s| battery::battery(s).into_iter().collect(),
        Rule::Supply => budget::supply,
        Rule::Bus => budget::bus,
        Rule::Heat => budget::heat,
    };
    let found = judge(s).into_iter().map(|said| {
        let unknown = matches!(said.how, How::Unknown | How::UnknownAtMost(_));
        let severity = match said.how {
            How::Passes => Severity::Pass,
            How::Fails => kept.severity,
            How::AtMost(most) => kept.severity.min(most),
            How::Unknown => kept.unknown(),
            How::UnknownAtMost(most) => kept.unknown().min(most),
        };
        let rule = RuleOf::Ours(rule);
        Finding { rule, severity, unknown, compared: said.compared, to_do: said.to_do }
    });
    found.collect()
}
