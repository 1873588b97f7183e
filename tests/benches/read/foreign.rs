//! How often a foreign symbol would be taken for a known label.
//!
//! Two kinds: symbols of random modules, and labels that are in no register, with noise from none
//! to nearly all. Each is compared with a register of 1,000, so that 10 million of them make
//! 10¹⁰ comparisons. How often each strength of agreement occurs is printed beside the bound that
//! the threshold rests on; where the bound holds in the part that can be counted, the part beyond
//! rests on it.

use slotkeep_optics::{KnownLabels, Soft};
use slotkeep_tests::made_photos::{Dice, label, seen_of};
use std::time::Instant;

const REGISTER: u32 = 1_000;

/// Natural logarithms of the chance of one comparison, from which agreements are counted.
const STEPS: [f64; 5] = [-10.0, -13.0, -16.0, -19.0, -22.0];

#[derive(Default, Clone, Copy)]
struct Counts {
    symbols: u64,
    matches: u64,
    reached: [u64; STEPS.len()],
}

pub fn run(symbols: u64) {
    let known = KnownLabels::new((0..REGISTER).map(label));
    let start = Instant::now();
    for (what, of_labels) in [("random symbols", false), ("labels of no register", true)] {
        let halves = std::thread::scope(|scope| {
            let known = &known;
            let part = |seed| scope.spawn(move || count(known, symbols / 4, seed, of_labels));
            [part(1), part(2)].map(|thread| thread.join().expect("the count"))
        });
        let mut sum = Counts::default();
        for half in halves {
            sum.symbols += half.symbols;
            sum.matches += half.matches;
            sum.reached.iter_mut().zip(half.reached).for_each(|(all, one)| *all += one);
        }
        report(what, &sum);
    }
    println!("  in {:.0} s\n", start.elapsed().as_secs_f64());
    million();
}

fn report(what: &str, counts: &Counts) {
    println!(
        "{what}: {} against {REGISTER} known labels, {} matches",
        counts.symbols, counts.matches
    );
    let comparisons = counts.symbols as f64 * f64::from(REGISTER);
    for (ln, reached) in STEPS.iter().zip(counts.reached) {
        println!(
            "  chance 1e{:.1} a comparison: {reached} seen, at most {:.1} by the bound",
            ln / std::f64::consts::LN_10,
            comparisons * ln.exp()
        );
    }
    println!("  a match asks for 1e-14 here: {:.0e} expected at most", comparisons * 1e-14);
}

fn count(known: &KnownLabels, symbols: u64, seed: u64, of_labels: bool) -> Counts {
    let mut dice = Dice(seed);
    let mut counts = Counts::default();
    let mut soft: Soft = [0.0; 208];
    let mut steps = None;
    while counts.symbols < symbols {
        if counts.symbols.is_multiple_of(20_000) {
            // Another sureness for every module now and then; thresholds depend on it alone.
            soft = std::array::from_fn(|_| dice.between(0.05, 4.0) as f32);
            steps = Some(STEPS.map(|ln| known.threshold(&soft, ln)));
        }
        let Some(steps) = &steps else { break };
        if of_labels {
            let foreign = label(REGISTER + 1 + (dice.roll() % 1_000_000) as u32);
            let noise = dice.between(0.0, 0.4);
            seen_of(&foreign, noise, &mut dice, &mut soft);
        } else {
            let mut signs = [dice.roll(), dice.roll(), dice.roll(), dice.roll()];
            for (at, weight) in soft.iter_mut().enumerate() {
                let sign = &mut signs[at / 64];
                *weight = if *sign & 1 == 1 { weight.abs() } else { -weight.abs() };
                *sign >>= 1;
            }
        }
        if let Some((_, sum)) = known.nearest(&soft, steps[0]) {
            for (reached, step) in counts.reached.iter_mut().zip(steps) {
                *reached += u64::from(sum >= *step);
            }
            counts.matches += u64::from(known.find(&soft).is_some());
        }
        counts.symbols += 1;
    }
    counts
}

/// How long a register of a million takes.
fn million() {
    let start = Instant::now();
    let known = KnownLabels::new((0..1_000_000).map(label));
    println!("register of {}: built in {:.2} s", known.len(), start.elapsed().as_secs_f64());
    let mut dice = Dice(9);
    let mut soft: Soft = std::array::from_fn(|_| dice.between(0.05, 4.0) as f32);
    let start = Instant::now();
    let mut right = 0;
    for at in 0..60 {
        let own = label(at * 16_661);
        seen_of(&own, 0.12, &mut dice, &mut soft);
        right += usize::from(known.find(&soft).is_some_and(|found| found.label == own));
    }
    println!(
        "  60 labels with every eighth module wrong: {right} recognised in {:.2} s on one core",
        start.elapsed().as_secs_f64()
    );
}
