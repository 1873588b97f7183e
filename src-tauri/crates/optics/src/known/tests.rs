use super::*;
use crate::codeword::Encoder;
use slotkeep_domain::label::{LabelKind, SitePrefix};

/// Repeatable numbers; the step and the mix are those of SplitMix64 (public domain).
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    fn unit(&mut self) -> f32 {
        (self.roll() >> 40) as f32 / (1 << 24) as f32
    }
}

fn label(prefix: &str, number: u32) -> LabelCode {
    let kind = LabelKind::ALL[number as usize % 5];
    LabelCode::allocate(SitePrefix::parse(prefix).unwrap(), kind, number)
}

fn register(labels: u32) -> KnownLabels {
    // Every even number is given out, as a site that counts upwards would.
    KnownLabels::new((0..labels).map(|n| label("MP", 2 * n)))
}

/// A label seen with a share of its modules wrong, each seen with another sureness.
fn seen(label: &LabelCode, wrong: f32, dice: &mut Dice) -> Soft {
    let words = Encoder::new().codewords(label);
    std::array::from_fn(|at| {
        let dark = words[at / 8] >> (7 - at % 8) & 1 == 1;
        let weight = 0.3 + 1.4 * dice.unit();
        if dark != (dice.unit() < wrong) { weight } else { -weight }
    })
}

#[test]
fn labels_are_recognised_where_no_decoder_could_correct() {
    let known = register(20_000);
    let mut dice = Dice(1);
    let mut matched = 0;
    for n in 0..200 {
        let true_label = label("MP", 2 * (n * 97 % 20_000));
        // The correction of 1-H mends 8 of 26 codewords; one bit in seven breaks about 18.
        if let Some(found) = known.find(&seen(&true_label, 0.14, &mut dice)) {
            assert_eq!(found.label, true_label);
            assert!(found.log10_chance <= -9.0, "{found:?}");
            matched += 1;
        }
    }
    assert!(matched > 160, "{matched} of 200");
}

#[test]
fn labels_of_other_sites_and_unregistered_ones_are_never_taken_for_known_ones() {
    let known = register(20_000);
    let mut dice = Dice(2);
    for n in 0..400 {
        let number = 2 * (n * 331 % 20_000);
        for foreign in [label("MP", number + 1), label("M0", number), label("ZZ", number)] {
            for wrong in [0.0, 0.05, 0.1, 0.2, 0.3] {
                let seen = seen(&foreign, wrong, &mut dice);
                assert_eq!(known.find(&seen), None, "{foreign} with {wrong} wrong");
            }
        }
    }
}

#[test]
fn random_symbols_match_nothing() {
    let known = register(5_000);
    let mut dice = Dice(3);
    for _ in 0..2_000 {
        let seen = std::array::from_fn(|_| dice.unit() * 2.0 - 1.0);
        assert_eq!(known.find(&seen), None);
    }
}

#[test]
fn what_says_nothing_matches_nothing() {
    let known = register(100);
    assert_eq!(known.find(&[0.0; BITS]), None);
    assert_eq!(known.find(&[f32::NAN; BITS]), None);
    assert_eq!(KnownLabels::default().find(&[1.0; BITS]), None);
    let one = KnownLabels::new([label("MP", 2)]);
    assert_eq!(one.find(&seen(&label("MP", 2), 0.0, &mut Dice(4))), None, "no bit tells it apart");
}

#[test]
fn labels_that_come_later_are_found_like_the_first() {
    let mut known = register(3_000);
    known.extend([label("7Z", 77)]);
    assert_eq!(known.len(), 3_001);
    let mut dice = Dice(5);
    let found = known.find(&seen(&label("7Z", 77), 0.1, &mut dice)).unwrap();
    assert_eq!(found.label, label("7Z", 77));
    assert!(known.find(&seen(&label("MP", 5_998), 0.1, &mut dice)).is_some());
}
