//! How fast the screens of spares answer over large plants, through the commands that they call.
//!
//! - 100,000 units of some fifty models in two storerooms, with all that they lived through.
//! - 100,000 units of 5,000 models, each model in 20 areas with a storeroom of their own: 100,000
//!   levels.
//!
//! Each time is printed beside reading every unit of the register once, in the same run: for the first
//! time, asked again, and asked after something was recorded of one model.
//! `SLOTKEEP_BENCH_UNITS` makes the first plant smaller, `SLOTKEEP_BENCH_MODELS` the second.

#[path = "spares/models.rs"]
mod models;

use serde_json::{Value, json};
use slotkeep_store::StoreFault;
use slotkeep_tests::Plant;
use slotkeep_tests::measure::{ms, number, timed};
use slotkeep_xtask::make_site::{Size, files};
use std::time::Duration;

/// The allocator of the programs.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() {
    let units = number("SLOTKEEP_BENCH_UNITS", 100_000) as usize;
    let plant = Plant::empty();
    let size = Size::units(units, units * 85 / 10).with_works();
    import(&plant, &files(&size, 7).iter().map(|(name, text)| (*name, text.as_str())).collect());
    screens(&plant, "MP-AI08-C");

    let count = number("SLOTKEEP_BENCH_MODELS", 5_000) as usize;
    let plant = Plant::empty();
    let made = models::files(count, 20);
    import(&plant, &made.iter().map(|(name, text)| (*name, text.as_str())).collect());
    screens(&plant, &models::part_no(count / 2));
}

fn import(plant: &Plant, made: &Vec<(&str, &str)>) {
    let wired: Vec<Value> =
        made.iter().map(|(name, text)| json!({ "name": name, "text": text })).collect();
    let (took, report) = timed(|| plant.call("site.import", json!({ "files": wired })));
    println!("imported {} entries in {:.1} s", report["entries"], took.as_secs_f64());
}

/// Asks what each screen asks, a few times, and prints the middle time.
fn screens(plant: &Plant, model: &str) {
    let reading = middle(
        || (),
        || {
            let units = plant.api.store().read(|r| Ok::<_, StoreFault>(r.units()?.len()));
            assert!(units.expect("units") > 0);
        },
    );
    println!("reading every unit once: {:.0} ms", ms(reading));
    // Whatever a list of one line asks for, all are reckoned.
    let (anew, reply) = timed(|| plant.call("spares.table", json!({ "limit": 1 })));
    println!(
        "  everything anew, {} levels: {:.0} ms, {:.2} times reading every unit",
        reply["totals"]["lines"],
        ms(anew),
        anew.as_secs_f64() / reading.as_secs_f64()
    );
    let asked = [
        ("order list, as a screen asks", "spares.table", json!({ "limit": 500 })),
        ("order list, every line of it", "spares.table", json!({})),
        ("what to order", "spares.table", json!({ "to_order": true })),
        ("one model in the list", "spares.table", json!({ "model": model })),
        ("one model", "spares.model", json!({ "model": model })),
        ("months ahead", "spares.projection", json!({ "model": model })),
        (
            "months ahead, two cases",
            "spares.projection",
            json!({ "model": model, "what_if": { "lead_time_factor": 2.0 } }),
        ),
        ("storerooms of a model", "spares.stores", json!({ "model": model })),
        ("money", "spares.budget", json!({})),
        ("money, best for a budget", "spares.budget", json!({ "budget_cents": 5_000_000 })),
    ];
    for (what, command, input) in asked {
        match plant.try_call(command, input.clone()) {
            Ok(reply) => {
                let bytes = reply.to_string().len();
                let ask = || drop(plant.call(command, input.clone()));
                let again = middle(|| (), ask);
                let after = middle(|| note(plant, model), ask);
                println!(
                    "  {what}: {:.0} ms, {:.0} ms after a record; {:.2} and {:.2} times reading \
                     every unit ({:.0} kB)",
                    ms(again),
                    ms(after),
                    again.as_secs_f64() / reading.as_secs_f64(),
                    after.as_secs_f64() / reading.as_secs_f64(),
                    bytes as f64 / 1e3
                );
            }
            Err(no) => println!("  {what}: refused: {}", no.message),
        }
    }
}

/// Something that is recorded of a model, so that its figures have to be reckoned anew.
fn note(plant: &Plant, model: &str) {
    plant.call("spares.choose", json!({ "model": model, "class": "vital", "reason": "Measured" }));
}

/// The middle of five times that work takes, with something before it that is not counted.
fn middle(before: impl Fn(), work: impl Fn()) -> Duration {
    let mut times: Vec<Duration> = (0..5)
        .map(|_| {
            before();
            timed(&work).0
        })
        .collect();
    times.sort_unstable();
    times[2]
}
