//! What each rule of the verdict asks, and what a site may set about it.

use crate::rules::{Rule, Severity};

/// In the order of [`super::Rule::ALL`]; a test holds that.
pub(super) static SPECS: [Rule; 19] = [
    fixed("key", "Scheme and letters of the key on the base and of the module are equal."),
    stop("model", "The spare is of the model wanted, or of one that may stand in for it."),
    Rule {
        unknown: Severity::Caution,
        ..stop("base", "The spare is made for the kind of base that stands in the slot.")
    },
    Rule {
        source: "IEC 60079-25, separation of circuits; the rest is common practice, no source",
        ..fixed(
            "intrinsic-safety",
            "Intrinsically safe units go on intrinsically safe bases only, and no others do.",
        )
    },
    Rule {
        source: "IEC 60079-14 and IEC 60079-25, entity comparison",
        ..stop("entity", "Each intrinsically safe loop holds by its figures, cable included.")
    },
    fixed("place", "The spare lies where it can be taken from, and is installed nowhere."),
    fixed("slot-busy", "Neither slot nor spare takes part in another swap that is under way."),
    stop("condition", "The spare is good: neither suspect, failed nor in quarantine."),
    stop("revision", "The revision is not older than the slot allows."),
    stop("firmware", "The firmware is not older than the slot allows."),
    stop("channels", "The spare has every channel that a loop is wired to."),
    Rule { unknown: Severity::Caution, ..stop("width", "The spare is no wider than its slot.") },
    Rule {
        unknown: Severity::Note,
        ..stop("lifecycle", "The model is neither recalled nor discontinued.")
    },
    caution(
        "redundant-partner",
        "The redundant partner works and is of the same model, revision and firmware.",
    ),
    caution("battery", "The back-up battery in the spare covers the hold-up that is required."),
    Rule {
        unknown: Severity::Caution,
        source: "the rules supply-budget, supply-start and voltage of a line-up",
        ..stop("swap-supply", "The supply of the rail covers all that is on it after the swap.")
    },
    Rule {
        unknown: Severity::Caution,
        source: "the rules bus-units and bus-budget of a line-up",
        ..stop("swap-bus", "The bus of the rail serves all that is on it after the swap.")
    },
    Rule {
        source: "the rule cabinet-heat of a line-up",
        ..caution("swap-heat", "The cabinet stays cool enough after the swap.")
    },
    stop("reservation", "The spare is not kept for something else."),
];

/// A broken rule stops, and so do missing data.
const fn stop(name: &'static str, asks: &'static str) -> Rule {
    let (severity, unknown) = (Severity::Stop, Severity::Stop);
    Rule { name, asks, severity, unknown, fixed: false, limits: &[], source: COMMON }
}

const fn fixed(name: &'static str, asks: &'static str) -> Rule {
    Rule { fixed: true, ..stop(name, asks) }
}

const fn caution(name: &'static str, asks: &'static str) -> Rule {
    let (severity, unknown) = (Severity::Caution, Severity::Caution);
    Rule { severity, unknown, ..stop(name, asks) }
}

const COMMON: &str = "common practice, no source";
