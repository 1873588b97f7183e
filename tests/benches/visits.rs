//! How fast and how well visits to batteries are planned, beside a general constraint solver.
//!
//! - 500 batteries over five years with a small crew: the time for a plan, and the time that
//!   OR-tools CP-SAT takes on two threads until it has a plan as cheap. CP-SAT comes through Python,
//!   in a virtual environment made under the target folder where it can be; it is given
//!   `SLOTKEEP_BENCH_PATIENCE` seconds (120; 0 leaves it out) for each of `SLOTKEEP_BENCH_PLANTS` plants (3).
//! - 10,000 batteries over ten years with crew, stock and power-offs: seconds, and how far the plan
//!   may be from the best at most.

#[path = "visits/made.rs"]
mod made;
#[path = "visits/peer.rs"]
mod peer;

use peer::Peer;
use slotkeep_domain::battery::plan::{Plan, Problem, plan};
use slotkeep_tests::measure::number;
use std::time::{Duration, Instant};

fn main() {
    let peer = Peer::find();
    let patience_s = number("SLOTKEEP_BENCH_PATIENCE", 120);
    for seed in 1..=number("SLOTKEEP_BENCH_PLANTS", 3) {
        let problem = made::small_plant(seed);
        let (took, planned) = timed(&problem);
        tell(&format!("500 batteries, 5 years, plant {seed}"), took, &planned);
        let Some(answer) = peer.reach(&problem, planned.cost.total_cents(), patience_s) else {
            continue;
        };
        let ratio = answer.seconds / took.as_secs_f64();
        match answer.reached {
            true => println!("  CP-SAT: as cheap after {:.1} s; ratio {ratio:.0}", answer.seconds),
            false => println!(
                "  CP-SAT: not as cheap after {:.1} s (best {}, its bound {:.0}); ratio above {ratio:.0}",
                answer.seconds,
                answer.best_cents.map_or("none".to_owned(), |cents| format!("{cents:.0}")),
                answer.bound_cents
            ),
        }
    }
    for seed in 1..=number("SLOTKEEP_BENCH_PLANTS", 3) {
        let problem = made::large_plant(seed);
        let (took, planned) = timed(&problem);
        tell(&format!("10,000 batteries, 10 years, plant {seed}"), took, &planned);
    }
}

fn tell(what: &str, took: Duration, plan: &Plan) {
    let changes: usize = plan.visits.iter().map(|visit| visit.changes.len()).sum();
    println!(
        "{what}: {:.3} s; {} visits, {changes} changes, {} conflicts; cost {:.0}, bound {:.0}, \
         gap {:.3} %",
        took.as_secs_f64(),
        plan.visits.len(),
        plan.conflicts.len(),
        plan.cost.total_cents(),
        plan.lower_bound_cents,
        plan.gap() * 100.0
    );
}

fn timed(problem: &Problem) -> (Duration, Plan) {
    let start = Instant::now();
    let planned = plan(problem).expect("a problem with sense");
    (start.elapsed(), planned)
}
