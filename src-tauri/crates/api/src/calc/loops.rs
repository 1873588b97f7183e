use super::{Calc, Entry, above_zero, at_least_zero, entry};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::loops as domain;

pub(super) fn entries() -> Vec<Entry> {
    vec![entry::<EntityCheck>(), entry::<LinearSource>()]
}

/// Compares the figures of an intrinsically safe loop: Uo <= Ui, Io <= Ii, Po <= Pi,
/// Ci + cable <= Co, Li + cable <= Lo or cable L/R <= Lo/Ro. A figure left out is never a pass.
/// It compares numbers typed in from certificates; it never certifies.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct EntityCheck {
    source: Source,
    field: FieldDevice,
    cable: Cable,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Source {
    /// Highest voltage.
    uo_v: Option<f64>,
    /// Highest current.
    io_ma: Option<f64>,
    /// Highest power.
    po_mw: Option<f64>,
    /// Largest capacitance to connect.
    co_nf: Option<f64>,
    /// Largest inductance to connect.
    lo_mh: Option<f64>,
    /// Largest ratio of inductance and resistance to connect.
    lo_ro_uh_ohm: Option<f64>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct FieldDevice {
    /// Highest voltage that it stands.
    ui_v: Option<f64>,
    /// Highest current that it stands.
    ii_ma: Option<f64>,
    /// Highest power that it stands.
    pi_mw: Option<f64>,
    /// Own capacitance.
    ci_nf: Option<f64>,
    /// Own inductance.
    li_mh: Option<f64>,
}

/// Figures left out are those of a cable of unknown kind (IEC 60079-25, 9.3).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Cable {
    /// Length.
    length_m: Option<f64>,
    /// Capacitance (200).
    pf_per_m: Option<f64>,
    /// Inductance (1).
    uh_per_m: Option<f64>,
    /// Ratio of inductance and resistance (30).
    uh_per_ohm: Option<f64>,
}

#[derive(Serialize, JsonSchema)]
struct Checked {
    /// Whether every comparison holds.
    passes: bool,
    findings: Vec<Finding>,
    /// Of field device and cable.
    capacitance_nf: Option<f64>,
    /// Of field device and cable.
    inductance_mh: Option<f64>,
    /// Longest cable by capacitance; below zero where the device alone is too much.
    longest_by_capacitance_m: Option<f64>,
    /// Longest cable by inductance; below zero where the device alone is too much.
    longest_by_inductance_m: Option<f64>,
    /// To be shown with the result.
    caution: &'static str,
}

#[derive(Serialize, JsonSchema)]
struct Finding {
    /// What was compared.
    comparison: Comparison,
    /// Whether it holds.
    outcome: Outcome,
    /// With its numbers, and what to do.
    message: String,
}

#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
enum Comparison {
    Voltage,
    Current,
    Power,
    Capacitance,
    Inductance,
    BothReactances,
}

#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
enum Outcome {
    Holds,
    Fails,
    Unknown,
}

impl Calc for EntityCheck {
    const NAME: &'static str = "entity-check";
    type Reply = Checked;

    fn reckon(self) -> Result<Checked, String> {
        let source = domain::EntitySource {
            uo_v: self.source.uo_v,
            io_ma: self.source.io_ma,
            po_mw: self.source.po_mw,
            co_nf: self.source.co_nf,
            lo_mh: self.source.lo_mh,
            lo_ro_uh_ohm: self.source.lo_ro_uh_ohm,
        };
        let field = domain::EntityInput {
            ui_v: self.field.ui_v,
            ii_ma: self.field.ii_ma,
            pi_mw: self.field.pi_mw,
            ci_nf: self.field.ci_nf,
            li_mh: self.field.li_mh,
            cable_m: self.cable.length_m,
            ..domain::EntityInput::default()
        };
        let unknown = domain::Cable::unknown_kind(self.cable.length_m);
        let cable = domain::Cable {
            pf_per_m: self.cable.pf_per_m.unwrap_or(unknown.pf_per_m),
            uh_per_m: self.cable.uh_per_m.unwrap_or(unknown.uh_per_m),
            uh_per_ohm: self.cable.uh_per_ohm.unwrap_or(unknown.uh_per_ohm),
            ..unknown
        };
        let check = domain::entity_check(&source, &field, &cable);
        Ok(Checked {
            passes: check.passes,
            findings: check.findings.into_iter().map(Finding::from).collect(),
            capacitance_nf: check.capacitance_nf,
            inductance_mh: check.inductance_mh,
            longest_by_capacitance_m: check.longest_by_capacitance_m,
            longest_by_inductance_m: check.longest_by_inductance_m,
            caution: domain::CAUTION,
        })
    }
}

impl From<domain::EntityFinding> for Finding {
    fn from(finding: domain::EntityFinding) -> Self {
        let comparison = match finding.comparison {
            domain::Comparison::Voltage => Comparison::Voltage,
            domain::Comparison::Current => Comparison::Current,
            domain::Comparison::Power => Comparison::Power,
            domain::Comparison::Capacitance => Comparison::Capacitance,
            domain::Comparison::Inductance => Comparison::Inductance,
            domain::Comparison::BothReactances => Comparison::BothReactances,
        };
        let outcome = match finding.outcome {
            domain::Outcome::Holds => Outcome::Holds,
            domain::Outcome::Fails => Outcome::Fails,
            domain::Outcome::Unknown => Outcome::Unknown,
        };
        Self { comparison, outcome, message: finding.message }
    }
}

/// Short-circuit current and matched power of a source behind a resistance: Io = Uo/R, Po = Uo·Io/4.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct LinearSource {
    /// Open-circuit voltage.
    uo_v: f64,
    /// Limiting resistance.
    resistance_ohm: f64,
}

#[derive(Serialize, JsonSchema)]
struct SourceFigures {
    /// Short-circuit current.
    io_ma: f64,
    /// Matched power.
    po_mw: f64,
}

impl Calc for LinearSource {
    const NAME: &'static str = "linear-source";
    type Reply = SourceFigures;

    fn reckon(self) -> Result<SourceFigures, String> {
        let uo_v = at_least_zero("uo_v", self.uo_v)?;
        let resistance_ohm = above_zero("resistance_ohm", self.resistance_ohm)?;
        let (io_ma, po_mw) = domain::linear_source(uo_v, resistance_ohm);
        Ok(SourceFigures { io_ma, po_mw })
    }
}
