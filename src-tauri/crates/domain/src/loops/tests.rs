use super::*;
use proptest::prelude::*;

fn source() -> EntitySource {
    EntitySource {
        uo_v: Some(28.0),
        io_ma: Some(93.0),
        po_mw: Some(650.0),
        co_nf: Some(83.0),
        lo_mh: Some(4.2),
        lo_ro_uh_ohm: Some(55.0),
    }
}

fn field() -> EntityInput {
    EntityInput {
        ui_v: Some(30.0),
        ii_ma: Some(120.0),
        pi_mw: Some(800.0),
        ci_nf: Some(5.0),
        li_mh: Some(0.01),
        ..EntityInput::default()
    }
}

fn outcome(check: &EntityCheck, comparison: Comparison) -> Outcome {
    check.findings.iter().find(|finding| finding.comparison == comparison).unwrap().outcome
}

#[test]
fn equal_figures_pass_and_a_metre_more_does_not() {
    let check = |length_m| entity_check(&source(), &field(), &Cable::unknown_kind(Some(length_m)));
    assert!(check(390.0).passes, "{:?}", check(390.0));
    assert!(!check(391.0).passes);
    assert_eq!(outcome(&check(391.0), Comparison::Capacitance), Outcome::Fails);
}

#[test]
fn whatever_is_unknown_is_never_a_pass() {
    let cable = Cable::unknown_kind(Some(10.0));
    let forget: [fn(&mut EntitySource, &mut EntityInput, &mut Cable); 10] = [
        |source, _, _| source.uo_v = None,
        |source, _, _| source.io_ma = None,
        |source, _, _| source.po_mw = None,
        |source, _, _| source.co_nf = None,
        |_, field, _| field.ui_v = None,
        |_, field, _| field.ii_ma = Some(f64::NAN),
        |_, field, _| field.pi_mw = Some(-1.0),
        |_, field, _| field.ci_nf = None,
        |_, field, _| field.li_mh = None,
        |_, _, cable| cable.length_m = None,
    ];
    for (number, forget) in forget.iter().enumerate() {
        let (mut source, mut field, mut cable) = (source(), field(), cable);
        forget(&mut source, &mut field, &mut cable);
        let check = entity_check(&source, &field, &cable);
        assert!(!check.passes, "case {number}: {check:?}");
        assert!(check.findings.iter().any(|finding| finding.outcome == Outcome::Unknown));
    }
}

#[test]
fn the_ratio_of_the_cable_serves_where_the_sum_does_not() {
    let mut source = source();
    source.lo_mh = None;
    let mut field = field();
    let cable = Cable::unknown_kind(Some(10.0));
    assert!(!entity_check(&source, &field, &cable).passes);
    field.li_mh = Some(0.0);
    assert!(entity_check(&source, &field, &cable).passes);
    source.lo_ro_uh_ohm = Some(29.0);
    assert!(!entity_check(&source, &field, &cable).passes);
}

#[test]
fn a_device_with_both_reactances_gets_half() {
    let mut field = field();
    field.li_mh = Some(0.1);
    let check = |length_m| entity_check(&source(), &field, &Cable::unknown_kind(Some(length_m)));
    assert!(check(182.0).passes);
    let long = check(183.0);
    assert_eq!(outcome(&long, Comparison::Capacitance), Outcome::Holds);
    assert_eq!(outcome(&long, Comparison::BothReactances), Outcome::Fails);
}

#[test]
fn figures_given_for_the_whole_cable_go_before_its_length() {
    let passes = |field: EntityInput| entity_check(&source(), &field, &Cable::of(&field)).passes;
    let bare = field();
    assert!(!passes(bare), "neither length nor figures");
    let by_length = EntityInput { cable_m: Some(390.0), ..bare };
    assert!(passes(by_length));
    assert!(!passes(EntityInput { cable_m: Some(391.0), ..bare }));
    let given = EntityInput { cable_nf: Some(78.0), cable_mh: Some(0.39), ..bare };
    assert!(passes(given), "as much as 390 m of unknown kind");
    assert!(!passes(EntityInput { cable_nf: Some(78.1), ..given }));
    assert!(!passes(EntityInput { cable_nf: None, ..given }), "half of it is not known");
    assert!(passes(EntityInput { cable_nf: Some(1.0), cable_m: Some(2000.0), ..bare }));
    assert!(!passes(EntityInput { cable_nf: Some(f64::NAN), ..given }));
}

proptest! {
    #[test]
    fn a_longer_cable_never_turns_a_stop_into_a_pass(
        ci_nf in 0.0..100.0f64,
        li_mh in 0.0..5.0f64,
        length_m in 0.0..1000.0f64,
        more_m in 0.0..1000.0f64,
    ) {
        let field = EntityInput { ci_nf: Some(ci_nf), li_mh: Some(li_mh), ..field() };
        let passes = |length_m| {
            entity_check(&source(), &field, &Cable::unknown_kind(Some(length_m))).passes
        };
        prop_assert!(passes(length_m) || !passes(length_m + more_m));
    }
}
