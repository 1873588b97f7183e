use super::*;
use crate::key::KeySetting;
use crate::model::{BaseKind, EntityOutput, Lifecycle, Model, ModelKind, PartNo, made};
use crate::spares::{Measure, Pmf, Target};
use std::slice::from_ref;

fn target(value: f64) -> Target {
    Target::new(Measure::NoStockOut, value).unwrap()
}

fn lacking(mean: f64, stock: u64, shelves: &[usize]) -> Lacking {
    let demand = Pmf::poisson(mean).unwrap();
    let needed = demand.quantile(0.95);
    Lacking {
        stock,
        needed,
        demand,
        target: target(0.95),
        shelves: shelves.to_vec(),
        filled_instead: None,
    }
}

fn fewer(free: &[u64], models: &[Lacking]) -> Vec<u64> {
    free_pieces(free, models).unwrap().iter().map(|helped| helped.fewer).collect()
}

/// One model alone: each free piece is worth one of its own, whichever shelf it lies on.
#[test]
fn free_pieces_save_as_many_for_one_model_and_never_more_than_it_needs() {
    let model = lacking(2.0, 1, &[0, 1]);
    assert_eq!(model.needed, 5);
    assert_eq!(fewer(&[0, 0], from_ref(&model)), [0]);
    assert_eq!(fewer(&[2, 0], from_ref(&model)), [2]);
    assert_eq!(fewer(&[1, 2], from_ref(&model)), [3]);
    assert_eq!(fewer(&[9, 9], from_ref(&model)), [4], "no more than it lacks");
    let elsewhere = Lacking { shelves: vec![1], ..model };
    assert_eq!(fewer(&[4, 0], &[elsewhere]), [0], "not from a shelf that does not serve it");
}

/// The chance that the second finds what it needs, by summing over both demands by hand.
fn second_served(models: [&Lacking; 2], first_stock: u64, second_stock: u64, free: u64) -> f64 {
    let mut chance = 0.0;
    for a in 0..60 {
        let left = free.saturating_sub(u64::saturating_sub(a, first_stock));
        for b in 0..60 {
            if b <= second_stock + left {
                chance += models[0].demand.at(a) * models[1].demand.at(b);
            }
        }
    }
    chance
}

#[test]
fn two_models_that_may_take_the_same_pieces_do_not_both_count_them() {
    let (first, second) = (lacking(2.0, 0, &[0]), lacking(3.0, 0, &[0]));
    for free in 0..8 {
        let [one, two] = fewer(&[free], &[first.clone(), second.clone()])[..] else { panic!() };
        assert_eq!(one, free.min(first.needed), "the first is served first");
        let first_stock = first.needed - one;
        let served = |stock: u64| second_served([&first, &second], first_stock, stock, free);
        let least = (0..).find(|stock| served(*stock) >= 0.95).unwrap();
        assert_eq!(two, (second.needed - least).min(free - one), "{free} free");
    }
    // One piece saves one, though both may take it and seldom ask at once.
    assert_eq!(fewer(&[1], &[first.clone(), second.clone()]), [1, 0]);
    assert_eq!(fewer(&[1], &[second.clone(), first.clone()]), [1, 0]);
    // What the first does not lack is left for the second.
    let nearly = Lacking { stock: first.needed - 1, ..first.clone() };
    assert_eq!(fewer(&[2], &[nearly, second]), [1, 1]);
    // Models that share no shelf know nothing of each other.
    let apart = Lacking { shelves: vec![1], ..first.clone() };
    assert_eq!(fewer(&[1, 1], &[first, apart]), [1, 1]);
}

#[test]
fn what_is_no_longer_sold_fills_the_shelf_of_its_stand_in_once() {
    let model = Lacking { filled_instead: Some(0), ..lacking(2.0, 1, &[0]) };
    let helped = free_pieces(&[1], from_ref(&model)).unwrap().remove(0);
    assert_eq!((helped.fewer, helped.added), (1, 3));
    // When these are there or on order, nothing more is asked for.
    let later = free_pieces(&[4], from_ref(&model)).unwrap().remove(0);
    assert_eq!((later.fewer, later.added), (4, 0));
    let more = free_pieces(&[9], from_ref(&model)).unwrap().remove(0);
    assert_eq!((more.fewer, more.added), (4, 0), "no more than are lacking are counted");
    // Of two that share it each has its own pieces brought, and the second is served as wanted.
    let other = Lacking { filled_instead: Some(0), ..lacking(3.0, 0, &[0]) };
    let both = free_pieces(&[0], &[model.clone(), other.clone()]).unwrap();
    let free = both[0].added + both[1].added;
    assert_eq!((both[0].added, both[1].added), (4, 6));
    assert!(second_served([&model, &other], 1, 0, free) >= 0.95);
    let again = free_pieces(&[free], &[model.clone(), other.clone()]).unwrap();
    assert!(again.iter().all(|helped| helped.added == 0), "{again:?}");
}

/// A level above what the target asks for, as where several storerooms hold the model, is worth as
/// much service as it gives alone.
#[test]
fn a_level_above_the_target_is_kept_up_by_stand_ins_too() {
    let model = Lacking { needed: 7, ..lacking(2.0, 0, &[0]) };
    assert_eq!(fewer(&[2], from_ref(&model)), [2]);
    assert_eq!(fewer(&[9], &[model]), [7]);
}

#[test]
fn what_is_shared_by_too_many_is_left_out_and_said() {
    let models: Vec<Lacking> = (0..9).map(|_| lacking(9.0, 0, &[0])).collect();
    let helped = free_pieces(&[200], &models).unwrap();
    let left = helped.iter().find(|it| it.too_many).unwrap();
    assert_eq!((left.fewer, left.now), (0, None));
}

#[test]
fn unknown_shelves_are_refused() {
    let refused = |shelves: &[usize]| free_pieces(&[1], &[lacking(1.0, 0, shelves)]).unwrap_err();
    assert!(refused(&[1]).to_string().contains("there are 1 models"));
    assert!(refused(&[0, 0]).to_string().contains("twice"));
}

fn catalogued(part_no: &str, substitutes: &[&str]) -> Model {
    let named = |name: &&str| PartNo::parse(name).unwrap();
    let key = KeySetting { scheme: "std".to_owned(), code: "AC".to_owned() };
    Model {
        base: Some(BaseKind::Compact),
        key: Some(key),
        substitutes: substitutes.iter().map(named).collect(),
        ..made(part_no, ModelKind::Module)
    }
}

const CERTIFIED: EntityOutput = EntityOutput {
    uo_v: 25.2,
    io_ma: 93.0,
    po_mw: 586.0,
    co_nf: Some(107.0),
    lo_mh: Some(4.1),
    lo_ro_uh_ohm: None,
};

#[test]
fn only_what_fits_in_every_way_may_stand_in() {
    let wanted = catalogued("OLD", &["NEW"]);
    let new = catalogued("NEW", &[]);
    assert_eq!(may_stand_in(&new, &wanted), Ok(()));
    assert_eq!(may_stand_in(&wanted, &new), Err(NoStandIn::NotNamed), "one way only");
    let refused = |change: &dyn Fn(&mut Model)| {
        let mut other = new.clone();
        change(&mut other);
        may_stand_in(&other, &wanted).unwrap_err()
    };
    let rekeyed = |model: &mut Model| model.key.as_mut().unwrap().code = "AD".to_owned();
    assert_eq!(refused(&rekeyed), NoStandIn::Key);
    assert_eq!(refused(&|model| model.key = None), NoStandIn::Key);
    assert_eq!(refused(&|model| model.base = Some(BaseKind::Extended)), NoStandIn::Base);
    assert_eq!(refused(&|model| model.intrinsically_safe = true), NoStandIn::IntrinsicSafety);
    assert_eq!(refused(&|model| model.lifecycle = Lifecycle::Recalled), NoStandIn::Recalled);
}

#[test]
fn an_intrinsically_safe_stand_in_is_certified_no_worse() {
    let safe = |part_no: &str, substitutes: &[&str], entity: Option<EntityOutput>| Model {
        intrinsically_safe: true,
        entity,
        ..catalogued(part_no, substitutes)
    };
    let wanted = safe("OLD", &["NEW"], Some(CERTIFIED));
    let judged = |entity| may_stand_in(&safe("NEW", &[], entity), &wanted);
    assert_eq!(judged(Some(CERTIFIED)), Ok(()));
    assert_eq!(judged(None), Err(NoStandIn::NotCertified));
    let cases = [
        ("Uo", EntityOutput { uo_v: 26.0, ..CERTIFIED }),
        ("Io", EntityOutput { io_ma: 100.0, ..CERTIFIED }),
        ("Po", EntityOutput { po_mw: 600.0, ..CERTIFIED }),
        ("Co", EntityOutput { co_nf: Some(90.0), ..CERTIFIED }),
        ("Co", EntityOutput { co_nf: None, ..CERTIFIED }),
        ("Lo", EntityOutput { lo_mh: Some(4.0), ..CERTIFIED }),
    ];
    for (figure, worse) in cases {
        assert_eq!(judged(Some(worse)), Err(NoStandIn::Certificate(figure)));
    }
    let unknown = safe("OLD", &["NEW"], None);
    let new = safe("NEW", &[], Some(CERTIFIED));
    assert_eq!(may_stand_in(&new, &unknown), Err(NoStandIn::NotCertified));
}
