use super::EntityInput;
use crate::model::EntityOutput;

/// What stands beside every result of [`entity_check`].
pub const CAUTION: &str = "This compares numbers typed in from certificates; it never certifies. \
    Work on intrinsically safe loops is for authorised, competent people.";

/// Source side of an intrinsically safe loop, from its certificate; unknown figures stay unknown.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct EntitySource {
    pub uo_v: Option<f64>,
    pub io_ma: Option<f64>,
    pub po_mw: Option<f64>,
    pub co_nf: Option<f64>,
    pub lo_mh: Option<f64>,
    pub lo_ro_uh_ohm: Option<f64>,
}

/// The cable between source and field device.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cable {
    pub length_m: Option<f64>,
    pub pf_per_m: f64,
    pub uh_per_m: f64,
    pub uh_per_ohm: f64,
}

impl Cable {
    /// A cable of unknown kind: 200 pF/m, 1 µH/m, 30 µH/Ω.
    ///
    /// Source: IEC 60079-25, section 9.3, as quoted on public pages.
    pub fn unknown_kind(length_m: Option<f64>) -> Self {
        Self { length_m, pf_per_m: 200.0, uh_per_m: 1.0, uh_per_ohm: 30.0 }
    }

    /// The cable of a loop: what is given for the whole cable, else by its length as one of
    /// unknown kind. Neither given makes the figure unknown.
    pub fn of(field: &EntityInput) -> Self {
        let usual = Self::unknown_kind(field.cable_m);
        let whole = |given: Option<f64>, per_m: f64| {
            let by_length = || field.cable_m.map(|length_m| length_m * per_m);
            given.map(|given| given * 1000.0).or_else(by_length).unwrap_or(f64::NAN)
        };
        // One metre that has all of it.
        Self {
            length_m: Some(1.0),
            pf_per_m: whole(field.cable_nf, usual.pf_per_m),
            uh_per_m: whole(field.cable_mh, usual.uh_per_m),
            uh_per_ohm: field.cable_uh_ohm.unwrap_or(usual.uh_per_ohm),
        }
    }
}

/// What was compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Comparison {
    Voltage,
    Current,
    Power,
    Capacitance,
    Inductance,
    /// Field device with both capacitance and inductance of weight: half of Co and Lo count.
    BothReactances,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Outcome {
    Holds,
    Fails,
    /// A figure is missing or is no number of zero or more; never a pass.
    Unknown,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EntityFinding {
    pub comparison: Comparison,
    pub outcome: Outcome,
    /// What was compared, with its numbers, and what to do where it does not hold.
    pub message: String,
}

/// Every comparison of a loop, whatever the others say.
#[derive(Debug, Clone, PartialEq)]
pub struct EntityCheck {
    pub findings: Vec<EntityFinding>,
    /// Whether every comparison holds.
    pub passes: bool,
    /// Ci and cable together, nF.
    pub capacitance_nf: Option<f64>,
    /// Li and cable together, mH.
    pub inductance_mh: Option<f64>,
    /// Longest cable by capacitance and by inductance, m; below zero where the field device alone
    /// is too much. Not counting the rule of both reactances.
    pub longest_by_capacitance_m: Option<f64>,
    pub longest_by_inductance_m: Option<f64>,
}

/// Compares the figures of source, field device and cable: Uo <= Ui, Io <= Ii, Po <= Pi,
/// Ci + cable <= Co, and Li + cable <= Lo or, where Li is at most 1 % of Lo, the cable's L/R
/// <= Lo/Ro. Where both Ci and Li are above 1 % of Co and Lo, half of Co and Lo count.
///
/// The cable's length comes from `cable`, not from the field side. Figures are compared to nine
/// digits. It never certifies, see [`CAUTION`].
///
/// Source: IEC 60079-14 and IEC 60079-25, entity comparison; the rules of 1 % and 50 % are from
/// memory of IEC 60079-14.
pub fn entity_check(source: &EntitySource, field: &EntityInput, cable: &Cable) -> EntityCheck {
    let limits = Limits::of(source, field, cable);
    let findings = vec![
        compare(Comparison::Voltage, ("Uo", source.uo_v), ("Ui", field.ui_v), "V"),
        compare(Comparison::Current, ("Io", source.io_ma), ("Ii", field.ii_ma), "mA"),
        compare(Comparison::Power, ("Po", source.po_mw), ("Pi", field.pi_mw), "mW"),
        compare(
            Comparison::Capacitance,
            ("Ci and cable", limits.capacitance_nf),
            ("Co", limits.co_nf),
            "nF",
        ),
        limits.inductance(),
        limits.both_reactances(),
    ];
    EntityCheck {
        passes: findings.iter().all(|finding| finding.outcome == Outcome::Holds),
        findings,
        capacitance_nf: limits.capacitance_nf,
        inductance_mh: limits.inductance_mh,
        longest_by_capacitance_m: longest(limits.co_nf, limits.ci_nf, cable.pf_per_m),
        longest_by_inductance_m: longest(limits.lo_mh, limits.li_mh, cable.uh_per_m),
    }
}

/// Returns the short-circuit current (mA) and matched power (mW) of a source of `uo_v` behind a
/// resistance: Io = Uo/R and Po = Uo·Io/4.
///
/// Source: resistive limitation, IEC 60079-11 and IEC 60079-25 (from memory).
pub fn linear_source(uo_v: f64, resistance_ohm: f64) -> (f64, f64) {
    let io_ma = uo_v / resistance_ohm * 1000.0;
    (io_ma, uo_v * io_ma / 4.0)
}

impl From<&EntityOutput> for EntitySource {
    fn from(output: &EntityOutput) -> Self {
        Self {
            uo_v: Some(output.uo_v),
            io_ma: Some(output.io_ma),
            po_mw: Some(output.po_mw),
            co_nf: output.co_nf,
            lo_mh: output.lo_mh,
            lo_ro_uh_ohm: output.lo_ro_uh_ohm,
        }
    }
}

/// The figures of the two reactances, those of no use taken out.
struct Limits {
    co_nf: Option<f64>,
    lo_mh: Option<f64>,
    lo_ro_uh_ohm: Option<f64>,
    ci_nf: Option<f64>,
    li_mh: Option<f64>,
    cable_uh_ohm: Option<f64>,
    capacitance_nf: Option<f64>,
    inductance_mh: Option<f64>,
}

impl Limits {
    fn of(source: &EntitySource, field: &EntityInput, cable: &Cable) -> Self {
        let (ci_nf, li_mh) = (known(field.ci_nf), known(field.li_mh));
        let length_m = known(cable.length_m);
        let with_cable = |own: Option<f64>, thousandths_per_m: f64| {
            Some(own? + length_m? * known(Some(thousandths_per_m))? / 1000.0)
        };
        Self {
            co_nf: known(source.co_nf),
            lo_mh: known(source.lo_mh),
            lo_ro_uh_ohm: known(source.lo_ro_uh_ohm),
            ci_nf,
            li_mh,
            cable_uh_ohm: known(Some(cable.uh_per_ohm)),
            capacitance_nf: with_cable(ci_nf, cable.pf_per_m),
            inductance_mh: with_cable(li_mh, cable.uh_per_m),
        }
    }

    fn inductance(&self) -> EntityFinding {
        let comparison = Comparison::Inductance;
        let (sum, lo) = (("Li and cable", self.inductance_mh), ("Lo", self.lo_mh));
        let by_sum = compare(comparison, sum, lo, "mH");
        let slight = match (self.li_mh, self.lo_mh) {
            (Some(li), Some(lo)) => at_most(li, lo / 100.0),
            (Some(li), None) => li == 0.0,
            _ => false,
        };
        if by_sum.outcome == Outcome::Holds || !slight || self.lo_ro_uh_ohm.is_none() {
            return by_sum;
        }
        let ratio = ("cable L/R", self.cable_uh_ohm);
        let by_ratio = compare(comparison, ratio, ("Lo/Ro", self.lo_ro_uh_ohm), "µH/Ω");
        if by_ratio.outcome == Outcome::Holds { by_ratio } else { by_sum }
    }

    fn both_reactances(&self) -> EntityFinding {
        let comparison = Comparison::BothReactances;
        let (Some(ci), Some(li), Some(co)) = (self.ci_nf, self.li_mh, self.co_nf) else {
            let message = "Whether half of Co and Lo count cannot be told without Ci, Li and Co: \
                           read them from the certificates."
                .to_owned();
            return EntityFinding { comparison, outcome: Outcome::Unknown, message };
        };
        let weighty =
            !at_most(ci, co / 100.0) && self.lo_mh.map_or(li > 0.0, |lo| !at_most(li, lo / 100.0));
        if !weighty {
            let message = "Ci or Li is at most 1 % of Co or Lo, so Co and Lo count in full.";
            return EntityFinding {
                comparison,
                outcome: Outcome::Holds,
                message: message.to_owned(),
            };
        }
        let half = |limit: Option<f64>| limit.map(|limit| limit / 2.0);
        let capacitance = compare(
            comparison,
            ("Ci and cable", self.capacitance_nf),
            ("half of Co", half(self.co_nf)),
            "nF",
        );
        let inductance = compare(
            comparison,
            ("Li and cable", self.inductance_mh),
            ("half of Lo", half(self.lo_mh)),
            "mH",
        );
        let outcome = match (capacitance.outcome, inductance.outcome) {
            (Outcome::Fails, _) | (_, Outcome::Fails) => Outcome::Fails,
            (Outcome::Unknown, _) | (_, Outcome::Unknown) => Outcome::Unknown,
            _ => Outcome::Holds,
        };
        let message = format!("{} {}", capacitance.message, inductance.message);
        EntityFinding { comparison, outcome, message }
    }
}

type Named = (&'static str, Option<f64>);

/// Compares a figure with its limit, both in `unit`.
fn compare(comparison: Comparison, value: Named, limit: Named, unit: &str) -> EntityFinding {
    let (outcome, message) = match (known(value.1), known(limit.1)) {
        (Some(figure), Some(most)) if at_most(figure, most) => (
            Outcome::Holds,
            format!(
                "{} {} {unit} is at most {} {} {unit}.",
                value.0,
                short(figure),
                limit.0,
                short(most)
            ),
        ),
        (Some(figure), Some(most)) => (
            Outcome::Fails,
            format!(
                "{} {} {unit} is more than {} {} {unit}: do not connect; choose another source, \
                 device or cable.",
                value.0,
                short(figure),
                limit.0,
                short(most)
            ),
        ),
        (figure, most) => {
            let missing: Vec<&str> = [(figure, value.0), (most, limit.0)]
                .into_iter()
                .filter(|(figure, _)| figure.is_none())
                .map(|(_, name)| name)
                .collect();
            let message = format!(
                "{} against {}: {} not known, so this is no pass; read it from the certificate or \
                 the drawing.",
                value.0,
                limit.0,
                missing.join(" and ")
            );
            (Outcome::Unknown, message)
        }
    };
    EntityFinding { comparison, outcome, message }
}

fn known(figure: Option<f64>) -> Option<f64> {
    figure.filter(|figure| figure.is_finite() && *figure >= 0.0)
}

/// Sums of decimal figures carry noise in the sixteenth digit, which must not decide.
fn at_most(figure: f64, limit: f64) -> bool {
    figure <= limit * (1.0 + 1e-9)
}

fn longest(limit: Option<f64>, own: Option<f64>, thousandths_per_m: f64) -> Option<f64> {
    let per_m = known(Some(thousandths_per_m)).filter(|per_m| *per_m > 0.0)?;
    Some((limit? - own?) / per_m * 1000.0)
}

fn short(figure: f64) -> f64 {
    (figure * 1e6).round() / 1e6
}
