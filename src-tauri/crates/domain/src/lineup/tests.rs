use super::*;
use proptest::prelude::*;

#[test]
fn a_width_that_is_unknown_is_no_fit() {
    let fit = rail_fit(100.0, &[Some(60.0), None, Some(f64::NAN)]);
    assert_eq!((fit.used_mm, fit.left_mm, fit.unknown, fit.fits), (60.0, 40.0, 2, false));
    assert!(rail_fit(0.3, &[Some(0.1), Some(0.2)]).fits);
    assert!(!rail_fit(100.0, &[Some(100.1)]).fits);
    assert_eq!(equal_items(10.0, 18.0, 19.0), Some((0, -9.0)));
    assert_eq!(equal_items(10.0, 0.0, 0.0), None);
}

#[test]
fn a_supply_loses_its_rating_with_heat_and_never_goes_below_nothing() {
    let at = |cabinet_c| derated_ma(3000.0, cabinet_c, DERATING_FROM_C, DERATING_PCT_K);
    assert_eq!((at(20.0), at(60.0), at(70.0), at(200.0)), (3000.0, 3000.0, 2250.0, 0.0));
    let budget = supply_budget(at(70.0), &[Some(2000.0), Some(250.0)]);
    assert!(budget.covers && budget.left_ma == 0.0);
    assert!(!supply_budget(at(70.0), &[Some(10.0), None]).covers);
    assert!(!supply_budget(f64::NAN, &[Some(10.0)]).covers);
}

proptest! {
    #[test]
    fn a_freer_cabinet_gives_off_more(
        height_m in 0.2..2.5f64,
        width_m in 0.2..2.0f64,
        depth_m in 0.1..1.0f64,
        neighbours in 0u8..2,
    ) {
        let area = |back_to_wall, neighbours, top_covered| {
            let stand = Stand { back_to_wall, neighbours, top_covered };
            effective_area_m2(height_m, width_m, depth_m, stand)
        };
        prop_assert!(area(false, neighbours, false) > area(true, neighbours, false));
        prop_assert!(area(false, neighbours, false) > area(false, neighbours + 1, false));
        prop_assert!(area(false, neighbours, false) > area(false, neighbours, true));
        let faces = 2.0 * (height_m * width_m + height_m * depth_m) + width_m * depth_m;
        prop_assert!(area(false, 0, false) < 1.4 * faces);
    }
}
