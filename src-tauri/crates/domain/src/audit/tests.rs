//! Rails as letters, one a slot, `.` for an empty one. What a photo shows is written below them:
//! capital letters were read, small ones only recognised, `?` is a symbol that was not read, and
//! `.` is nothing.

use super::*;
use crate::label::{LabelKind, SitePrefix};

const WIDTH_MM: f64 = 30.0;

fn label(letter: char) -> LabelCode {
    let number = 7 * letter.to_ascii_uppercase() as u32;
    LabelCode::allocate(SitePrefix::parse("MP").unwrap(), LabelKind::Unit, number)
}

fn rail(units: &str) -> Vec<AuditSlot> {
    units
        .chars()
        .enumerate()
        .map(|(at, unit)| AuditSlot {
            address: SlotAddress::parse(&format!("+K1.1.{:02}", at + 1)).unwrap(),
            x_mm: 20.0 + WIDTH_MM * at as f64,
            width_mm: WIDTH_MM,
            unit: (unit != '.').then(|| label(unit)),
        })
        .collect()
}

/// From mm along the rail to px in the photo, and the side of a symbol there.
type Camera = fn(f64) -> (f64, f64, f64);

fn front(mm: f64) -> (f64, f64, f64) {
    (3.0 * mm, 200.0, 30.0)
}

/// From aside and above, tilted: what is to the right is further away and smaller.
fn aside(mm: f64) -> (f64, f64, f64) {
    let far = 1.0 + mm / 2000.0;
    (60.0 + 3.8 * mm / far, 150.0 + 0.3 * mm / far, 38.0 / far)
}

/// From far aside: at the end of 16 slots a millimetre has a third of the px that it has here.
fn far_aside(mm: f64) -> (f64, f64, f64) {
    let far = 1.0 + mm / 680.0;
    (40.0 + 4.0 * mm / far, 150.0 + 0.2 * mm / far, 40.0 / far)
}

fn upside_down(mm: f64) -> (f64, f64, f64) {
    (1200.0 - 3.0 * mm, 220.0 - 0.05 * mm, 30.0)
}

fn sight(shown: char, at: Option<Spot>) -> Option<Sight> {
    match shown {
        '.' | ' ' => None,
        '?' => Some(Sight { label: None, sure: false, at }),
        shown => Some(Sight { label: Some(label(shown)), sure: shown.is_ascii_uppercase(), at }),
    }
}

/// A photo of this size that shows these things in the places of the slots.
fn photo(shown: &str, camera: Camera, size: (f64, f64)) -> Picture {
    let spots = shown.chars().enumerate().map(|(at, shown)| {
        // Labels are not stuck on in the very middle.
        let askew = [-3.0, 2.0, 0.0, 3.0, -1.0][at % 5];
        let (x, y, side) = camera(20.0 + WIDTH_MM * (at as f64 + 0.5) + askew);
        let inside = x > 0.0 && y > 0.0 && x < size.0 && y < size.1;
        sight(if inside { shown } else { '.' }, Some(Spot { x, y, side }))
    });
    Picture { size: Some(size), rows: vec![spots.flatten().collect()] }
}

fn listed(shown: &str) -> Picture {
    Picture { size: None, rows: vec![shown.chars().filter_map(|c| sight(c, None)).collect()] }
}

fn said(judged: &Judged) -> String {
    judged
        .slots
        .iter()
        .map(|slot| match slot.found {
            Found::Present => '=',
            Found::PlaceUnsure => '~',
            Found::Empty => '.',
            Found::Exchanged => 'x',
            Found::Strange => '!',
            Found::Unreadable => '?',
            Found::Missing => 'o',
            Found::Contradicted => '#',
            Found::NotCovered => '-',
        })
        .collect()
}

fn check(units: &str, pictures: &[Picture], expected: &str) -> Judged {
    let judged = judge(&rail(units), pictures);
    assert_eq!(said(&judged), expected, "{units}: {judged:?}");
    judged
}

const WIDE: (f64, f64) = (1300.0, 400.0);

#[test]
fn every_finding_is_told_from_the_others() {
    for camera in [front as Camera, aside, upside_down] {
        for (units, shown, expected) in [
            ("ABCDEF", "ABCDEF", "======"),
            ("AB.DEF", "AB.DEF", "==.==="),
            ("ABCDEF", "ACBDEF", "=xx==="),
            ("ABCDEF", "BACDEF", "xx===="),
            ("ABCDEF", "ABCDFE", "====xx"),
            ("ABCDEF", "AECDBF", "=x==x="),
            ("ABCDEF", "ABXDEF", "==!==="),
            ("AB.DEF", "ABXDEF", "==!==="),
            ("ABCDEF", "AB.DEF", "==o==="),
            ("ABCDEF", "AB?DEF", "==?==="),
            ("AB.DEF", "AB?DEF", "==?==="),
            ("ABCDEF", "ABcDEF", "==?==="),
            ("ABCDEF", ".BCDE.", "o====o"),
            ("ABCDEF", "AB..EF", "==oo=="),
            ("ABCDEFGHI", "ABCDGEFHI", "====xxx=="),
            ("A.B.CD.E", "A.B.CD.E", "=.=.==.="),
            ("A....F", "A....F", "~-..-~"),
        ] {
            check(units, &[photo(shown, camera, WIDE)], expected);
        }
    }
}

#[test]
fn a_long_rail_is_followed_into_the_distance() {
    for (shown, expected) in [
        ("ABCDEFGHIJKLMNOP", "================"),
        ("ABCDEFGIHJKL.NOP", "=======xx===o==="),
        ("BACDEFGHIJKLMN?.", "xx============?o"),
    ] {
        check("ABCDEFGHIJKLMNOP", &[photo(shown, far_aside, WIDE)], expected);
    }
    check("ABCDEFGH.JKLMNOP", &[photo("ABCDEFGHJ.KLMNOP", far_aside, WIDE)], "========!o======");
}

#[test]
fn what_is_out_of_the_picture_is_not_looked_at() {
    // 450 px show 150 mm: the slots that end at 110 and 140 mm at most.
    check("ABCDEF", &[photo("ABCDEF", front, (450.0, 400.0))], "====--");
    // The place of C is in the picture and bare, that of E is not in it.
    check("ABCDEF", &[photo("AB.DEF", front, (450.0, 400.0))], "==o=--");
    check("ABCDEF", &[], "------");
    // One label alone lays no rail: nothing is said of its place, and of those beside it.
    check("ABCDEF", &[photo(".B....", front, WIDE)], "-~----");
}

/// From so far aside that a slot at the right end is seen half as wide as one at the left.
fn deceiving(mm: f64) -> (f64, f64, f64) {
    let far = 1.0 + mm / 380.0;
    (40.0 + 4.0 * mm / far, 200.0, 40.0 / far)
}

/// Few labels seen from aside: a unit one slot further on looks as if it were in its own.
#[test]
fn where_a_view_may_deceive_nothing_is_claimed() {
    // The three labels lie at even distances in the picture, and C is in slot 8.
    check("A..B..C..", &[photo("A..B...C.", deceiving, WIDE)], "~--~--~--");
    check("A..B..C..", &[photo("A..B...C.", front, WIDE)], "~-.=..~-.");
    check("A..B..C..", &[photo("A..B..C..", deceiving, WIDE)], "~--~--~--");
    check("A..B..C..", &[photo("A..B..C..", front, WIDE)], "=..=..=..");
    // More labels leave less doubt.
    check("ABCDEF.G..", &[photo("ABCDEF..G.", far_aside, WIDE)], "======.~-.");
    check("ABCDEF.G..", &[photo("ABCDEF..G.", front, WIDE)], "======.o!-");
    check("ABCDEF.G..", &[photo("ABCDEF.G..", far_aside, WIDE)], "======.=..");
    // Two labels lie on any rail: whether one of them stands further on cannot be told.
    check("A.B..", &[photo("A..B.", front, WIDE)], "~-~--");
    check("A.B..", &[photo("A.B..", front, WIDE)], "~-~--");
    // Between neighbours that are seen there is no room for doubt.
    check("AB", &[photo("AB", front, WIDE)], "==");
    // Another photo that shows it for certain settles it.
    let (two, all) = (photo("A.B", front, WIDE), photo("A.BCDE", front, WIDE));
    check("A.BCDE", std::slice::from_ref(&two), "~-~---");
    check("A.BCDE", &[two, all], "=.====");
}

/// Labels of several sizes say nothing of the view.
#[test]
fn sizes_that_do_not_go_evenly_are_no_witness() {
    let mut picture = photo("A.B.C.", front, WIDE);
    check("A.B.C.", &[picture.clone()], "=.=.=.");
    if let Some(spot) = &mut picture.rows[0][1].at {
        spot.side = 22.0;
    }
    check("A.B.C.", &[picture], "~-~-~-");
}

#[test]
fn a_unit_one_place_further_on_is_seen_though_the_order_agrees() {
    // By its order D would be in its slot, by its place it stands in the empty one before.
    let judged = check("ABC.DEF", &[photo("ABCD.EF", front, WIDE)], "===!o==");
    assert_eq!(judged.slots[3].seen, Some(label('D')));
    check("ABC.DEF", &[photo("ABCD.EF", aside, WIDE)], "===!o==");
}

#[test]
fn two_that_were_exchanged_name_each_other() {
    let judged = check("ABCDEF", &[photo("AECDBF", front, WIDE)], "=x==x=");
    assert_eq!((judged.slots[1].with, judged.slots[4].with), (Some(4), Some(1)));
    assert_eq!(judged.slots[1].seen, Some(label('E')));
}

#[test]
fn a_guess_is_shown_and_proves_nothing() {
    let judged = check("ABCDEF", &[photo("ABcDEF", front, WIDE)], "==?===");
    assert_eq!(judged.slots[2].seen, Some(label('C')));
}

#[test]
fn photos_add_up_and_what_was_read_counts_most() {
    let half = (330.0, 400.0);
    check("ABCDEF", &[photo("ABC", front, half), photo("ABCDEF", front, WIDE)], "======");
    let judged =
        check("ABCDEF", &[photo("AB?DEF", front, WIDE), photo("ABCDEF", aside, WIDE)], "======");
    assert_eq!(judged.slots[2].picture, Some(1));
    let covered = photo("AB.DEF", front, WIDE);
    check("ABCDEF", &[photo("ABCDEF", front, half), covered], "======");
}

#[test]
fn photos_that_contradict_each_other_settle_nothing() {
    let (one, other) = (photo("ABCDEF", front, WIDE), photo("ABXDEF", front, WIDE));
    check("ABCDEF", &[one.clone(), other], "==#===");
    // The same label in two places.
    check("ABCDEF", &[photo("ABCDEC", front, WIDE)], "==#==#");
    check("ABCDEF", &[one, photo("ABDCEF", front, WIDE)], "==##==");
}

#[test]
fn order_alone_says_nothing_of_places() {
    check("ABCDEF", &[listed("ABCDEF")], "======");
    check("ABCDEF", &[listed("ACBDEF")], "=xx===");
    check("ABCDEF", &[listed("ABDEF")], "==-===");
    check("ABCDEF", &[listed("ABXDEF")], "==!===");
    check("AB.DEF", &[listed("ABDEF")], "==-===");
    let judged = check("ABCDEF", &[listed("ABXYZDEF")], "==-===");
    let loose: Vec<_> = judged.loose.iter().map(|loose| loose.label).collect();
    assert_eq!(loose, [label('X'), label('Y'), label('Z')]);
}

#[test]
fn another_rail_in_the_photo_is_passed_over() {
    let mut picture = photo("ABCDEF", front, (1300.0, 900.0));
    let other = "UVWX".chars().enumerate().filter_map(|(at, c)| {
        sight(c, Some(Spot { x: 100.0 + 90.0 * at as f64, y: 600.0, side: 30.0 }))
    });
    picture.rows.push(other.collect());
    assert!(check("ABCDEF", &[picture.clone()], "======").loose.is_empty());
    // A unit of this rail that is seen on that one is told.
    picture.rows[0].remove(2);
    picture.rows[1][1].label = Some(label('C'));
    let judged = check("ABCDEF", &[picture], "==o===");
    assert_eq!(judged.loose[0].label, label('C'));
}

#[test]
fn a_strange_label_beyond_the_slots_is_loose() {
    let judged = check("ABC", &[photo("ABC..X", front, WIDE)], "===");
    assert_eq!(judged.loose[0].label, label('X'));
}

#[test]
fn every_finding_says_how_it_may_be_settled() {
    for found in Found::ALL {
        assert_eq!(Found::parse(found.word()), Some(found));
        let finding = |registered| Finding {
            slot: SlotAddress::parse("+K1.1.01").unwrap(),
            found,
            registered,
            seen: None,
            with: None,
            photo: None,
        };
        for registered in [None, Some(label('A'))] {
            let ways = finding(registered).ways();
            assert_eq!(ways.is_empty(), matches!(found, Found::Present | Found::Empty));
            let stands = ways.contains(&Settlement::Stands);
            // Nobody can confirm a unit that the register does not have there.
            assert!(!stands || registered.is_some() || found == Found::Exchanged, "{found:?}");
        }
    }
    for how in Settlement::ALL {
        assert_eq!(Settlement::parse(how.word()), Some(how));
    }
}
