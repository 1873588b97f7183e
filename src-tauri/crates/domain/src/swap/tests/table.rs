//! Each rule has a case that passes, one that fails and one in which something is not known.

use super::made::{address, judged, key, of, part, seat, spare, today, unit, wired};
use crate::journal::Purpose;
use crate::model::{BaseKind, BatteryNeed, Lifecycle, ModelKind};
use crate::register::Reservation;
use crate::rules::RuleSetting;
use crate::swap::rules::SPECS;
use crate::swap::{
    BatteryOutlook, Finding, Judge, Rule, Seat, Severity, Situation, Spare, barred, worst,
};
use crate::unit::{BatteryReading, Condition, FittedBattery, UnitPlace};
use chrono::{DateTime, Days};
use uuid::Uuid;

/// How a rule turns out.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Turn {
    Passes,
    /// With the severity that this break has.
    Fails(Severity),
    Unknown(Severity),
}

use Severity::{Caution, Note, Stop};
use Turn::{Fails, Passes, Unknown};

type Change = fn(&mut Seat, &mut Spare);

/// The rule, how it turns out, what was changed of a pair that passes, and words of the finding.
const CASES: &[(Rule, Turn, Change, &str)] = &[
    (Rule::Key, Passes, |_, _| {}, "both are keyed is KM"),
    (Rule::Key, Passes, one_piece, "carries no key"),
    (Rule::Key, Fails(Stop), |_, spare| spare.model.key = key("is", "KN"), "is KN"),
    (Rule::Key, Fails(Stop), |_, spare| spare.model.key = key("std", "KM"), "std KM"),
    (Rule::Key, Unknown(Stop), |seat, _| seat.slot.key = None, "no key is recorded for slot"),
    (Rule::Key, Unknown(Stop), |_, spare| spare.model.key = None, "catalogue gives no key"),
    (Rule::Model, Passes, |_, _| {}, "MP-A is the model wanted"),
    (Rule::Model, Fails(Stop), |_, spare| spare.model.part_no = part("MP-B"), "is a MP-B"),
    (
        Rule::Model,
        Fails(Caution),
        |seat, spare| {
            spare.model.part_no = part("MP-B");
            wanted(seat).substitutes.push(part("MP-B"));
        },
        "may stand in for MP-A",
    ),
    (
        Rule::Model,
        Fails(Stop),
        |_, spare| {
            spare.model.part_no = part("MP-B");
            spare.model.substitutes.push(part("MP-A"));
        },
        "not the other way round",
    ),
    (
        Rule::Model,
        Unknown(Stop),
        |seat, _| {
            seat.wanted = None;
            seat.outgoing = None;
            seat.standing = None;
        },
        "no model recorded",
    ),
    (Rule::Base, Passes, |_, _| {}, "an intrinsically safe base"),
    (Rule::Base, Fails(Stop), |_, spare| spare.model.base = Some(BaseKind::Extended), "extended"),
    (Rule::Base, Unknown(Caution), |_, spare| spare.model.base = None, "does not say which kind"),
    (Rule::IntrinsicSafety, Passes, |_, _| {}, "on an intrinsically safe base"),
    (
        Rule::IntrinsicSafety,
        Fails(Stop),
        |_, spare| spare.model.intrinsically_safe = false,
        "the spare is not",
    ),
    (
        Rule::IntrinsicSafety,
        Fails(Stop),
        |seat, _| seat.slot.base = BaseKind::Compact,
        "the spare is intrinsically safe, slot +K12.3.04 is not",
    ),
    (
        Rule::IntrinsicSafety,
        Unknown(Stop),
        |seat, _| seat.key_scheme.as_mut().unwrap().intrinsically_safe = false,
        "its key scheme is does not",
    ),
    (Rule::IntrinsicSafety, Unknown(Stop), |seat, _| seat.key_scheme = None, "no key scheme"),
    (Rule::Entity, Passes, |_, _| {}, "LIT-1, LIT-2"),
    (
        Rule::Entity,
        Fails(Stop),
        |seat, _| entity(seat).cable_m = Some(2000.0),
        "LIT-1: Ci and cable 411 nF is more than Co 107 nF",
    ),
    (
        Rule::Entity,
        Fails(Stop),
        |_, spare| spare.model.entity.as_mut().unwrap().uo_v = 31.0,
        "Uo 31 V is more than Ui 30 V",
    ),
    (Rule::Entity, Unknown(Stop), |seat, _| entity(seat).pi_mw = None, "Pi not known"),
    (Rule::Entity, Unknown(Stop), |seat, _| entity(seat).cable_m = None, "LIT-1: "),
    (Rule::Entity, Unknown(Stop), |seat, _| seat.loops[0].entity = None, "field side of LIT-1"),
    (Rule::Entity, Unknown(Stop), |_, spare| spare.model.entity = None, "no entity parameters"),
    (Rule::Place, Passes, |_, _| {}, "lies in ST1/A-03"),
    (Rule::Place, Fails(Caution), |_, spare| spare.unit.place = UnitPlace::Bench, "bench"),
    (Rule::Place, Fails(Stop), |_, spare| stands(spare, "+K12.3.04"), "already stands in"),
    (Rule::Place, Fails(Stop), |_, spare| stands(spare, "+K12.1.02"), "is installed in +K12.1.02"),
    (Rule::Place, Fails(Stop), |_, spare| spare.unit.place = UnitPlace::Repair, "repair"),
    (Rule::Place, Fails(Stop), |_, spare| spare.unit.place = UnitPlace::Scrapped, "scrapped"),
    (Rule::Place, Unknown(Stop), |_, spare| spare.unit.place = UnitPlace::Lost, "lost"),
    (Rule::SlotBusy, Passes, |_, _| {}, "no other work"),
    (Rule::SlotBusy, Fails(Stop), |seat, _| seat.swap_open = true, "already under way"),
    (
        Rule::SlotBusy,
        Fails(Stop),
        |_, spare| spare.promised_to = Some(address("+K12.1.02")),
        "under way in +K12.1.02",
    ),
    (
        Rule::SlotBusy,
        Fails(Stop),
        |_, spare| spare.model.kind = ModelKind::Controller,
        "not made for a controller",
    ),
    (Rule::SlotBusy, Unknown(Stop), |seat, _| seat.outgoing = None, "not in the catalogue"),
    (Rule::Condition, Passes, |_, _| {}, "good"),
    (Rule::Condition, Fails(Stop), |_, spare| is(spare, Condition::Failed), "failed"),
    (Rule::Condition, Fails(Stop), |_, spare| is(spare, Condition::Quarantined), "quarantined"),
    (Rule::Condition, Unknown(Stop), |_, spare| is(spare, Condition::Suspect), "suspect"),
    (Rule::Revision, Passes, |_, _| {}, "B is not older than B"),
    (Rule::Revision, Fails(Stop), |_, spare| spare.unit.revision = text("A"), "A is older than B"),
    (Rule::Revision, Unknown(Stop), |_, spare| spare.unit.revision = None, "not recorded"),
    (
        Rule::Revision,
        Unknown(Caution),
        |_, spare| spare.unit.revision = text("Z"),
        "does not order revisions Z and B",
    ),
    (Rule::Firmware, Passes, |_, spare| spare.unit.firmware = text("v2.10"), "v2.10 is not older"),
    (Rule::Firmware, Passes, |seat, _| seat.slot.min_firmware = text("2.4.0"), "2.4 is not older"),
    (Rule::Firmware, Fails(Stop), |_, spare| spare.unit.firmware = text("2.3.9"), "is older than"),
    (Rule::Firmware, Unknown(Stop), |_, spare| spare.unit.firmware = None, "not recorded"),
    (
        Rule::Firmware,
        Unknown(Caution),
        |_, spare| spare.unit.firmware = text("beta"),
        "cannot be ordered",
    ),
    (Rule::Channels, Passes, |_, _| {}, "has 4 channels, loops use up to 4"),
    (
        Rule::Channels,
        Fails(Stop),
        |seat, _| seat.loops.push(wired("LIT-9", 5)),
        "LIT-9 is wired to channel 5, MP-A has 4",
    ),
    (Rule::Channels, Unknown(Stop), |_, spare| spare.model.channels = 0, "gives no channels"),
    (Rule::Width, Passes, |_, _| {}, "30 mm fit in 30 mm"),
    (Rule::Width, Fails(Stop), |_, spare| spare.model.width_mm = 30.2, "30.2 mm wide"),
    (Rule::Width, Unknown(Caution), |_, spare| spare.model.width_mm = 0.0, "not recorded"),
    (Rule::Lifecycle, Passes, |_, _| {}, "still made"),
    (
        Rule::Lifecycle,
        Fails(Note),
        |_, spare| spare.model.lifecycle = Lifecycle::Discontinued,
        "discontinued",
    ),
    (
        Rule::Lifecycle,
        Fails(Stop),
        |_, spare| spare.model.lifecycle = Lifecycle::Recalled,
        "recalled",
    ),
    (
        Rule::Lifecycle,
        Unknown(Note),
        |_, spare| spare.model.last_order_on = today().pred_opt(),
        "last order day has passed",
    ),
    (Rule::Partner, Passes, |_, _| {}, "same model, revision and firmware"),
    (Rule::Partner, Fails(Caution), |_, spare| spare.unit.revision = text("C"), "revision C"),
    (Rule::Partner, Fails(Caution), |_, spare| spare.unit.firmware = text("2.5"), "firmware 2.5"),
    (
        Rule::Partner,
        Fails(Caution),
        |seat, _| seat.partner.as_mut().unwrap().1 = None,
        "+K12.3.05 is empty",
    ),
    (
        Rule::Partner,
        Fails(Caution),
        |seat, _| seat.partner.as_mut().unwrap().1.as_mut().unwrap().condition = Condition::Failed,
        "+K12.3.05 is failed",
    ),
    (
        Rule::Partner,
        Unknown(Caution),
        |seat, _| seat.partner.as_mut().unwrap().1.as_mut().unwrap().firmware = None,
        "the partner's firmware is not recorded",
    ),
    (Rule::Battery, Passes, |_, spare| battery(spare, 400), "about 900 of 2400 mAh are left"),
    (Rule::Battery, Fails(Caution), |_, spare| battery(spare, 0), "and it was due on 2026-11-25"),
    (Rule::Battery, Fails(Caution), no_battery, "no back-up battery is recorded"),
    (
        Rule::Battery,
        Fails(Caution),
        |_, spare| {
            battery(spare, 400);
            spare.unit.battery.as_mut().unwrap().model = part("CEL-2");
        },
        "the catalogue wants a CEL-1",
    ),
    (
        Rule::Battery,
        Fails(Caution),
        |_, spare| {
            battery(spare, 400);
            let at = DateTime::UNIX_EPOCH;
            spare.unit.battery_seen = Some(BatteryReading { at, low_lamp: true, mv: None });
        },
        "lamp was lit on 1970-01-01",
    ),
    (
        Rule::Battery,
        Unknown(Caution),
        |_, spare| {
            battery(spare, 400);
            spare.battery = Some(BatteryOutlook::Unknown("no drain is given".to_owned()));
        },
        "cannot be told: no drain is given",
    ),
    (Rule::Supply, Passes, |_, _| {}, "+K12.3 after the swap: 390 mA are drawn"),
    (
        Rule::Supply,
        Fails(Stop),
        |_, spare| spare.model.current_24v_ma = Some(1800.0),
        "2060 mA are drawn; the supply gives 2000 mA",
    ),
    (
        Rule::Supply,
        Fails(Caution),
        |_, spare| spare.model.on_rail.inrush_ma = Some(2700.0),
        "all units start with 3100 mA",
    ),
    (
        Rule::Supply,
        Fails(Stop),
        |_, spare| spare.model.on_rail.min_voltage_v = Some(24.0),
        "and needs 24 V",
    ),
    (
        Rule::Supply,
        Unknown(Caution),
        |_, spare| spare.model.current_24v_ma = None,
        "without +K12.3.04",
    ),
    (Rule::Supply, Unknown(Caution), |seat, _| seat.cabinet = None, "nothing is recorded"),
    (Rule::Bus, Passes, |_, _| {}, "40 mA of 100 mA"),
    (
        Rule::Bus,
        Fails(Stop),
        |_, spare| spare.model.on_rail.bus_current_ma = Some(81.0),
        "101 mA of 100 mA",
    ),
    (Rule::Bus, Fails(Caution), |seat, _| crowded(seat), "5 units, 4 are allowed"),
    (
        Rule::Bus,
        Unknown(Note),
        |_, spare| spare.model.on_rail.bus_current_ma = None,
        "without +K12.3.04",
    ),
    (Rule::Heat, Passes, |_, _| {}, "+K12 after the swap: 12 W make"),
    (Rule::Heat, Fails(Caution), |_, spare| spare.model.heat_w = Some(900.0), "909 W make"),
    (
        Rule::Heat,
        Fails(Caution),
        |_, spare| spare.model.on_rail.max_ambient_c = Some(30.0),
        "+K12.3.04 bears 30 °C",
    ),
    (Rule::Heat, Unknown(Note), |_, spare| spare.model.heat_w = None, "the heat of +K12.3.04"),
    (Rule::Reservation, Passes, |_, _| {}, "nobody else has reserved"),
    (
        Rule::Reservation,
        Fails(Stop),
        |_, spare| kept(spare, Purpose::Slot(address("+K12.1.02"))),
        "kept for a swap in +K12.1.02",
    ),
    (
        Rule::Reservation,
        Unknown(Stop),
        |_, spare| kept(spare, Purpose::Words("Valve check".to_owned())),
        "whether that is this work is not recorded",
    ),
];

/// Three more units on the bus, which were too many before.
fn crowded(seat: &mut Seat) {
    let mut cabinet = crate::lineup::Cabinet::clone(seat.cabinet.as_ref().unwrap());
    let items = &mut cabinet.rails[0].items;
    for _ in 0..3 {
        let mut more = items[3].clone();
        let crate::lineup::What::Slot(place) = &mut more.what else { unreachable!() };
        place.address = address("+K12.3.09");
        items.push(more);
    }
    seat.cabinet = Some(cabinet.into());
}

fn one_piece(seat: &mut Seat, spare: &mut Spare) {
    (seat.slot.key, spare.model.key) = (None, None);
    seat.slot.base = BaseKind::OnePiece;
}

fn wanted(seat: &mut Seat) -> &mut crate::model::Model {
    seat.wanted.as_mut().unwrap()
}

fn entity(seat: &mut Seat) -> &mut crate::loops::EntityInput {
    seat.loops[0].entity.as_mut().unwrap()
}

fn stands(spare: &mut Spare, slot: &str) {
    spare.unit.place = UnitPlace::Slot(address(slot));
}

fn is(spare: &mut Spare, condition: Condition) {
    spare.unit.condition = condition;
}

fn text(text: &str) -> Option<String> {
    Some(text.to_owned())
}

fn no_battery(_: &mut Seat, spare: &mut Spare) {
    spare.model.battery = Some(BatteryNeed {
        model: part("CEL-1"),
        cells: 1,
        standby_drain_ua: 26.0,
        backup_drain_ua: Some(110.0),
        ride_through_s: None,
        standby_spread_pct: None,
        backup_spread_pct: None,
        change_with: None,
        change_min: None,
    });
}

/// A battery that is due in so many days.
fn battery(spare: &mut Spare, days: u64) {
    no_battery(&mut seat(), spare);
    spare.unit.battery = Some(FittedBattery {
        model: part("CEL-1"),
        made_on: None,
        fitted_on: today() - Days::new(500),
        lot: None,
    });
    let due_on = today() + Days::new(days);
    let known = BatteryOutlook::Known { due_on, remaining_mah: 900.0, capacity_mah: 2400.0 };
    spare.battery = Some(known);
}

fn kept(spare: &mut Spare, purpose: Purpose) {
    spare.kept_for = Some(Reservation {
        id: Uuid::nil(),
        model: part("MP-A"),
        storeroom: "ST1".to_owned(),
        unit: Some(spare.unit.label),
        pieces: 1,
        purpose,
        until: None,
        made_at: DateTime::UNIX_EPOCH,
        made_by: String::new(),
        ended: None,
    });
}

#[test]
fn each_case_turns_out_as_the_table_says() {
    for (at, (rule, turn, change, words)) in CASES.iter().enumerate() {
        let (mut seat, mut spare) = (seat(), spare());
        change(&mut seat, &mut spare);
        let found = of(*rule, &seat, &spare);
        let case = format!("case {at}, {}: {found:#?}", rule.name());
        let worst = found.iter().max_by_key(|finding| finding.severity).expect(&case);
        let now = match (worst.severity, worst.unknown) {
            (Severity::Pass, false) => Passes,
            (severity, false) => Fails(severity),
            (severity, true) => Unknown(severity),
        };
        assert_eq!(now, *turn, "{case}");
        let as_grave =
            |one: &&Finding| (one.severity, one.unknown) == (worst.severity, worst.unknown);
        let said = found.iter().filter(as_grave).any(|one| one.compared.contains(words));
        assert!(said, "{words:?} in {case}");
        assert_eq!(worst.to_do.is_empty(), *turn == Passes, "{case}");
    }
}

#[test]
fn every_rule_has_a_passing_a_failing_and_an_unknown_case() {
    for rule in Rule::ALL {
        let turns: Vec<_> = CASES.iter().filter(|case| case.0 == rule).map(|case| case.1).collect();
        let has = |wanted: fn(&Turn) -> bool| turns.iter().any(wanted);
        assert!(has(|turn| *turn == Passes), "{} never passes", rule.name());
        assert!(has(|turn| matches!(turn, Fails(_))), "{} never fails", rule.name());
        assert!(has(|turn| matches!(turn, Unknown(_))), "{} is never unknown", rule.name());
    }
}

#[test]
fn the_made_pair_passes_every_rule_and_unknown_is_never_a_pass() {
    let found = judged(&seat(), &spare());
    assert_eq!(worst(&found), Severity::Pass, "{found:#?}");
    for (rule, .., change, _) in CASES {
        let (mut seat, mut spare) = (seat(), spare());
        change(&mut seat, &mut spare);
        for finding in judged(&seat, &spare) {
            assert!(!finding.unknown || finding.severity > Severity::Pass, "{}", rule.name());
        }
    }
}

#[test]
fn the_table_of_rules_stands_in_the_order_of_the_rules() {
    let names: Vec<_> = SPECS.iter().map(|spec| spec.name).collect();
    for (at, rule) in Rule::ALL.into_iter().enumerate() {
        assert_eq!((rule as usize, rule.name()), (at, names[at]));
        assert_eq!(Rule::parse(names[at]), Some(rule));
    }
    let fixed = Rule::ALL.into_iter().filter(|rule| !rule.can_be_overridden());
    assert_eq!(
        fixed.collect::<Vec<_>>(),
        [Rule::Key, Rule::IntrinsicSafety, Rule::Place, Rule::SlotBusy]
    );
}

fn set(rule: Rule, on: bool, severity: Option<Severity>) -> RuleSetting {
    RuleSetting { name: rule.name().to_owned(), on, severity, limits: Default::default() }
}

/// A site cannot make the fixed rules milder, even where its settings were never checked.
#[test]
fn a_site_switches_rules_off_and_sets_how_grave_they_are() {
    for (rule, turn, change, _) in CASES {
        let (mut seat, mut spare) = (seat(), spare());
        change(&mut seat, &mut spare);
        let before = of(*rule, &seat, &spare);
        seat.settings = vec![set(*rule, false, Some(Note))];
        if rule.can_be_overridden() {
            assert_eq!(of(*rule, &seat, &spare), [], "{}", rule.name());
            seat.settings = vec![set(*rule, true, Some(Note))];
            let milder = worst(&of(*rule, &seat, &spare));
            assert_eq!(milder, if *turn == Passes { Severity::Pass } else { Note });
        } else {
            assert_eq!(of(*rule, &seat, &spare), before, "{}", rule.name());
        }
    }
}

#[test]
fn only_the_fixed_rules_bar_what_nobody_may_take_on() {
    for (rule, turn, change, _) in CASES {
        let (mut seat, mut spare) = (seat(), spare());
        change(&mut seat, &mut spare);
        let stop = barred(&Situation { seat: &seat, spare: &spare });
        if let Some(stop) = &stop {
            assert!(!stop.rule.can_be_overridden(), "{stop:?}");
        }
        if matches!(turn, Fails(Stop)) && !rule.can_be_overridden() {
            assert!(stop.is_some(), "{}", rule.name());
        }
    }
}

#[test]
fn a_judge_of_many_spares_finds_what_the_verdict_finds() {
    let seat = seat();
    let mut judge = Judge::new(&seat);
    for (at, (_, _, change, _)) in CASES.iter().enumerate() {
        let mut spare = spare();
        change(&mut seat.clone(), &mut spare);
        // What depends on the model alone is kept by its part number.
        spare.model.part_no = part(&format!("MP-{at}"));
        assert_eq!(judge.findings(&spare), judged(&seat, &spare), "case {at}");
        spare.unit = unit("MP-A", 9, "repair");
        assert_eq!(judge.findings(&spare), judged(&seat, &spare), "case {at} again");
    }
}
