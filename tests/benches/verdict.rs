//! The verdict for one slot against ten thousand spares, beside the same judged one by one without
//! sharing what all of them have in common.

use chrono::NaiveDate;
use serde_json::json;
use slotkeep_domain::model::PartNo;
use slotkeep_domain::place::SlotAddress;
use slotkeep_domain::register::View;
use slotkeep_domain::swap::{Finding, Judge, Seat, Severity, Situation, Spare, verdict, worst};
use slotkeep_domain::unit::Unit;
use slotkeep_store::Reader;
use slotkeep_tests::measure::{ms, number, timed};
use slotkeep_tests::{Plant, files_of, noon, root};

const SPARES: u64 = 10_000;
/// Spares that the plain way judges; its time is scaled up.
const PLAIN: usize = 500;
const PROMISED_MS: f64 = 50.0;

fn main() {
    let spares = number("SLOTKEEP_BENCH_SPARES", SPARES);
    let plant = made(spares);
    let today = noon().date_naive();
    let outcome = plant.api.store().read(|r| {
        let slot = slot(r)?;
        let units = r.spares_of(&PartNo::parse("MP-AI08-C").expect("a part number"))?;
        judged(r, &slot, &units, today);
        Ok::<_, slotkeep_store::StoreFault>(slot)
    });
    let slot = outcome.expect("the store is read");
    let (time, reply) = timed(|| plant.call("swap.candidates", json!({ "slot": slot.as_str() })));
    println!(
        "swap.candidates with reading, sorting and writing the reply of {}: {:.0} ms",
        reply.as_array().expect("a list").len(),
        ms(time)
    );
}

fn judged(r: &Reader<'_>, slot: &SlotAddress, units: &[Unit], today: NaiveDate) {
    let seat = Seat::of(r, r.slot(slot).expect("the slot"), today);
    let model = r.model(&units[0].model).expect("the model");
    let reserved = r.reservations_on(&model.part_no);
    let spares: Vec<Spare> =
        units.iter().map(|unit| Spare::of(unit.clone(), model.clone(), &seat, &reserved)).collect();
    let all = || -> Vec<Vec<Finding>> {
        let mut judge = Judge::new(&seat);
        spares.iter().map(|spare| judge.findings(spare)).collect()
    };
    // The best of five: the machine does other things too.
    let best = (0..5).map(|_| timed(all)).min_by_key(|(time, _)| *time).expect("five");
    let (time, found) = best;
    let (plain, one_by_one) = timed(|| {
        let some = units.iter().take(PLAIN).map(|unit| {
            let seat = Seat::of(r, r.slot(slot).expect("the slot"), today);
            let model = r.model(&unit.model).expect("the model");
            let spare =
                Spare::of(unit.clone(), model.clone(), &seat, &r.reservations_on(&model.part_no));
            verdict(&Situation { seat: &seat, spare: &spare })
        });
        some.collect::<Vec<_>>()
    });
    assert_eq!(found[..one_by_one.len()], one_by_one, "sharing changes no finding");
    let count = spares.len() as f64;
    let scaled_ms = ms(plain) * count / one_by_one.len() as f64;
    let fit = found.iter().filter(|found| worst(found) < Severity::Stop).count();
    println!(
        "{count} spares for {slot}: {:.1} ms ({:.2} µs each, {} findings each), {fit} fit; promised \
         {PROMISED_MS} ms",
        ms(time),
        ms(time) * 1e3 / count,
        found[0].len()
    );
    println!(
        "one by one without sharing: {scaled_ms:.0} ms for as many; ratio {:.0}",
        scaled_ms / ms(time)
    );
}

/// A slot for the model, with loops and a least revision.
fn slot(r: &Reader<'_>) -> Result<SlotAddress, slotkeep_store::StoreFault> {
    let wanting = r.slots_wanting(&PartNo::parse("MP-AI08-C").expect("a part number"))?;
    let busy = wanting
        .into_iter()
        .find(|slot| slot.min_revision.is_some() && !r.loops_of(&slot.address).is_empty());
    Ok(busy.expect("a vital slot with loops").address)
}

/// The sample plant with many more spares of one model.
fn made(spares: u64) -> Plant {
    let plant = Plant::empty();
    let mut files = files_of(&root().join("sample-site"));
    let units = files.iter_mut().find(|file| file["name"] == "units.csv").expect("units");
    let mut text = units["text"].as_str().expect("text").to_owned();
    for at in 0..spares {
        let (revision, condition) = (["A", "B", "C"][at as usize % 3], ["good", "good", "suspect"]);
        text.push_str(&format!(
            "99-{at:06},MP-AI08-C,{revision},1.{},ST1/A-01,,2026-01-15,{},,,\n",
            at % 7,
            condition[at as usize / 3 % 3]
        ));
    }
    units["text"] = json!(text);
    plant.call("site.import", json!({ "files": files }));
    plant
}
