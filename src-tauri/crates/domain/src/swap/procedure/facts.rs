use super::When;
use crate::model::{BaseKind, ModelKind};
use crate::place::BusPosition;
use crate::swap::Situation;

/// What the choice of templates looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Facts {
    pub base: BaseKind,
    /// A unit stands in the slot.
    pub occupied: bool,
    pub redundancy: Redundancy,
    /// The unit may be exchanged with the rail energised.
    pub hot_swap: bool,
    pub bus: BusPosition,
    pub intrinsically_safe: bool,
    /// What goes in holds a back-up battery.
    pub battery: bool,
    /// What goes in.
    pub kind: Kind,
    /// The slot asks for a firmware.
    pub firmware: bool,
    /// The base has a key.
    pub keyed: bool,
    pub loops: Wired,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Redundancy {
    Single,
    /// A unit stands in the partner slot.
    Partner,
    /// The partner slot is empty.
    PartnerMissing,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    Module,
    Controller,
    PowerSupply,
}

/// What is wired to the slot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Wired {
    Nothing,
    Loops,
    /// A loop among them belongs to a safety function.
    SafetyFunction,
}

impl Facts {
    /// Reads them off a slot and a spare.
    ///
    /// A power supply whose partner does not carry all that hangs on the two counts as one without
    /// a partner that comes out with its rail isolated.
    pub fn of(s: &Situation<'_>) -> Self {
        let pluggable = pluggable(s.seat.slot.base);
        let carried = s.seat.supply_too_small().is_none();
        Self {
            base: s.seat.slot.base,
            occupied: s.seat.outgoing.is_some(),
            redundancy: match &s.seat.partner {
                None => Redundancy::Single,
                Some((_, Some(_))) if carried => Redundancy::Partner,
                Some((_, Some(_))) => Redundancy::Single,
                Some((_, None)) => Redundancy::PartnerMissing,
            },
            hot_swap: s.seat.slot.hot_swap && carried,
            bus: s.seat.slot.bus_position,
            intrinsically_safe: s.seat.slot.base == BaseKind::IntrinsicallySafe
                || s.spare.model.intrinsically_safe,
            battery: s.spare.model.battery.is_some(),
            kind: match s.spare.model.kind {
                ModelKind::Controller => Kind::Controller,
                ModelKind::PowerSupply => Kind::PowerSupply,
                _ => Kind::Module,
            },
            firmware: s.seat.slot.min_firmware.is_some(),
            keyed: pluggable && s.seat.slot.key.is_some(),
            loops: match &s.seat.loops {
                loops if loops.iter().any(|wired| wired.safety_function) => Wired::SafetyFunction,
                loops if loops.is_empty() => Wired::Nothing,
                _ => Wired::Loops,
            },
        }
    }

    /// Whether a module plugs into a base that stays.
    pub fn pluggable(&self) -> bool {
        pluggable(self.base)
    }

    /// Every combination that there can be.
    pub fn every() -> Vec<Self> {
        let mut all = vec![];
        for base in BASES {
            for &keyed in either(pluggable(base)) {
                for safe in [false, true] {
                    if safe || base != BaseKind::IntrinsicallySafe {
                        all.extend(Self::every_with(base, keyed, safe));
                    }
                }
            }
        }
        all
    }

    fn every_with(
        base: BaseKind,
        keyed: bool,
        intrinsically_safe: bool,
    ) -> impl Iterator<Item = Self> {
        // The digits of a number in mixed radix: one for each fact that is free.
        (0..2 * 3 * 2 * 3 * 2 * 3 * 2 * 3_usize).map(move |mut number| {
            let mut digit = |radix: usize| {
                let digit = number % radix;
                number /= radix;
                digit
            };
            Self {
                base,
                keyed,
                intrinsically_safe,
                occupied: digit(2) == 1,
                redundancy: REDUNDANCIES[digit(3)],
                hot_swap: digit(2) == 1,
                bus: BUSES[digit(3)],
                battery: digit(2) == 1,
                kind: KINDS[digit(3)],
                firmware: digit(2) == 1,
                loops: WIRED[digit(3)],
            }
        })
    }

    /// The combination in words, for whoever reads that a template does not fit it.
    pub fn described(&self) -> String {
        let base = match self.base {
            BaseKind::OnePiece => "one-piece unit",
            BaseKind::Compact => "module on a compact base",
            BaseKind::Extended => "module on an extended base",
            BaseKind::IntrinsicallySafe => "module on an intrinsically safe base",
            BaseKind::Own => "unit with its own base",
        };
        let mut words = vec![base.to_owned()];
        let mut add = |holds: bool, word: &str| {
            if holds {
                words.push(word.to_owned());
            }
        };
        add(!self.occupied, "slot empty");
        add(self.keyed, "keyed");
        add(self.kind == Kind::Controller, "controller");
        add(self.kind == Kind::PowerSupply, "power supply");
        add(
            self.intrinsically_safe && self.base != BaseKind::IntrinsicallySafe,
            "intrinsically safe",
        );
        add(self.hot_swap, "hot swap");
        add(!self.hot_swap, "no hot swap");
        add(self.redundancy == Redundancy::Partner, "with a partner");
        add(self.redundancy == Redundancy::PartnerMissing, "partner missing");
        add(self.bus == BusPosition::Inner, "on the bus");
        add(self.bus == BusPosition::End, "at the end of the bus");
        add(self.battery, "with a battery");
        add(self.firmware, "firmware asked for");
        add(self.loops == Wired::Loops, "with loops");
        add(self.loops == Wired::SafetyFunction, "with a safety function");
        words.join(", ")
    }
}

impl When {
    pub fn holds(&self, facts: &Facts) -> bool {
        fn is(wanted: Option<bool>, found: bool) -> bool {
            wanted.is_none_or(|wanted| wanted == found)
        }
        fn among<T: PartialEq>(wanted: Option<&Vec<T>>, found: &T) -> bool {
            wanted.is_none_or(|wanted| wanted.contains(found))
        }
        among(self.base.as_ref(), &facts.base)
            && is(self.occupied, facts.occupied)
            && among(self.redundancy.as_ref(), &facts.redundancy)
            && is(self.hot_swap, facts.hot_swap)
            && among(self.bus.as_ref(), &facts.bus)
            && is(self.intrinsically_safe, facts.intrinsically_safe)
            && is(self.battery, facts.battery)
            && among(self.kind.as_ref(), &facts.kind)
            && is(self.firmware, facts.firmware)
            && is(self.keyed, facts.keyed)
            && among(self.loops.as_ref(), &facts.loops)
    }
}

fn pluggable(base: BaseKind) -> bool {
    matches!(base, BaseKind::Compact | BaseKind::Extended | BaseKind::IntrinsicallySafe)
}

fn either(both: bool) -> &'static [bool] {
    if both { &[false, true] } else { &[false] }
}

const BASES: [BaseKind; 5] = [
    BaseKind::OnePiece,
    BaseKind::Compact,
    BaseKind::Extended,
    BaseKind::IntrinsicallySafe,
    BaseKind::Own,
];
const REDUNDANCIES: [Redundancy; 3] =
    [Redundancy::Single, Redundancy::Partner, Redundancy::PartnerMissing];
const BUSES: [BusPosition; 3] = [BusPosition::Off, BusPosition::Inner, BusPosition::End];
const KINDS: [Kind; 3] = [Kind::Module, Kind::Controller, Kind::PowerSupply];
const WIRED: [Wired; 3] = [Wired::Nothing, Wired::Loops, Wired::SafetyFunction];
