//! The best purchases for a budget over 5,000 models, none like another, beside a general solver.
//!
//! The peer is HiGHS through `scipy.optimize.milp`, in a virtual environment made under the target
//! folder where it can be, on the first `SLOTKEEP_BENCH_MODELS` models (500; 0 leaves it out) with
//! no gap allowed; it gets `SLOTKEEP_BENCH_PATIENCE` seconds (60) for each budget.

use serde_json::{Value, json};
use slotkeep_domain::spares::{
    Aim, Buyable, Optimum, Pmf, Proof, USUAL_EFFORT, best_for_budget, money_curve, worth_of_stock,
};
use slotkeep_tests::measure::{Draws, ms, number, timed};
use slotkeep_tests::python::Python;
use std::time::Duration;

const MODELS: usize = 5_000;

/// One whole number for each piece, since the pieces of a model save less and less.
const SCRIPT: &str = r#"
import json, sys, time
import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
p = json.load(sys.stdin)
gains, prices = np.array(p["gains"]), np.array(p["prices"], dtype=float)
start = time.perf_counter()
found = milp(-gains, constraints=LinearConstraint(prices.reshape(1, -1), -np.inf, p["budget"]),
             integrality=np.ones(len(gains)), bounds=Bounds(0, 1),
             options={"mip_rel_gap": 0.0, "time_limit": p["patience"]})
took = time.perf_counter() - start
bought = np.round(found.x) if found.x is not None else np.zeros(len(gains))
print(json.dumps({"seconds": took, "proved": found.status == 0, "saved": float(gains @ bought)}))
"#;

fn main() {
    let models = made(MODELS);
    let (took, curve) = timed(|| money_curve(&models, Aim::Backorders, usize::MAX, None));
    let steps = curve.expect("models with sense").steps;
    println!("{MODELS} models: curve of {} purchases in {:.1} ms", steps.len(), ms(took));
    for aim in [Aim::Backorders, Aim::MissingCost] {
        for budget in budgets(&models) {
            tell(&models, aim, budget);
        }
        let (took, worth) = timed(|| worth_of_stock(&models, aim, USUAL_EFFORT));
        let worth = worth.expect("models with sense");
        println!(
            "  {aim:?}: worth of the stock in {:.1} ms: {} cents do what {} could, {:?}",
            ms(took),
            worth.with.spent_cents,
            worth.cheapest.best.after.spent_cents,
            worth.cheapest.proof
        );
    }
    beside_the_peer(&models[..number("SLOTKEEP_BENCH_MODELS", 500).min(MODELS as u64) as usize]);
}

fn tell(models: &[Buyable], aim: Aim, budget: i64) -> (Duration, Optimum) {
    let (took, found) = timed(|| best_for_budget(models, aim, budget, USUAL_EFFORT));
    let found = found.expect("models with sense");
    let (best, greedy) = (found.best.after.figure(aim), found.greedy.after.figure(aim));
    println!(
        "  {aim:?}, {budget} cents: {:.1} ms, {:?}; {best:.6}, bound {:.6}, greedy {greedy:.6}",
        ms(took),
        found.proof,
        found.bound
    );
    (took, found)
}

fn beside_the_peer(models: &[Buyable]) {
    if models.is_empty() {
        return;
    }
    let imports = "import scipy.optimize, numpy";
    let Some(python) = Python::with("bench-scipy", &["scipy", "numpy"], imports) else { return };
    println!("{} models beside HiGHS:", models.len());
    for budget in budgets(models) {
        let (took, found) = tell(models, Aim::Backorders, budget);
        let (mut gains, mut prices) = (Vec::new(), Vec::new());
        for model in models {
            let needed = (model.held..).map(|stock| model.demand.above(stock));
            for gain in needed.take_while(|gain| *gain > 1e-12) {
                gains.push(gain);
                prices.push(model.price_cents);
            }
        }
        let patience = number("SLOTKEEP_BENCH_PATIENCE", 60);
        let input =
            json!({ "gains": gains, "prices": prices, "budget": budget, "patience": patience });
        let answer = python.answer(SCRIPT, input.to_string().as_bytes());
        // The solver has been seen to print a line of its own before.
        let answer = String::from_utf8_lossy(&answer);
        let last = answer.lines().last().unwrap_or_default();
        let answer: Value = serde_json::from_str(last).expect("what the script prints");
        let nothing = best_for_budget(models, Aim::Backorders, 0, 0).expect("models with sense");
        let saved = nothing.best.after.backorders - found.best.after.backorders;
        let theirs = answer["saved"].as_f64().expect("a number");
        let proved = answer["proved"] == json!(true);
        // The solver takes whole numbers and budgets to within its own tolerances.
        assert!(theirs <= saved + 1e-5, "the solver saved {theirs}, ours {saved}");
        assert!(!proved || (theirs - saved).abs() < 1e-5, "{theirs} {saved}");
        let seconds = answer["seconds"].as_f64().expect("a number");
        println!(
            "  HiGHS: {:.3} s, {}; ratio {:.0}",
            seconds,
            if proved { "the same optimum" } else { "not proved in its time" },
            seconds / took.as_secs_f64()
        );
        assert!(found.proof != Proof::Gap, "the optimum was not proved");
    }
}

/// Small to ample for what the models cost together.
fn budgets(models: &[Buyable]) -> [i64; 4] {
    let one_of_each: u64 = models.iter().map(|model| model.price_cents).sum();
    [0.003, 0.03, 0.3, 1.0].map(|share| (one_of_each as f64 * share) as i64 + 7)
}

fn made(count: usize) -> Vec<Buyable> {
    let mut draws = Draws(4711);
    let model = |_| {
        let mean = 10f64.powf(3.0 * draws.share() - 2.0);
        Buyable {
            price_cents: 10f64.powf(3.5 + 2.5 * draws.share()) as u64,
            held: (1.3 * mean * draws.share()) as u64,
            stand_ins: 0,
            lent: 0,
            demand: Pmf::poisson(mean).expect("a mean"),
            places: 20,
            missing_cents_h: 10f64.powf(2.0 + 3.0 * draws.share()),
        }
    };
    (0..count).map(model).collect()
}
