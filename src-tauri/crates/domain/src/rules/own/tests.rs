use super::{Condition, Judges, Looked, OwnRule, OwnSaid, Test, Value, check};
use crate::lineup::{Item, What};
use crate::model::{BaseKind, ModelKind};
use crate::place::{BusPosition, Criticality};
use crate::rules::Severity::{self, Caution, Note, Pass, Stop};
use crate::rules::facts::{FACTS, FactKind, fact};
use crate::swap::tests::made::{seat, spare};
use crate::swap::{Judge, RuleOf, Seat, Situation, Spare, verdict};
use std::sync::Arc;

fn text(text: &str) -> Value {
    Value::Text(text.to_owned())
}

fn condition(fact: &str, test: Test) -> Condition {
    Condition { fact: fact.to_owned(), test }
}

fn rule(judges: Judges, applies: Vec<Condition>, must: Vec<Condition>) -> OwnRule {
    OwnRule {
        name: "ours-here".to_owned(),
        asks: "Asks.".to_owned(),
        on: true,
        severity: Stop,
        unknown: Caution,
        to_do: "do it".to_owned(),
        judges,
        applies,
        must,
    }
}

/// Firmware 2.4 or later where a slot is vital.
fn firmware() -> OwnRule {
    rule(
        Judges::Swap,
        vec![condition("slot_criticality", Test::Is(text("vital")))],
        vec![condition("spare_firmware", Test::AtLeast(text("2.4")))],
    )
}

fn of_swap(rule: &OwnRule, change: impl FnOnce(&mut Seat, &mut Spare)) -> Option<OwnSaid> {
    let (mut seat, mut spare) = (seat(), spare());
    spare.unit.firmware = Some("2.10".to_owned());
    change(&mut seat, &mut spare);
    rule.judge(&Looked::swap(&Situation { seat: &seat, spare: &spare }))
}

#[test]
fn a_rule_of_swaps_passes_breaks_and_does_not_know() {
    let said = of_swap(&firmware(), |_, _| {}).unwrap();
    assert_eq!((said.severity, said.unknown, said.to_do.as_str()), (Pass, false, ""));
    assert_eq!(said.compared, "firmware of the spare is 2.10 (at least 2.4)");

    let old = |_: &mut Seat, spare: &mut Spare| spare.unit.firmware = Some("2.3".to_owned());
    let said = of_swap(&firmware(), old).unwrap();
    assert_eq!((said.severity, said.unknown, said.to_do.as_str()), (Stop, false, "do it"));
    assert_eq!(said.compared, "firmware of the spare is 2.3; wanted: at least 2.4");

    let said = of_swap(&firmware(), |_, spare| spare.unit.firmware = None).unwrap();
    assert_eq!((said.severity, said.unknown), (Caution, true));
    assert_eq!(said.compared, "firmware of the spare is not recorded");
    assert!(!said.to_do.is_empty());

    let said = of_swap(&firmware(), |_, spare| spare.unit.firmware = Some("R1A".to_owned()));
    let said = said.unwrap();
    assert!(said.unknown && said.severity == Caution, "no order never passes: {said:?}");
}

#[test]
fn a_rule_says_nothing_where_it_does_not_apply_or_is_off() {
    let lesser = |seat: &mut Seat, _: &mut Spare| seat.slot.criticality = Criticality::Essential;
    assert_eq!(of_swap(&firmware(), lesser), None);
    assert_eq!(of_swap(&OwnRule { on: false, ..firmware() }, |_, _| {}), None);
}

#[test]
fn what_is_not_recorded_is_said_where_it_decides_whether_the_rule_applies() {
    let by_area = |wanted: &str| {
        let applies = vec![
            condition("cabinet_area", Test::Is(text("int"))),
            condition("slot_criticality", Test::Is(text(wanted))),
        ];
        OwnRule { applies, ..firmware() }
    };
    let said = of_swap(&by_area("vital"), |seat, _| seat.cabinet = None).unwrap();
    assert_eq!((said.severity, said.unknown), (Caution, true));
    assert_eq!(
        said.compared,
        "area of the cabinet is not recorded: whether this rule applies is not known"
    );
    // What is known not to hold decides alone.
    assert_eq!(of_swap(&by_area("desirable"), |seat, _| seat.cabinet = None), None);
    // Texts are compared without regard to case.
    assert_eq!(of_swap(&by_area("vital"), |_, _| {}).unwrap().severity, Pass);
}

#[test]
fn a_break_counts_more_than_what_is_not_recorded() {
    let must = vec![
        condition("spare_revision", Test::AtLeast(text("B"))),
        condition("spare_storeroom", Test::OneOf(vec![text("ST2"), text("ST3")])),
    ];
    let both = rule(Judges::Swap, Vec::new(), must);
    let said = of_swap(&both, |_, spare| spare.unit.revision = None).unwrap();
    assert_eq!((said.severity, said.unknown), (Stop, false));
    assert_eq!(
        said.compared,
        "storeroom of the spare is ST1; wanted: ST2 or ST3; revision of the spare is not recorded"
    );
}

#[test]
fn missing_data_is_never_graver_than_a_break() {
    let mild = OwnRule { severity: Note, unknown: Stop, ..firmware() };
    let said = of_swap(&mild, |_, spare| spare.unit.firmware = None).unwrap();
    assert_eq!(said.severity, Note);
}

#[test]
fn is_known_asks_for_the_record_itself() {
    let known = rule(Judges::Swap, Vec::new(), vec![condition("spare_revision", Test::IsKnown)]);
    assert_eq!(of_swap(&known, |_, _| {}).unwrap().severity, Pass);
    let said = of_swap(&known, |_, spare| spare.unit.revision = None).unwrap();
    assert_eq!((said.severity, said.unknown), (Stop, false));
}

#[test]
fn revisions_go_by_the_order_of_the_catalogue() {
    let at_least = |wanted: &str| {
        let must = vec![condition("spare_revision", Test::AtLeast(text(wanted)))];
        rule(Judges::Swap, Vec::new(), must)
    };
    let with = |revision: &str| {
        let revision = revision.to_owned();
        move |_: &mut Seat, spare: &mut Spare| {
            spare.model.revisions = vec!["D".to_owned(), "B".to_owned()];
            spare.unit.revision = Some(revision);
        }
    };
    assert_eq!(of_swap(&at_least("D"), with("B")).unwrap().severity, Pass);
    assert_eq!(of_swap(&at_least("B"), with("D")).unwrap().severity, Stop);
    assert!(of_swap(&at_least("B"), with("X")).unwrap().unknown);
}

#[test]
fn ages_are_counted_to_the_day_of_the_question() {
    let must = vec![condition("spare_received_d", Test::AtMost(Value::Number(30.0)))];
    let fresh = rule(Judges::Swap, Vec::new(), must);
    let received = |days: u64| {
        move |seat: &mut Seat, spare: &mut Spare| {
            spare.unit.received_on = seat.today.checked_sub_days(chrono::Days::new(days));
        }
    };
    assert_eq!(of_swap(&fresh, received(30)).unwrap().severity, Pass);
    assert_eq!(of_swap(&fresh, received(31)).unwrap().severity, Stop);
    assert!(of_swap(&fresh, |_, spare| spare.unit.received_on = None).unwrap().unknown);
}

fn of_item(rule: &OwnRule, at: usize, change: impl FnOnce(&mut Item)) -> Option<OwnSaid> {
    let seat = seat();
    let mut cabinet = (**seat.cabinet.as_ref().unwrap()).clone();
    change(&mut cabinet.rails[0].items[at]);
    let rail = &cabinet.rails[0];
    rule.judge(&Looked::item(&cabinet, rail, &rail.items[at]))
}

/// Modules draw 100 mA at most.
fn draw(most_ma: f64) -> OwnRule {
    rule(
        Judges::Item,
        vec![condition("item_kind", Test::Is(text("slot")))],
        vec![condition("model_current_24v_ma", Test::AtMost(Value::Number(most_ma)))],
    )
}

fn with_model(change: impl FnOnce(&mut crate::model::Model)) -> impl FnOnce(&mut Item) {
    move |item| change(Arc::make_mut(item.model.as_mut().unwrap()))
}

#[test]
fn a_rule_of_items_passes_breaks_and_does_not_know() {
    let set = |ma| with_model(move |model| model.current_24v_ma = ma);
    let said = of_item(&draw(100.0), 2, set(Some(100.0))).unwrap();
    assert_eq!((said.severity, said.unknown), (Pass, false));
    let said = of_item(&draw(100.0), 2, set(Some(100.5))).unwrap();
    assert_eq!((said.severity, said.unknown), (Stop, false));
    assert_eq!(said.compared, "current of the model at 24 V is 100.5 mA; wanted: at most 100 mA");
    let said = of_item(&draw(100.0), 2, set(None)).unwrap();
    assert_eq!((said.severity, said.unknown), (Caution, true));
    // A model that is not in the catalogue.
    assert!(of_item(&draw(100.0), 2, |item| item.model = None).unwrap().unknown);
}

#[test]
fn a_rule_leaves_alone_what_its_facts_say_nothing_of() {
    let terminator = |item: &mut Item| item.what = What::Terminator;
    assert_eq!(of_item(&draw(0.0), 2, terminator), None);
    let vital = vec![condition("slot_criticality", Test::Is(text("vital")))];
    let vital = rule(Judges::Item, Vec::new(), vital);
    assert_eq!(of_item(&vital, 2, terminator), None);
    assert!(of_item(&vital, 2, |_| {}).unwrap().unknown, "planned slots have no class");
    let rating = vec![condition("model_supply_rating_ma", Test::AtLeast(Value::Number(3e3)))];
    let rating = rule(Judges::Item, Vec::new(), rating);
    assert_eq!(of_item(&rating, 2, |_| {}), None);
    assert_eq!(of_item(&rating, 0, |_| {}).unwrap().severity, Stop);
    // An empty slot that is kept for nothing has no model to judge.
    let kept_for_nothing = |item: &mut Item| {
        if let What::Slot(place) = &mut item.what {
            (place.filled, place.wanted) = (false, None);
        }
    };
    assert_eq!(of_item(&draw(0.0), 2, kept_for_nothing), None);
}

#[test]
fn what_there_is_none_of_does_not_equal_anything() {
    let must = vec![condition("slot_key", Test::StartsWith("is ".to_owned()))];
    let keyed = rule(Judges::Item, Vec::new(), must);
    assert_eq!(of_item(&keyed, 2, |_| {}).unwrap().severity, Pass);
    let key_less = |base: BaseKind| {
        move |item: &mut Item| {
            if let What::Slot(place) = &mut item.what {
                (place.base, place.key) = (base, None);
            }
        }
    };
    let said = of_item(&keyed, 2, key_less(BaseKind::OnePiece)).unwrap();
    assert_eq!((said.severity, said.unknown), (Stop, false));
    assert!(of_item(&keyed, 2, key_less(BaseKind::Compact)).unwrap().unknown);
}

#[test]
fn the_verdict_and_the_judge_of_many_agree() {
    let mut seat = seat();
    let wanted = vec![condition("model_as_wanted", Test::Is(Value::Flag(true)))];
    let by_model =
        OwnRule { name: "as-wanted".to_owned(), applies: Vec::new(), must: wanted, ..firmware() };
    let of_rail = draw(1.0);
    seat.own = vec![firmware(), by_model, of_rail, OwnRule { on: false, ..firmware() }];
    seat.own[3].name = "off".to_owned();
    let mut judge = Judge::new(&seat);
    for firmware in [None, Some("2.3"), Some("2.4")] {
        for part_no in ["MP-A", "MP-B"] {
            let mut spare = spare();
            spare.unit.firmware = firmware.map(str::to_owned);
            spare.model.part_no = crate::model::PartNo::parse(part_no).unwrap();
            let found = verdict(&Situation { seat: &seat, spare: &spare });
            assert_eq!(judge.findings(&spare), found);
            let own: Vec<_> = found.iter().filter(|found| found.rule.is_own()).collect();
            let names: Vec<_> = own.iter().map(|found| found.rule.name()).collect();
            assert_eq!(names, ["ours-here", "as-wanted"], "rules of line-ups are left out");
            assert_eq!(own[1].severity, if part_no == "MP-A" { Pass } else { Stop });
        }
    }
}

#[test]
fn own_rules_only_add_to_what_ours_find() {
    let (plain, spare) = (seat(), spare());
    let mut with = plain.clone();
    with.own = vec![firmware()];
    let ours = verdict(&Situation { seat: &plain, spare: &spare });
    let all = verdict(&Situation { seat: &with, spare: &spare });
    assert_eq!(all[..ours.len()], ours[..]);
    assert_eq!(all[ours.len()..].len(), 1);
    assert_eq!(all[ours.len()].rule, RuleOf::Site("ours-here".to_owned()));
    assert!(all[ours.len()].rule.can_be_overridden());
}

#[test]
fn rules_that_cannot_be_kept_are_refused_with_what_to_write() {
    assert_eq!(check(&[firmware(), draw(1.0)].map(named)), []);
    let one = |fact: &str, test: Test| rule(Judges::Swap, Vec::new(), vec![condition(fact, test)]);
    let of_items = |fact: &str, test: Test| OwnRule { judges: Judges::Item, ..one(fact, test) };
    let number = || Value::Number(1.0);
    for (rule, field, said) in [
        (OwnRule { name: "key".to_owned(), ..firmware() }, "name", "built-in"),
        (OwnRule { name: "supply-budget".to_owned(), ..firmware() }, "name", "built-in"),
        (OwnRule { must: Vec::new(), ..firmware() }, "must", "asks for nothing"),
        (OwnRule { severity: Note, ..firmware() }, "unknown", "at most note"),
        (one("spare_firmwear", Test::IsKnown), "must/0/fact", "rules of swaps may ask"),
        (one("item_kind", Test::IsKnown), "must/0/fact", "not theirs"),
        (of_items("spare_serial", Test::IsKnown), "must/0/fact", "not theirs"),
        (one("slot_criticality", Test::Is(number())), "must/0/is", "vital, essential"),
        (one("slot_criticality", Test::Is(text("vitol"))), "must/0/is", "vital, essential"),
        (one("slot_criticality", Test::AtLeast(text("vital"))), "must/0/at_least", "no order"),
        (one("slot_criticality", Test::StartsWith("v".to_owned())), "must/0/starts_with", "text"),
        (one("slot_hot_swap", Test::Is(text("yes"))), "must/0/is", "true or false"),
        (one("model_heat_w", Test::AtMost(text("4"))), "must/0/at_most", "a number, W"),
        (one("spare_serial", Test::OneOf(vec![text("A"), number()])), "must/0/one_of", "quotes"),
        (one("spare_serial", Test::OneOf(Vec::new())), "must/0/one_of", "at least one"),
        (one("spare_firmware", Test::AtLeast(text("new"))), "must/0/at_least", "dotted numbers"),
        (one("spare_firmware", Test::AtLeast(number())), "must/0/at_least", "quotes"),
    ] {
        let refused = check(std::slice::from_ref(&rule));
        assert_eq!(refused.len(), 1, "{rule:?}: {refused:?}");
        assert_eq!(refused[0].field, field);
        assert!(refused[0].to_do.contains(said), "{field}: {}", refused[0].to_do);
    }
    let twice = check(&[firmware(), firmware()]);
    assert_eq!((twice[0].at, twice[0].field.as_str()), (1, "name"));
    let unlike = one("spare_firmwear", Test::IsKnown);
    assert!(check(&[unlike])[0].words.contains(&"spare_firmware"));
}

fn named(rule: OwnRule) -> OwnRule {
    let name = format!("own-{}", rule.judges.word());
    OwnRule { name, ..rule }
}

#[test]
fn conditions_read_as_sentences() {
    for (fact, test, words) in [
        ("model_heat_w", Test::AtMost(Value::Number(4.5)), "heat of the model is at most 4.5 W"),
        ("slot_hot_swap", Test::Is(Value::Flag(true)), "the slot allows hot swap: yes"),
        (
            "slot_base",
            Test::Is(text("intrinsically_safe")),
            "base of the slot is intrinsically safe",
        ),
        ("spare_revision", Test::IsKnown, "revision of the spare is recorded"),
        (
            "slot_criticality",
            Test::OneOf(vec![text("vital"), text("essential")]),
            "criticality of the slot is vital or essential",
        ),
    ] {
        assert_eq!(condition(fact, test).words(), words);
    }
}

/// A fact that a later program has dropped stays readable and never passes.
#[test]
fn a_fact_that_is_not_known_any_more_never_passes() {
    let gone = rule(Judges::Swap, Vec::new(), vec![condition("slot_colour", Test::IsKnown)]);
    assert!(of_swap(&gone, |_, _| {}).unwrap().unknown);
}

#[test]
fn facts_are_named_once_and_their_words_are_those_of_the_register() {
    for (at, fact) in FACTS.iter().enumerate() {
        assert!(FACTS[..at].iter().all(|before| before.name != fact.name), "{}", fact.name);
        let about = ["cabinet_", "rail_", "item_", "slot_", "model_", "spare_"];
        assert!(about.iter().any(|about| fact.name.starts_with(about)), "{}", fact.name);
    }
    let words = |name: &str| match fact(name).unwrap().kind {
        FactKind::Word(words) => words,
        _ => panic!("{name} is no word"),
    };
    let bases = [
        BaseKind::OnePiece,
        BaseKind::Compact,
        BaseKind::Extended,
        BaseKind::IntrinsicallySafe,
        BaseKind::Own,
    ];
    assert_eq!(words("slot_base"), bases.map(BaseKind::word));
    let classes = [Criticality::Vital, Criticality::Essential, Criticality::Desirable];
    assert_eq!(words("slot_criticality"), classes.map(Criticality::word));
    let positions = [BusPosition::Off, BusPosition::Inner, BusPosition::End];
    assert_eq!(words("slot_bus_position"), positions.map(BusPosition::word));
    assert!(words("model_kind").contains(&ModelKind::PowerSupply.word()));
}

/// Every fact answers for a swap or for an item, by its own type.
#[test]
fn every_fact_answers_by_its_type() {
    let (seat, spare) = (seat(), spare());
    let s = Situation { seat: &seat, spare: &spare };
    let cabinet = seat.cabinet.as_ref().unwrap();
    let rail = &cabinet.rails[0];
    for fact in FACTS {
        let mut looked = Vec::new();
        if fact.asked_of.swaps() {
            looked.push(Looked::swap(&s));
        }
        if fact.asked_of.items() {
            looked.extend(rail.items.iter().map(|item| Looked::item(cabinet, rail, item)));
        }
        for looked in looked {
            use crate::rules::facts::Answer;
            let fits = match ((fact.of)(&looked), fact.kind) {
                (Answer::Text(text), FactKind::Word(words)) => words.contains(&&*text),
                (Answer::Text(_), kind) => {
                    matches!(kind, FactKind::Text | FactKind::Firmware | FactKind::Revision)
                }
                (Answer::Number(_), kind) => kind == FactKind::Number,
                (Answer::Flag(_), kind) => kind == FactKind::Flag,
                (Answer::Nothing | Answer::NotRecorded | Answer::NotMeant, _) => true,
            };
            assert!(fits, "{}", fact.name);
        }
    }
}

#[test]
fn severities_are_what_the_site_says() {
    let said = |severity: Severity| {
        let rule = OwnRule { severity, unknown: Note, ..firmware() };
        of_swap(&rule, |_, spare| spare.unit.firmware = Some("1.0".to_owned())).unwrap().severity
    };
    assert_eq!([Note, Caution, Stop].map(said), [Note, Caution, Stop]);
}
