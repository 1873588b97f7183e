use super::{Act, Facts, Kind, Redundancy, Wired};
use crate::place::BusPosition;

/// Every step of one act lies before every step of another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Order {
    pub first: Act,
    pub then: Act,
    /// Why, as the end of a sentence.
    pub why: &'static str,
}

/// A step that must not be left out of some swaps.
pub struct Must {
    pub act: Act,
    pub when: fn(&Facts) -> bool,
    pub why: &'static str,
}

/// A rule that a list of acts breaks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Broken {
    /// Place of the step that is in the wrong place, counted from 0; none where one is missing.
    pub at: Option<usize>,
    pub what: String,
}

const fn order(first: Act, then: Act, why: &'static str) -> Order {
    Order { first, then, why }
}

/// The order of what hands do (common practice, no source).
pub const ORDERS: [Order; 26] = [
    order(Act::Isolate, Act::Unlatch, "isolate before you unlatch"),
    order(Act::Isolate, Act::Unwire, "isolate before you open wiring"),
    order(Act::Isolate, Act::Unmount, "isolate before a unit leaves the rail"),
    order(Act::Isolate, Act::TerminatorOff, "isolate before you open the bus"),
    order(Act::StayEnergised, Act::Unlatch, "settle the supply before you unlatch"),
    order(Act::StayEnergised, Act::Unwire, "settle the supply before you open wiring"),
    order(Act::IdentifyOut, Act::Unlatch, "know the unit before you unlatch it"),
    order(Act::IdentifyOut, Act::Unwire, "know the unit before you open its wiring"),
    order(Act::Unlatch, Act::Pull, "unlatch before you pull"),
    order(Act::Unwire, Act::Unmount, "unplug the wiring before the unit leaves the rail"),
    order(Act::TerminatorOff, Act::Unmount, "the terminator comes off before its neighbour"),
    order(Act::Pull, Act::Plug, "one unit comes out before the other goes in"),
    order(Act::Unmount, Act::Mount, "one unit comes out before the other goes in"),
    order(Act::IdentifyIn, Act::Plug, "know the unit before you plug it"),
    order(Act::IdentifyIn, Act::Mount, "know the unit before you mount it"),
    order(Act::Key, Act::Plug, "compare the keys before you plug"),
    order(Act::Plug, Act::Latch, "plug before you latch, since latched means energised"),
    order(Act::Mount, Act::TerminatorOn, "the terminator goes on after its neighbour"),
    order(Act::Mount, Act::Wire, "mount before you wire"),
    order(Act::SetAddress, Act::Wire, "set the address before the unit is wired"),
    order(Act::TerminatorOn, Act::Energise, "close the bus before the rail is switched on"),
    order(Act::Latch, Act::Energise, "latch before the rail is switched on"),
    order(Act::Wire, Act::Energise, "wire before the rail is switched on"),
    order(Act::LoadProgram, Act::Verify, "load before you verify"),
    order(Act::LoadFirmware, Act::Verify, "load before you verify"),
    order(Act::Verify, Act::ReturnToService, "verify before return to service"),
];

/// What must lie before hands touch anything or make a rail dead.
const FIRST: [Act; 8] = [
    Act::Permit,
    Act::HazardousRelease,
    Act::IdentifySlot,
    Act::ClearLoops,
    Act::SafetyRelease,
    Act::SwitchOver,
    Act::SaveProgram,
    Act::Isolate,
];

/// What must lie before anything is verified or loaded.
const BEFORE_CHECKS: [Act; 6] =
    [Act::Latch, Act::Wire, Act::Mount, Act::Plug, Act::TerminatorOn, Act::Energise];

/// What is checked or loaded once the unit has its supply.
const CHECKS: [Act; 3] = [Act::Verify, Act::LoadProgram, Act::LoadFirmware];

const fn must(act: Act, when: fn(&Facts) -> bool, why: &'static str) -> Must {
    Must { act, when, why }
}

/// What must not be left out (common practice, no source).
pub const MUSTS: [Must; 29] = [
    must(Act::Permit, |_| true, "no work without a permit"),
    must(Act::HazardousRelease, |f| f.intrinsically_safe, "intrinsically safe circuits"),
    must(Act::IdentifySlot, |_| true, "the slot must be the right one"),
    must(Act::ClearLoops, |f| f.loops != Wired::Nothing, "running loops lose their signal"),
    must(Act::SafetyRelease, |f| f.loops == Wired::SafetyFunction, "a safety function is lost"),
    must(Act::SwitchOver, |f| f.redundancy == Redundancy::Partner, "the partner must carry it"),
    must(Act::SaveProgram, |f| f.occupied && f.kind == Kind::Controller, "its memory may go"),
    must(Act::IdentifyOut, |f| f.occupied, "the unit must be the right one"),
    must(Act::Isolate, |f| !f.hot_swap, "the slot must not be changed under power"),
    must(Act::StayEnergised, |f| f.hot_swap, "it must be said that the rail stays energised"),
    must(Act::TerminatorOff, at_end, "the terminator must not be lost"),
    must(Act::Unwire, |f| f.occupied && !f.pluggable(), "the unit is wired"),
    must(Act::Unlatch, |f| f.occupied && f.pluggable(), "latched means energised"),
    must(Act::Pull, |f| f.occupied && f.pluggable(), "the slot is occupied"),
    must(Act::Unmount, |f| f.occupied && !f.pluggable(), "the slot is occupied"),
    must(Act::IdentifyIn, |_| true, "the unit must be the right one"),
    must(Act::Key, |f| f.keyed, "a key that differs is a stop"),
    must(
        Act::SetAddress,
        |f| !f.pluggable() && f.bus != BusPosition::Off,
        "each address is unique",
    ),
    must(Act::Mount, |f| !f.pluggable(), "the unit goes in"),
    must(Act::TerminatorOn, at_end, "a bus is closed at both ends"),
    must(Act::Wire, |f| !f.pluggable(), "the unit is wired"),
    must(Act::Plug, Facts::pluggable, "the module goes in"),
    must(Act::Latch, Facts::pluggable, "latched means energised"),
    must(Act::Energise, |f| !f.hot_swap, "the rail was isolated"),
    must(Act::LoadProgram, |f| f.kind == Kind::Controller, "a controller needs its program"),
    must(Act::LoadFirmware, |f| f.firmware, "the slot asks for a firmware"),
    must(Act::Battery, |f| f.battery, "the memory must outlast a power-off"),
    must(Act::Verify, |_| true, "nothing returns to service unverified"),
    must(Act::ReturnToService, |f| f.loops != Wired::Nothing, "the loops were cleared"),
];

fn at_end(facts: &Facts) -> bool {
    facts.bus == BusPosition::End && !facts.pluggable()
}

/// Returns every rule that the acts of a swap break, those about places first.
pub fn broken(acts: &[Act], facts: &Facts) -> Vec<Broken> {
    let places = Places::of(acts);
    let mut found = out_of_order(&places);
    for (at, act) in acts.iter().enumerate() {
        if act.once() && places.first(*act) != Some(at) {
            let what = format!("{} comes twice; it is done once", act.name());
            found.push(Broken { at: Some(at), what });
        }
        if act.takes_out() && !facts.occupied {
            let what = format!("{} where the slot is empty", act.name());
            found.push(Broken { at: Some(at), what });
        }
    }
    for must in MUSTS.iter().filter(|must| (must.when)(facts)) {
        if places.first(must.act).is_none() {
            let what = format!("no step with act {}: {}", must.act.name(), must.why);
            found.push(Broken { at: None, what });
        }
    }
    for (off, on) in [(Act::Isolate, Act::Energise), (Act::TerminatorOff, Act::TerminatorOn)] {
        let both = (places.first(off), places.first(on));
        if let (Some(at), None) | (None, Some(at)) = both {
            let what = format!("{} and {} belong together", off.name(), on.name());
            found.push(Broken { at: Some(at), what });
        }
    }
    found
}

/// First and last place of each act.
struct Places([Option<(usize, usize)>; Act::ALL.len()]);

impl Places {
    fn of(acts: &[Act]) -> Self {
        let mut places = [None; Act::ALL.len()];
        for (at, act) in acts.iter().enumerate() {
            let place: &mut Option<(usize, usize)> = &mut places[*act as usize];
            *place = Some((place.map_or(at, |(first, _)| first), at));
        }
        Self(places)
    }

    fn first(&self, act: Act) -> Option<usize> {
        self.0[act as usize].map(|(first, _)| first)
    }

    fn last(&self, act: Act) -> Option<usize> {
        self.0[act as usize].map(|(_, last)| last)
    }
}

fn out_of_order(places: &Places) -> Vec<Broken> {
    let mut found = Vec::new();
    // A step of `then` that stands before some step of `first` is in the wrong place.
    let mut before = |first: Act, then: Act, why: &str| {
        if let (Some(last), Some(at)) = (places.last(first), places.first(then))
            && at < last
        {
            let what = format!("{} comes before {}: {why}", then.name(), first.name());
            found.push(Broken { at: Some(at), what });
        }
    };
    for order in &ORDERS {
        before(order.first, order.then, order.why);
    }
    for then in Act::ALL.into_iter().filter(|act| act.touches() || *act == Act::Isolate) {
        for first in FIRST.into_iter().filter(|first| *first != then) {
            before(first, then, "all that prepares the work comes first");
        }
    }
    for first in BEFORE_CHECKS {
        for then in CHECKS {
            before(first, then, "the unit must be in and have its supply");
        }
    }
    found
}
