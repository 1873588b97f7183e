pub use crate::rules::Severity;

/// One thing compared between slot and candidate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    pub rule: Rule,
    pub severity: Severity,
    /// What was compared, in one sentence.
    pub compared: String,
    /// What to do about it; empty when it is in order.
    pub to_do: String,
}

/// The rules of the verdict, by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Rule {
    Key,
    Model,
    Revision,
    Firmware,
    IntrinsicSafety,
    Condition,
    Place,
    Width,
    Lifecycle,
    Partner,
    Battery,
    SlotBusy,
    Reservation,
}

impl Rule {
    pub const ALL: [Self; 13] = [
        Self::Key,
        Self::Model,
        Self::Revision,
        Self::Firmware,
        Self::IntrinsicSafety,
        Self::Condition,
        Self::Place,
        Self::Width,
        Self::Lifecycle,
        Self::Partner,
        Self::Battery,
        Self::SlotBusy,
        Self::Reservation,
    ];

    /// Name of the rule in records and on screens.
    pub fn name(self) -> &'static str {
        match self {
            Self::Key => "key",
            Self::Model => "model",
            Self::Revision => "revision",
            Self::Firmware => "firmware",
            Self::IntrinsicSafety => "intrinsic-safety",
            Self::Condition => "condition",
            Self::Place => "place",
            Self::Width => "width",
            Self::Lifecycle => "lifecycle",
            Self::Partner => "redundant-partner",
            Self::Battery => "battery",
            Self::SlotBusy => "slot-busy",
            Self::Reservation => "reservation",
        }
    }

    pub fn parse(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|rule| rule.name() == name)
    }

    /// Whether a named person may take a stop of this rule upon themselves.
    ///
    /// A key that does not fit is mechanical, intrinsic safety protects people, and a unit
    /// cannot be in two places: nobody overrides those.
    pub fn can_be_overridden(self) -> bool {
        !matches!(self, Self::Key | Self::IntrinsicSafety | Self::Place | Self::SlotBusy)
    }
}
