use schemars::JsonSchema;
use serde::Serialize;
use slotkeep_domain::journal::Refusal;
use slotkeep_store::StoreFault;

/// Why a command did nothing, in a sentence for the person who asked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema, thiserror::Error)]
#[error("{message}")]
pub struct Failure {
    pub kind: FailureKind,
    /// What is wrong, which thing, and what to do.
    pub message: String,
    /// Single places that are wrong, where there are several.
    pub details: Vec<Detail>,
}

/// What a caller may do about a failure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum FailureKind {
    /// The input cannot be read: correct it.
    BadInput,
    /// Nobody is known at this device: let it in first.
    NotIdentified,
    /// The person's roles do not include this.
    NotAllowed,
    /// The thing, or the command, does not exist.
    NotFound,
    /// The register or a rule of the trade is against it.
    Refused,
    /// It came from a device's outbox and no longer fits: kept for a person to settle.
    SetAside,
    /// The program or the store failed.
    Broken,
}

/// One wrong place among several.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Detail {
    /// File, line and column, or the name of a rule.
    pub place: String,
    pub message: String,
}

impl Failure {
    pub fn new(kind: FailureKind, message: impl Into<String>) -> Self {
        Self { kind, message: message.into(), details: Vec::new() }
    }

    pub fn bad_input(message: impl Into<String>) -> Self {
        Self::new(FailureKind::BadInput, message)
    }

    pub fn not_found(message: impl Into<String>) -> Self {
        Self::new(FailureKind::NotFound, message)
    }

    pub fn refused(message: impl Into<String>) -> Self {
        Self::new(FailureKind::Refused, message)
    }
}

impl From<Refusal> for Failure {
    fn from(refusal: Refusal) -> Self {
        Self::refused(refusal.to_string())
    }
}

impl From<StoreFault> for Failure {
    fn from(fault: StoreFault) -> Self {
        let kind = match fault {
            StoreFault::Refused(_) | StoreFault::IdTaken(_) | StoreFault::File { .. } => {
                FailureKind::Refused
            }
            _ => FailureKind::Broken,
        };
        Self::new(kind, fault.to_string())
    }
}
