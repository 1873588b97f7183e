use super::rules::SPECS;
use crate::rules;
pub use crate::rules::Severity;

/// One thing compared between slot and spare.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    pub rule: RuleOf,
    pub severity: Severity,
    /// Something that the rule needs is not recorded. Such a finding is never a pass.
    pub unknown: bool,
    /// What was compared, in one sentence.
    pub compared: String,
    /// What to do about it; empty when it is in order.
    pub to_do: String,
}

/// The rule that a finding is of.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum RuleOf {
    /// One of ours.
    Ours(Rule),
    /// One that the site added, by its name; the site may have taken it away since.
    Site(String),
}

impl RuleOf {
    pub fn name(&self) -> &str {
        match self {
            Self::Ours(rule) => rule.name(),
            Self::Site(name) => name,
        }
    }

    /// Whether a named person may take a stop of this rule upon themselves. What a site added, a
    /// person of the site may.
    pub fn can_be_overridden(&self) -> bool {
        match self {
            Self::Ours(rule) => rule.can_be_overridden(),
            Self::Site(_) => true,
        }
    }

    pub fn is_own(&self) -> bool {
        matches!(self, Self::Site(_))
    }
}

impl PartialEq<Rule> for RuleOf {
    fn eq(&self, rule: &Rule) -> bool {
        matches!(self, Self::Ours(ours) if ours == rule)
    }
}

/// The rules of the verdict, by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Rule {
    Key,
    Model,
    Base,
    IntrinsicSafety,
    Entity,
    Place,
    SlotBusy,
    Condition,
    Revision,
    Firmware,
    Channels,
    Width,
    Lifecycle,
    Partner,
    Battery,
    Supply,
    Bus,
    Heat,
    Reservation,
}

impl Rule {
    /// In the order in which findings are shown: what cannot be plugged or must not be energised
    /// comes first.
    pub const ALL: [Self; 19] = [
        Self::Key,
        Self::Model,
        Self::Base,
        Self::IntrinsicSafety,
        Self::Entity,
        Self::Place,
        Self::SlotBusy,
        Self::Condition,
        Self::Revision,
        Self::Firmware,
        Self::Channels,
        Self::Width,
        Self::Lifecycle,
        Self::Partner,
        Self::Battery,
        Self::Supply,
        Self::Bus,
        Self::Heat,
        Self::Reservation,
    ];

    /// What it asks and what a site may set about it.
    pub fn spec(self) -> &'static rules::Rule {
        &SPECS[self as usize]
    }

    /// Name of the rule in records, in the site's settings and on screens.
    pub fn name(self) -> &'static str {
        self.spec().name
    }

    pub fn parse(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|rule| rule.name() == name)
    }

    /// Whether a named person may take a stop of this rule upon themselves.
    ///
    /// A key that does not fit is mechanical, intrinsic safety protects people, and a unit
    /// cannot be in two places: nobody overrides those, and no site switches them off.
    pub fn can_be_overridden(self) -> bool {
        !self.spec().fixed
    }
}

/// What the rules ask and what a site may set about them.
pub fn specs() -> impl Iterator<Item = &'static rules::Rule> + Clone {
    SPECS.iter()
}
