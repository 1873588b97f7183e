use super::{Judge, LineupRule, keys, on_bus, power, row, safe};
use crate::lineup::{COEFFICIENT_W_M2_K, DERATING_FROM_C, DERATING_PCT_K};
use crate::rules::{Limit, Rule, Severity};
use Severity::{Caution, Note, Stop};

const PRACTICE: &str = "common practice, no source";

/// The rules of a line-up, in the order in which they are looked at.
pub const RULES: &[LineupRule] = &[
    LineupRule {
        spec: Rule {
            name: "touching",
            asks: "Every item touches the next one.",
            severity: Caution,
            unknown: Caution,
            fixed: false,
            limits: &[GAP],
            source: PRACTICE,
        },
        judge: Judge::Rail(row::touching),
    },
    LineupRule {
        spec: Rule {
            name: "rail-length",
            asks: "All items, with widths of the catalogue, fit on the rail (IEC 60715, TH 35).",
            severity: Stop,
            unknown: Caution,
            fixed: false,
            limits: &[],
            source: "sum of widths",
        },
        judge: Judge::Rail(row::length),
    },
    LineupRule {
        spec: Rule {
            name: "item-width",
            asks: "Widths of the register are those of the catalogue.",
            severity: Caution,
            unknown: Note,
            fixed: false,
            limits: &[],
            source: "the register against the catalogue",
        },
        judge: Judge::Rail(row::widths),
    },
    LineupRule {
        spec: Rule {
            name: "end-supports",
            asks: "An end support holds each end of the row.",
            severity: Caution,
            unknown: Caution,
            fixed: false,
            limits: &[],
            source: PRACTICE,
        },
        judge: Judge::Rail(row::end_supports),
    },
    LineupRule {
        spec: Rule {
            name: "slot-numbers",
            asks: "Every position has a number of its own.",
            severity: Stop,
            unknown: Note,
            fixed: false,
            limits: &[],
            source: "the register's own order",
        },
        judge: Judge::Rail(row::numbers),
    },
    LineupRule {
        spec: Rule {
            name: "empty-bases",
            asks: "Every base carries a module.",
            severity: Note,
            unknown: Note,
            fixed: false,
            limits: &[],
            source: PRACTICE,
        },
        judge: Judge::Rail(row::empty_bases),
    },
    LineupRule {
        spec: Rule {
            name: "bus-ends",
            asks: "Each end of every bus is closed by exactly one terminator.",
            severity: Stop,
            unknown: Caution,
            fixed: false,
            limits: &[],
            source: PRACTICE,
        },
        judge: Judge::Rail(on_bus::ends),
    },
    LineupRule {
        spec: Rule {
            name: "bus-passes",
            asks: "Nothing is missing between the units of a bus.",
            severity: Stop,
            unknown: Caution,
            fixed: false,
            limits: &[GAP],
            source: PRACTICE,
        },
        judge: Judge::Rail(on_bus::passes),
    },
    LineupRule {
        spec: Rule {
            name: "bus-positions",
            asks: "The register says inner or end as the units stand.",
            severity: Caution,
            unknown: Note,
            fixed: false,
            limits: &[],
            source: "the register's own order",
        },
        judge: Judge::Rail(on_bus::positions),
    },
    LineupRule {
        spec: Rule {
            name: "bus-units",
            asks: "A bus has no more units than what heads it allows.",
            severity: Stop,
            unknown: Note,
            fixed: false,
            limits: &[Limit {
                name: "units",
                doc: "Units on a bus whose head states no number; 0: not known.",
                value: 0.0,
                least: 0.0,
                most: 10_000.0,
            }],
            source: "the catalogue",
        },
        judge: Judge::Rail(on_bus::units),
    },
    LineupRule {
        spec: Rule {
            name: "bus-budget",
            asks: "Units draw no more from a bus than what heads it delivers.",
            severity: Stop,
            unknown: Note,
            fixed: false,
            limits: &[],
            source: "sum of currents",
        },
        judge: Judge::Rail(on_bus::budget),
    },
    LineupRule {
        spec: Rule {
            name: "bus-addresses",
            asks: "No address stands twice on a bus.",
            severity: Stop,
            unknown: Note,
            fixed: false,
            limits: &[],
            source: PRACTICE,
        },
        judge: Judge::Rail(on_bus::addresses),
    },
    LineupRule {
        spec: Rule {
            name: "keys",
            asks: "Bases and the modules on them have the same key.",
            severity: Stop,
            unknown: Stop,
            fixed: true,
            limits: &[],
            source: "mechanical: keys that differ do not plug",
        },
        judge: Judge::Rail(keys::agree),
    },
    LineupRule {
        spec: Rule {
            name: "shared-key",
            asks: "The key of an empty base admits no model but the right one.",
            severity: Caution,
            unknown: Note,
            fixed: false,
            limits: &[],
            source: PRACTICE,
        },
        judge: Judge::Rail(keys::shared),
    },
    LineupRule {
        spec: Rule {
            name: "safe-inlet",
            asks: "Intrinsically safe bases have a supply inlet of their own.",
            severity: Stop,
            unknown: Stop,
            fixed: true,
            limits: &[],
            source: PRACTICE,
        },
        judge: Judge::Rail(safe::inlet),
    },
    LineupRule {
        spec: Rule {
            name: "safe-grouped",
            asks: "Intrinsically safe bases stand together.",
            severity: Caution,
            unknown: Caution,
            fixed: false,
            limits: &[],
            source: PRACTICE,
        },
        judge: Judge::Rail(safe::grouped),
    },
    LineupRule {
        spec: Rule {
            name: "safe-distance",
            asks: "Intrinsically safe bases keep their distance to terminals of other circuits.",
            severity: Stop,
            unknown: Stop,
            fixed: true,
            limits: &[Limit {
                name: "distance_mm",
                doc: "Distance where the catalogue states none; less only where it is certified.",
                value: 50.0,
                least: 6.0,
                most: 500.0,
            }],
            source: "50 mm between terminals: IEC 60079-11 and IEC 60079-14, from memory",
        },
        judge: Judge::Rail(safe::distance),
    },
    LineupRule {
        spec: Rule {
            name: "supply-budget",
            asks: "The power supplies cover all units at the cabinet's temperature.",
            severity: Stop,
            unknown: Caution,
            fixed: false,
            limits: &[
                FROM_C,
                PCT_K,
                Limit {
                    name: "reserve_pct",
                    doc: "Share of the supply that is to stay free, %.",
                    value: 0.0,
                    least: 0.0,
                    most: 90.0,
                },
            ],
            source: "sum of currents; derating is common practice where the catalogue is silent",
        },
        judge: Judge::Rail(power::budget),
    },
    LineupRule {
        spec: Rule {
            name: "supply-start",
            asks: "The power supplies bear the start of all units at once.",
            severity: Caution,
            unknown: Note,
            fixed: false,
            limits: &[FROM_C, PCT_K],
            source: "sum of currents",
        },
        judge: Judge::Rail(power::start),
    },
    LineupRule {
        spec: Rule {
            name: "voltage",
            asks: "Enough voltage reaches every unit of the rail.",
            severity: Stop,
            unknown: Note,
            fixed: false,
            limits: &[
                Limit {
                    name: "supply_v",
                    doc: "Voltage of supplies that state none, V.",
                    value: 24.0,
                    least: 5.0,
                    most: 60.0,
                },
                Limit {
                    name: "least_v",
                    doc: "Voltage that units need which state none, V.",
                    value: 20.4,
                    least: 1.0,
                    most: 60.0,
                },
            ],
            source: "Ohm's law; 24 V less 15 %: IEC 61131-2, from memory",
        },
        judge: Judge::Rail(power::voltage),
    },
    LineupRule {
        spec: Rule {
            name: "cabinet-heat",
            asks: "The cabinet stays cool enough for all that stands in it.",
            severity: Caution,
            unknown: Note,
            fixed: false,
            limits: &[
                Limit {
                    name: "inside_c",
                    doc: "Mean temperature inside that is borne, °C.",
                    value: 55.0,
                    least: 0.0,
                    most: 100.0,
                },
                Limit {
                    name: "coefficient_w_m2_k",
                    doc: "Heat passed for each square metre and kelvin.",
                    value: COEFFICIENT_W_M2_K,
                    least: 0.5,
                    most: 50.0,
                },
            ],
            source: "steady heat balance with the surface factors of IEC TR 60890; 55 °C: \
                     IEC 61131-2; both from memory",
        },
        judge: Judge::Cabinet(power::heat),
    },
];

const GAP: Limit = Limit {
    name: "gap_mm",
    doc: "Space between two items that counts as none.",
    value: 0.5,
    least: 0.0,
    most: 10.0,
};
const FROM_C: Limit = Limit {
    name: "derating_from_c",
    doc: "Temperature from which supplies deliver less that state none.",
    value: DERATING_FROM_C,
    least: 0.0,
    most: 100.0,
};
const PCT_K: Limit = Limit {
    name: "derating_pct_k",
    doc: "What they lose with each kelvin above, per cent of their rating.",
    value: DERATING_PCT_K,
    least: 0.0,
    most: 20.0,
};
