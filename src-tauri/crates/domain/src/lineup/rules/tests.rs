use super::*;
use crate::key::KeySetting;
use crate::lineup::{Body, Item, Keyed, Place, Stand, What, keyed};
use crate::model::{BaseKind, Feeds, Model, ModelKind, OnRail, PartNo, made};
use crate::place::{BusPosition, CabinetAddress, RailAddress, SlotAddress};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// A cabinet that keeps every rule: rail 1 with standard bases, rail 2 with intrinsically safe
/// ones and a standard module far enough from them.
fn good() -> Cabinet {
    let mut first = row("+K1.1");
    put(&mut first, What::EndSupport, Some(model("ENS", ModelKind::EndSupport, 8.0)));
    slot(&mut first, BaseKind::Own, supply("PS", Feeds::Standard), BusPosition::Off);
    put(&mut first, What::Terminator, Some(terminator("TRM", "io")));
    slot(&mut first, BaseKind::Own, head("CP", "io"), BusPosition::End);
    slot(&mut first, BaseKind::Compact, module("AI", "AB"), BusPosition::Inner);
    slot(&mut first, BaseKind::OnePiece, one_piece("DI"), BusPosition::Inner);
    slot(&mut first, BaseKind::Compact, module("AO", "BA"), BusPosition::End);
    put(&mut first, What::Terminator, Some(terminator("TRM", "io")));
    put(&mut first, What::Blank, Some(model("BLK", ModelKind::Blank, 24.0)));
    put(&mut first, What::EndSupport, Some(model("ENS", ModelKind::EndSupport, 8.0)));

    let mut second = row("+K1.2");
    put(&mut second, What::EndSupport, Some(model("ENS", ModelKind::EndSupport, 8.0)));
    slot(&mut second, BaseKind::Own, supply("PSI", Feeds::IntrinsicallySafe), BusPosition::Off);
    slot(&mut second, BaseKind::Own, supply("PS", Feeds::Standard), BusPosition::Off);
    put(&mut second, What::Terminator, Some(terminator("TRM", "io")));
    slot(&mut second, BaseKind::Own, head("BC", "io"), BusPosition::End);
    slot(&mut second, BaseKind::IntrinsicallySafe, safe("AIS", "KL"), BusPosition::Inner);
    slot(&mut second, BaseKind::IntrinsicallySafe, safe("AIS", "KL"), BusPosition::End);
    put(&mut second, What::Terminator, Some(terminator("TRM", "io")));
    put(&mut second, What::Blank, Some(model("BLK", ModelKind::Blank, 60.0)));
    slot(&mut second, BaseKind::Compact, module("AI", "AB"), BusPosition::Off);
    put(&mut second, What::EndSupport, Some(model("ENS", ModelKind::EndSupport, 8.0)));

    Cabinet {
        address: CabinetAddress::parse("+K1").unwrap(),
        area: "INT".to_owned(),
        rails: vec![first, second],
        body: Body {
            width_mm: 800.0,
            height_mm: 2000.0,
            depth_mm: Some(400.0),
            stand: Some(Stand { back_to_wall: true, neighbours: 0, top_covered: false }),
            room_c: Some(35.0),
        },
        inside_c: 38.0,
        inside_known: true,
        keyed: Arc::new(Keyed::new()),
    }
}

fn row(address: &str) -> Rail {
    Rail {
        address: RailAddress::parse(address).unwrap(),
        length_mm: 700.0,
        fed_by: None,
        redundant: None,
        line_m: Some(2.0),
        line_mm2: Some(1.5),
        bus_left: None,
        bus_right: None,
        items: Vec::new(),
    }
}

fn put(rail: &mut Rail, what: What, model: Option<Model>) {
    let x_mm = rail.items.last().map_or(0.0, Item::right_mm);
    let width_mm = model.as_ref().map_or(10.0, |model| model.width_mm);
    rail.items.push(Item { x_mm, width_mm, what, model: model.map(Arc::new) });
}

fn slot(rail: &mut Rail, base: BaseKind, model: Model, bus: BusPosition) {
    let number = rail.places().count() as u32 + 1;
    let place = Place {
        address: SlotAddress::parse(&format!("{}.{number}", rail.address)).unwrap(),
        base,
        key: model.key.clone(),
        wanted: Some(Arc::new(model.clone())),
        filled: true,
        bus,
        bus_address: (bus != BusPosition::Off).then_some(number),
        known: None,
    };
    put(rail, What::Slot(place), Some(model));
}

fn model(part_no: &str, kind: ModelKind, width_mm: f64) -> Model {
    Model { width_mm, heat_w: Some(2.0), ..made(part_no, kind) }
}

fn supply(part_no: &str, feeds: Feeds) -> Model {
    let mut model = model(part_no, ModelKind::PowerSupply, 60.0);
    model.supply_rating_ma = Some(3000.0);
    model.on_rail.supply_peak_ma = Some(4500.0);
    model.on_rail.feeds = Some(feeds);
    model
}

fn terminator(part_no: &str, bus: &str) -> Model {
    let mut model = model(part_no, ModelKind::Terminator, 10.0);
    model.on_rail.buses = vec![bus.to_owned()];
    model
}

fn loaded(part_no: &str, kind: ModelKind, width_mm: f64, ma: f64) -> Model {
    let mut model = model(part_no, kind, width_mm);
    model.current_24v_ma = Some(ma);
    model.on_rail = OnRail {
        buses: vec!["io".to_owned()],
        bus_current_ma: Some(20.0),
        inrush_ma: Some(2.0 * ma),
        through_mohm: Some(10.0),
        ..OnRail::default()
    };
    model
}

fn head(part_no: &str, bus: &str) -> Model {
    let mut model = loaded(part_no, ModelKind::Controller, 96.0, 400.0);
    model.on_rail.buses = vec![bus.to_owned()];
    model.on_rail.bus_units_max = Some(32);
    model.on_rail.bus_supply_ma = Some(1000.0);
    model
}

fn one_piece(part_no: &str) -> Model {
    let mut model = loaded(part_no, ModelKind::ModuleOnePiece, 48.0, 100.0);
    model.base = Some(BaseKind::OnePiece);
    model.channels = 16;
    model
}

fn module(part_no: &str, code: &str) -> Model {
    let mut model = loaded(part_no, ModelKind::Module, 24.0, 150.0);
    model.base = Some(BaseKind::Compact);
    model.key = Some(KeySetting { scheme: "std".to_owned(), code: code.to_owned() });
    model.channels = 8;
    model
}

fn safe(part_no: &str, code: &str) -> Model {
    let mut model = loaded(part_no, ModelKind::Module, 30.0, 130.0);
    model.base = Some(BaseKind::IntrinsicallySafe);
    model.key = Some(KeySetting { scheme: "is".to_owned(), code: code.to_owned() });
    model.channels = 4;
    model.intrinsically_safe = true;
    model
}

type Change = fn(&mut Cabinet);

/// What one rule must find: a text of the break, and of what is missing.
struct Case {
    rule: &'static str,
    /// Makes the rule look at something where the good cabinet gives it nothing to look at.
    pass: Change,
    breaks: Change,
    broken: &'static str,
    hides: Change,
    unknown: &'static str,
}

fn as_it_is(_: &mut Cabinet) {}

fn item(cabinet: &mut Cabinet, at: usize) -> &mut Item {
    &mut cabinet.rails[0].items[at]
}

fn fact(cabinet: &mut Cabinet, rail: usize, at: usize, change: impl Fn(&mut Model)) {
    let item = &mut cabinet.rails[rail].items[at];
    if let Some(model) = &mut item.model {
        change(Arc::make_mut(model));
    }
}

fn place(cabinet: &mut Cabinet, rail: usize, at: usize) -> &mut Place {
    match &mut cabinet.rails[rail].items[at].what {
        What::Slot(place) => place,
        other => panic!("{other:?} is no slot"),
    }
}

fn empty(cabinet: &mut Cabinet, at: usize) {
    place(cabinet, 0, at).filled = false;
    item(cabinet, at).model = None;
}

/// The catalogue of the cabinet itself and one more model with a key of its own.
fn catalogue(cabinet: &mut Cabinet, more: &[Model]) {
    let own = cabinet.rails.iter().flat_map(|rail| &rail.items);
    let own: BTreeMap<_, _> =
        own.filter_map(|item| item.meant()).map(|m| (m.part_no.clone(), m.clone())).collect();
    let models = own.values().map(|model| &**model).chain(more);
    cabinet.keyed = Arc::new(keyed(models));
}

fn cases() -> Vec<Case> {
    vec![
        Case {
            rule: "touching",
            pass: as_it_is,
            breaks: |c| item(c, 8).width_mm = 20.0,
            broken: "4 mm stand free between the blank",
            hides: |c| item(c, 8).width_mm = f64::NAN,
            unknown: "is not known",
        },
        Case {
            rule: "rail-length",
            pass: as_it_is,
            breaks: |c| c.rails[0].length_mm = 300.0,
            broken: "the rail is 300 mm long",
            hides: |c| item(c, 8).model = None,
            unknown: "the width of the blank at",
        },
        Case {
            rule: "item-width",
            pass: as_it_is,
            breaks: |c| fact(c, 0, 8, |model| model.width_mm = 25.0),
            broken: "24 mm by the register, 25 mm by the catalogue",
            hides: |c| item(c, 8).model = None,
            unknown: "no width for the blank",
        },
        Case {
            rule: "end-supports",
            pass: as_it_is,
            breaks: |c| drop(c.rails[0].items.pop()),
            broken: "no end support holds the right end",
            hides: |c| c.rails[0].items.truncate(1),
            unknown: "fewer than two items",
        },
        Case {
            rule: "slot-numbers",
            pass: as_it_is,
            breaks: |c| place(c, 0, 4).address = SlotAddress::parse("+K1.1.2").unwrap(),
            broken: "two positions have the number 02",
            hides: |c| item(c, 8).what = What::Base,
            unknown: "has no slot number",
        },
        Case {
            rule: "empty-bases",
            pass: as_it_is,
            breaks: |c| empty(c, 4),
            broken: "1 of 2 bases carry no module: 03",
            hides: |c| item(c, 8).what = What::Base,
            unknown: "whether the base at",
        },
        Case {
            rule: "bus-ends",
            pass: as_it_is,
            breaks: |c| drop(c.rails[0].items.remove(7)),
            broken: "no terminator closes the right end",
            hides: |c| {
                fact(c, 0, 4, |model| model.on_rail.buses = vec!["other".to_owned()]);
                item(c, 7).model = None;
            },
            unknown: "to which bus the terminator at",
        },
        Case {
            rule: "bus-passes",
            pass: as_it_is,
            breaks: |c| empty(c, 5),
            broken: "nothing stands in +K1.1.04",
            hides: |c| {
                let x_mm = item(c, 5).x_mm;
                *item(c, 5) = Item { x_mm, width_mm: 48.0, what: What::Blank, model: None };
            },
            unknown: "whether bus \"io\" passes the blank",
        },
        Case {
            rule: "bus-positions",
            pass: as_it_is,
            breaks: |c| place(c, 0, 6).bus = BusPosition::Inner,
            broken: "+K1.1.05 is recorded between others on its bus, and stands at an end",
            hides: |c| {
                fact(c, 0, 4, |model| model.on_rail.buses = vec!["other".to_owned()]);
                fact(c, 0, 5, |model| model.on_rail.buses.clear());
            },
            unknown: "on which of several buses +K1.1.04 sits",
        },
        Case {
            rule: "bus-units",
            pass: as_it_is,
            breaks: |c| fact(c, 0, 3, |model| model.on_rail.bus_units_max = Some(2)),
            broken: "3 units, 2 are allowed",
            hides: |c| fact(c, 0, 3, |model| model.on_rail.bus_units_max = None),
            unknown: "how many it may have is not known",
        },
        Case {
            rule: "bus-budget",
            pass: as_it_is,
            breaks: |c| fact(c, 0, 3, |model| model.on_rail.bus_supply_ma = Some(59.0)),
            broken: "draws 60 mA of 59 mA",
            hides: |c| fact(c, 0, 5, |model| model.on_rail.bus_current_ma = None),
            unknown: "without +K1.1.04",
        },
        Case {
            rule: "bus-addresses",
            pass: as_it_is,
            breaks: |c| place(c, 0, 4).bus_address = Some(2),
            broken: "+K1.1.02 and +K1.1.03 both have address 2",
            hides: |c| place(c, 0, 4).bus_address = None,
            unknown: "no address on bus \"io\" is recorded for +K1.1.03",
        },
        Case {
            rule: "keys",
            pass: as_it_is,
            breaks: |c| place(c, 0, 4).key.as_mut().unwrap().code = "BB".to_owned(),
            broken: "keyed std BB, the module on it (AI) is std AB",
            hides: |c| fact(c, 0, 4, |model| model.key = None),
            unknown: "gives no key for AI",
        },
        Case {
            rule: "shared-key",
            pass: |c| {
                empty(c, 4);
                catalogue(c, &[module("OTHER", "CC")]);
            },
            breaks: |c| {
                empty(c, 4);
                catalogue(c, &[module("OTHER", "AB")]);
            },
            broken: "keyed std AB for AI; OTHER would be taken too",
            hides: |c| {
                empty(c, 4);
                place(c, 0, 4).wanted = None;
            },
            unknown: "which model it is for is not known",
        },
        Case {
            rule: "safe-inlet",
            pass: as_it_is,
            breaks: |c| fact(c, 1, 1, |model| model.on_rail.feeds = Some(Feeds::Standard)),
            broken: "no supply of their own",
            hides: |c| fact(c, 1, 1, |model| model.on_rail.feeds = None),
            unknown: "which bases +K1.2.01 feeds is not known",
        },
        Case {
            rule: "safe-grouped",
            pass: as_it_is,
            breaks: |c| c.rails[1].items.swap(6, 9),
            broken: "stands between intrinsically safe bases",
            hides: |c| {
                c.rails[1].items.swap(6, 9);
                place(c, 1, 6).wanted = None;
                c.rails[1].items[6].model = None;
            },
            unknown: "what stands in +K1.2.06, between safe bases, is not known",
        },
        Case {
            rule: "safe-distance",
            pass: as_it_is,
            breaks: |c| fact(c, 1, 6, |model| model.on_rail.safe_distance_mm = Some(70.5)),
            broken: "+K1.2.05 stands 70 mm from +K1.2.06; 70.5 mm are stated",
            hides: |c| c.rails[1].items[9].model = None,
            unknown: "what stands in +K1.2.06, next to +K1.2.05, is not known",
        },
        Case {
            rule: "supply-budget",
            pass: as_it_is,
            breaks: |c| c.inside_c = 90.0,
            broken: "800 mA are drawn; the supply gives 750 mA at 90 °C",
            hides: |c| fact(c, 0, 4, |model| model.current_24v_ma = None),
            unknown: "without +K1.1.03",
        },
        Case {
            rule: "supply-start",
            pass: as_it_is,
            breaks: |c| fact(c, 0, 1, |model| model.on_rail.supply_peak_ma = Some(1599.0)),
            broken: "start with 1600 mA; the supply gives 1599 mA for a moment",
            hides: |c| fact(c, 0, 4, |model| model.on_rail.inrush_ma = None),
            unknown: "without the start of +K1.1.03",
        },
        Case {
            rule: "voltage",
            pass: as_it_is,
            breaks: |c| c.rails[0].line_m = Some(200.0),
            broken: "needs 20.4 V",
            hides: |c| c.rails[0].line_mm2 = None,
            unknown: "without length and conductor of the line",
        },
        Case {
            rule: "cabinet-heat",
            pass: as_it_is,
            breaks: |c| c.body.room_c = Some(54.9),
            broken: "the cabinet bears 55 °C",
            hides: |c| c.body.depth_mm = None,
            unknown: "the depth of the cabinet",
        },
    ]
}

fn of<'f>(found: &'f [Finding], rule: &str) -> Vec<&'f Finding> {
    found.iter().filter(|finding| finding.rule == rule).collect()
}

#[test]
fn every_rule_passes_breaks_and_says_what_it_does_not_know() {
    let mut seen = BTreeSet::new();
    for case in cases() {
        let rule = case.rule;
        let spec = specs().find(|spec| spec.name == rule).unwrap();
        let judged = |change: Change| {
            let mut cabinet = good();
            change(&mut cabinet);
            check(&cabinet, &[], &[])
        };
        let passing = judged(case.pass);
        assert!(!of(&passing, rule).is_empty(), "{rule} looked at nothing");
        for finding in of(&passing, rule) {
            assert_eq!(finding.severity, Severity::Pass, "{finding:?}");
            assert!(!finding.unknown && finding.to_do.is_empty() && !finding.compared.is_empty());
        }
        let breaking = judged(case.breaks);
        let broken = of(&breaking, rule).into_iter().find(|f| f.severity > Severity::Pass);
        let broken = broken.unwrap_or_else(|| panic!("{rule} let a break pass"));
        assert_eq!((broken.severity, broken.unknown), (spec.severity, false), "{broken:?}");
        assert!(broken.compared.contains(case.broken), "{broken:?}");
        assert!(!broken.to_do.is_empty(), "{broken:?}");
        let hiding = judged(case.hides);
        let unknown = of(&hiding, rule).into_iter().find(|f| f.unknown);
        let unknown = unknown.unwrap_or_else(|| panic!("{rule} did not miss what is hidden"));
        assert_eq!(unknown.severity, spec.unknown.min(spec.severity), "{unknown:?}");
        assert!(unknown.severity > Severity::Pass);
        assert!(unknown.compared.contains(case.unknown), "{unknown:?}");
        assert!(!unknown.to_do.is_empty(), "{unknown:?}");
        seen.insert(rule);
    }
    let all: BTreeSet<_> = specs().map(|spec| spec.name).collect();
    assert_eq!(seen, all, "each rule has its case");
    assert_eq!(all.len(), RULES.len(), "each name once");
}

#[test]
fn a_good_cabinet_has_nothing_but_passes() {
    let bad: Vec<_> =
        check(&good(), &[], &[]).into_iter().filter(|f| f.severity > Severity::Pass).collect();
    assert!(bad.is_empty(), "{bad:#?}");
}

#[test]
fn a_rule_that_is_off_finds_nothing_and_a_limit_of_the_site_holds() {
    let mut cabinet = good();
    cabinet.rails[0].items[8].width_mm = 20.0;
    let set = |on, gap_mm: f64| RuleSetting {
        name: "touching".to_owned(),
        on,
        severity: Some(Severity::Stop),
        limits: [("gap_mm".to_owned(), gap_mm)].into(),
    };
    let found = check(&cabinet, &[set(true, 0.5)], &[]);
    assert!(of(&found, "touching").iter().any(|f| f.severity == Severity::Stop));
    assert!(of(&check(&cabinet, &[set(false, 0.5)], &[]), "touching").is_empty());
    let found = check(&cabinet, &[set(true, 5.0)], &[]);
    assert!(of(&found, "touching").iter().all(|f| f.severity == Severity::Pass));
}

fn found(change: Change, rule: &str) -> Vec<(Severity, String)> {
    let mut cabinet = good();
    change(&mut cabinet);
    let found = check(&cabinet, &[], &[]);
    of(&found, rule).iter().map(|f| (f.severity, f.compared.clone())).collect()
}

fn says(change: Change, rule: &str, said: &str) {
    let found = found(change, rule);
    assert!(
        found.iter().any(|(severity, text)| *severity > Severity::Pass && text.contains(said)),
        "{said}: {found:#?}"
    );
}

#[test]
fn a_bus_is_closed_once_and_only_at_its_ends() {
    let twice: Change = |c| {
        let again = c.rails[0].items[7].clone();
        c.rails[0].items.insert(8, again);
    };
    says(twice, "bus-ends", "2 terminators close the right end");
    says(|c| c.rails[0].items.swap(6, 7), "bus-ends", "1 terminators stand within");
    let closes: Change =
        |c| fact(c, 0, 3, |model| model.on_rail.terminates = vec!["io".to_owned()]);
    says(closes, "bus-ends", "2 terminators close the left end");
    let closes_alone: Change = |c| {
        fact(c, 0, 3, |model| model.on_rail.terminates = vec!["io".to_owned()]);
        c.rails[0].items.remove(2);
    };
    assert!(found(closes_alone, "bus-ends").iter().all(|(s, _)| *s == Severity::Pass));
    let goes_on: Change = |c| *c = joined();
    assert!(found(goes_on, "bus-ends").iter().all(|(s, _)| *s == Severity::Pass));
    let of_one_rail_only: Change = |c| {
        *c = joined();
        c.rails[1].bus_left = None;
    };
    says(of_one_rail_only, "bus-ends", "goes on to +K1.2, of which no such thing is recorded");
    let goes_on_closed: Change = |c| c.rails[0].bus_right = RailAddress::parse("+K1.2").ok();
    says(goes_on_closed, "bus-ends", "goes on to +K1.2, yet a terminator closes");
}

/// The first rail feeds the second, and its bus goes on there: no terminator stands between them,
/// and the second has no head of its own.
fn joined() -> Cabinet {
    let mut cabinet = good();
    let [first, second] = cabinet.rails.as_mut_slice() else { panic!("two rails") };
    (first.bus_right, second.bus_left) =
        (Some(second.address.clone()), Some(first.address.clone()));
    second.fed_by = Some(first.address.clone());
    first.items.remove(7);
    let head_or_end = |item: &Item| {
        matches!(item.what, What::Terminator) && item.x_mm < 200.0
            || item.meant().is_some_and(|model| ["BC", "PS"].contains(&model.part_no.as_str()))
    };
    second.items.retain(|item| !head_or_end(item));
    for item in &mut second.items {
        if let What::Slot(place) = &mut item.what {
            place.bus_address = place.bus_address.map(|number| number + 20);
        }
    }
    cabinet
}

#[test]
fn a_bus_that_goes_on_to_another_rail_is_counted_once_and_whole() {
    let said = |change: Change, rule: &str, rail: &str| {
        let mut cabinet = joined();
        change(&mut cabinet);
        let found = check(&cabinet, &[], &[]);
        let of = of_rail(&found, rule, rail);
        assert_eq!(of.len(), 1, "{of:#?}");
        (of[0].severity, of[0].compared.clone())
    };
    let units = "bus \"io\" on +K1.1 and +K1.2 has 5 units, 32 are allowed";
    assert_eq!(said(|_| {}, "bus-units", "+K1.1"), (Severity::Pass, units.to_owned()));
    let there = "bus \"io\" runs on +K1.1 too and is counted there";
    for rule in ["bus-units", "bus-budget", "bus-addresses"] {
        assert_eq!(said(|_| {}, rule, "+K1.2"), (Severity::Pass, there.to_owned()));
    }
    let few: Change = |c| fact(c, 0, 3, |model| model.on_rail.bus_units_max = Some(4));
    assert_eq!(said(few, "bus-units", "+K1.1").0, Severity::Stop);
    let weak: Change = |c| fact(c, 0, 3, |model| model.on_rail.bus_supply_ma = Some(80.0));
    assert_eq!(said(weak, "bus-budget", "+K1.1").0, Severity::Stop);
    let twice: Change = |c| {
        if let What::Slot(place) = &mut c.rails[1].items[2].what {
            place.bus_address = Some(4);
        }
    };
    let (severity, compared) = said(twice, "bus-addresses", "+K1.1");
    assert!(severity == Severity::Stop && compared.contains("+K1.2."), "{compared}");
}

#[test]
fn what_is_added_up_on_another_rail_concerns_this_one_too() {
    let mut cabinet = joined();
    fact(&mut cabinet, 0, 1, |model| model.supply_rating_ma = Some(900.0));
    fact(&mut cabinet, 0, 3, |model| model.on_rail.bus_units_max = Some(4));
    let found = check(&cabinet, &[], &[]);
    let stops = |rail: usize| {
        let of = found.iter().filter(|found| {
            found.severity == Severity::Stop && cabinet.concerns(&cabinet.rails[rail], found)
        });
        of.map(|found| (&*found.rule, found.at.as_str())).collect::<Vec<_>>()
    };
    let both = [("bus-units", "+K1.1"), ("supply-budget", "+K1.1")];
    assert_eq!(stops(0), both);
    assert_eq!(stops(1), both, "whoever plans the second rail must see it");
    cabinet.rails[1].bus_left = None;
    cabinet.rails[0].bus_right = None;
    cabinet.rails[1].fed_by = None;
    assert!(!cabinet.concerns(&cabinet.rails[1], of_rail(&found, "bus-units", "+K1.1")[0]));
}

/// Of two supplies that may fail one at a time, the sentence names the one that is left out.
#[test]
fn a_redundant_pair_is_judged_by_the_one_that_stays() {
    let mut cabinet = good();
    let mut small = cabinet.rails[0].items[1].clone();
    if let What::Slot(place) = &mut small.what {
        place.address = SlotAddress::parse("+K1.1.09").unwrap();
    }
    cabinet.rails[0].items.insert(2, small);
    fact(&mut cabinet, 0, 2, |model| model.supply_rating_ma = Some(500.0));
    cabinet.rails[0].redundant = Some(true);
    let found = check(&cabinet, &[], &[]);
    let budget = of_rail(&found, "supply-budget", "+K1.1")[0];
    assert_eq!(budget.severity, Severity::Stop);
    let said = "without +K1.1.01 the supply that stays gives 500 mA at 38 °C";
    assert!(budget.compared.ends_with(said), "{}", budget.compared);
    assert!(budget.to_do.starts_with("make each supply large enough"), "{}", budget.to_do);
}

#[test]
fn two_buses_on_one_rail_are_closed_each_for_itself() {
    let second: Change = |c| {
        fact(c, 0, 5, |model| model.on_rail.buses = vec!["io".to_owned(), "field".to_owned()]);
        fact(c, 0, 6, |model| model.on_rail.buses = vec!["field".to_owned()]);
    };
    let said = found(second, "bus-ends");
    let open = said.iter().filter(|(s, text)| *s == Severity::Stop && text.contains("\"field\""));
    assert_eq!(open.count(), 2, "{said:#?}");
    assert!(said.iter().any(|(s, text)| *s == Severity::Pass && text.contains("\"io\"")));
}

#[test]
fn one_of_several_supplies_is_left_out_unless_it_may_not_fail() {
    use crate::lineup::{Derating, supplied};
    let mut cabinet = good();
    let more = cabinet.rails[0].items[1].clone();
    cabinet.rails[0].items.insert(1, more);
    let of = |cabinet: &Cabinet| {
        supplied(cabinet, &cabinet.rails[0], Feeds::Standard, Derating::default())
    };
    assert!(of(&cabinet).redundancy_unknown);
    assert_eq!((of(&cabinet).available_ma, of(&cabinet).peak_ma), (3000.0, Some(4500.0)));
    cabinet.rails[0].redundant = Some(false);
    assert!(!of(&cabinet).redundancy_unknown);
    assert_eq!((of(&cabinet).available_ma, of(&cabinet).peak_ma), (6000.0, Some(9000.0)));
    let both = supplied(&cabinet, &cabinet.rails[1], Feeds::IntrinsicallySafe, Derating::default());
    assert_eq!((both.supplies, both.drawn_ma), (1, 260.0));
}

#[test]
fn a_rail_that_feeds_another_carries_its_units_too() {
    use crate::lineup::{Derating, supplied};
    let mut cabinet = good();
    cabinet.rails[1].items.retain(|item| !item.is_supply());
    cabinet.rails[1].fed_by = Some(cabinet.rails[0].address.clone());
    let of = supplied(&cabinet, &cabinet.rails[0], Feeds::Standard, Derating::default());
    assert_eq!(of.drawn_ma, 800.0 + 400.0 + 2.0 * 130.0 + 150.0);
    let found = check(&cabinet, &[], &[]);
    let fed = of_rail(&found, "supply-budget", "+K1.2");
    assert!(fed.iter().all(|f| f.severity == Severity::Pass), "{fed:#?}");
    assert!(of_rail(&found, "safe-inlet", "+K1.2").iter().any(|f| f.severity == Severity::Stop));
}

fn of_rail<'f>(found: &'f [Finding], rule: &str, rail: &str) -> Vec<&'f Finding> {
    of(found, rule).into_iter().filter(|finding| finding.at == rail).collect()
}

/// By hand: 0.8 A through 2 × 2 m of 1.5 mm² copper at 20 °C, then 10 mΩ each with what is behind.
#[test]
fn the_voltage_falls_along_the_row() {
    use crate::lineup::along;
    let mut cabinet = good();
    cabinet.inside_c = 20.0;
    let of = along(&cabinet, &cabinet.rails[0], 24.0, 20.4);
    let line_v = 0.8 * 4.0 * 0.017241 / 1.5;
    let row_v = 0.010 * (0.4 + 0.25 + 0.15);
    assert!((of.last_v - (24.0 - line_v - row_v)).abs() < 1e-9, "{of:?}");
    assert_eq!(of.worst.as_ref().unwrap().0, "+K1.1.05");
    assert!(of.unknown.is_empty());
}

#[test]
fn a_planned_unit_changes_the_sums() {
    use crate::lineup::warmth;
    let mut cabinet = good();
    let before_w = warmth(&cabinet, 5.5).heat_w;
    let mut hot = module("HOT", "AB");
    hot.heat_w = Some(12.0);
    let slot = SlotAddress::parse("+K1.1.03").unwrap();
    cabinet.rails[0] = cabinet.rails[0].with_unit(&slot, &Arc::new(hot));
    assert_eq!(warmth(&cabinet, 5.5).heat_w, before_w + 10.0);
}

mod plans {
    use super::*;
    use crate::lineup::{Wish, WishKind, pieces, planned};

    /// The first rail of the good cabinet, wished as it stands.
    fn wishes(rail: &Rail) -> Vec<Wish> {
        let wish = |item: &Item| Wish {
            gap_mm: 0.0,
            what: match &item.what {
                What::Slot(place) => WishKind::Slot {
                    slot: Some(place.address.clone()),
                    empty: !place.filled,
                    key: None,
                    bus_address: None,
                },
                What::Terminator => WishKind::Terminator,
                What::EndSupport => WishKind::EndSupport,
                What::Blank => WishKind::Blank,
                What::Base => WishKind::Base,
            },
            model: item.meant().cloned(),
        };
        rail.items.iter().map(wish).collect()
    }

    fn new(model: Model) -> Wish {
        let what = WishKind::Slot { slot: None, empty: false, key: None, bus_address: Some(9) };
        Wish { gap_mm: 0.0, what, model: Some(Arc::new(model)) }
    }

    #[test]
    fn a_rail_wished_as_it_stands_stays_as_it_is() {
        let rail = good().rails.remove(0);
        assert_eq!(planned(&rail, &wishes(&rail)), Ok(rail));
    }

    #[test]
    fn an_extended_rail_pushes_on_what_follows_and_ends_its_bus_anew() {
        let mut cabinet = good();
        let rail = cabinet.rails[0].clone();
        let mut wished = wishes(&rail);
        wished.insert(7, new(module("AI", "AB")));
        let plan = planned(&rail, &wished).unwrap();
        let added = plan.items[7].place().unwrap();
        assert_eq!(added.address.as_str(), "+K1.1.06");
        assert_eq!(
            (added.bus, plan.items[6].place().unwrap().bus),
            (BusPosition::End, BusPosition::Inner)
        );
        assert_eq!(plan.items[8].x_mm, rail.items[7].x_mm + 24.0);
        let base = PartNo::parse("BASE").unwrap();
        let base_of = |kind| (kind == BaseKind::Compact).then(|| base.clone());
        let taken = pieces(&rail, &plan, &base_of);
        let wanted = [(PartNo::parse("AI").unwrap(), 1), (base.clone(), 1)];
        assert_eq!(taken, wanted.into());
        assert_eq!(pieces(&plan, &rail, &base_of).values().sum::<i32>(), -2);
        cabinet.rails[0] = plan;
        let bad = check(&cabinet, &[], &[]).into_iter().find(|f| f.severity > Severity::Pass);
        assert_eq!(bad, None);
    }

    #[test]
    fn what_cannot_stand_there_is_refused_by_its_position() {
        let rail = good().rails.remove(0);
        let check = |at: usize, wish: Wish, why: &str| {
            let mut wished = wishes(&rail);
            wished.insert(at, wish);
            let refusal = planned(&rail, &wished).unwrap_err();
            assert!(refusal.position == at + 1 && refusal.why.contains(why), "{refusal}");
        };
        check(3, new(terminator("TRM", "io")), "does not stand in a slot");
        let slot = |number: u32| WishKind::Slot {
            slot: SlotAddress::parse(&format!("+K1.1.{number}")).ok(),
            empty: false,
            key: None,
            bus_address: None,
        };
        check(5, Wish { gap_mm: 0.0, what: slot(2), model: None }, "+K1.1.02 stands twice");
        check(5, Wish { gap_mm: 0.0, what: slot(77), model: None }, "is not on rail +K1.1");
        let wide = Wish { gap_mm: f64::NAN, what: WishKind::Blank, model: None };
        check(2, wide, "is no width");
        let wrong = Arc::new(module("AI", "AB"));
        let wrong = Wish { gap_mm: 0.0, what: WishKind::Blank, model: Some(wrong) };
        check(2, wrong, "AI is no blank");
        let mut wished = wishes(&rail);
        wished[4].model = Some(Arc::new(one_piece("DI")));
        assert!(planned(&rail, &wished).unwrap_err().why.contains("another kind of base"));
    }
}
