//! Exact evaluation and best split in two echelons, 5,000 models over 20 stores, none like another,
//! beside the same sums with numpy and scipy on `SLOTKEEP_BENCH_SAMPLE` of them (20; 0 leaves it
//! out), in a virtual environment made under the target folder where it can be.

use serde_json::{Value, json};
use slotkeep_domain::spares::{Measure, Network, Reckoning, Site, Target, over_networks};
use slotkeep_tests::measure::{Draws, number, timed};
use slotkeep_tests::python::Python;
use std::time::Duration;

const MODELS: usize = 5_000;
const STORES: usize = 20;

/// For each central stock the pieces on their way to each store, by the binomial split as a matrix
/// and a convolution; then the best pieces of all stores.
const SCRIPT: &str = r#"
import json, sys, time
import numpy as np
from scipy.stats import binom, poisson
p = json.load(sys.stdin)
start, best = time.perf_counter(), []
for model in p:
    demand, way, time0, total = np.array(model["demand"]), model["way"], model["time"], model["total"]
    asked, found = demand.sum(), None
    n = int(poisson.isf(1e-14, asked * time0)) + 2
    central = poisson.pmf(np.arange(n), asked * time0)
    width = [int(poisson.isf(1e-14, d * (way + time0))) + 2 for d in demand]
    split = [binom.pmf(np.arange(w)[None, :], np.arange(n)[:, None], d / asked) for w, d in zip(width, demand)]
    own = [poisson.pmf(np.arange(w), d * way) for w, d in zip(width, demand)]
    for stock in range(min(total, n - 1) + 1):
        owes = np.zeros(n)
        owes[0] = central[:stock + 1].sum()
        owes[1:n - stock] = central[stock + 1:]
        tails = []
        for w, s, o in zip(width, split, own):
            on_way = np.convolve(owes @ s, o)[:w]
            tails.append(on_way[::-1].cumsum()[::-1][1:])
        gains = np.sort(np.concatenate(tails))[::-1]
        owed = gains[total - stock:].sum()
        if found is None or owed < found:
            found = owed
    best.append(float(found))
print(json.dumps({"seconds": time.perf_counter() - start, "owed": best}))
"#;

fn main() {
    for (shape, demand) in [(None, "Poisson"), (Some(2.0), "negative binomial")] {
        let networks = made(shape);
        let (took, splits) = timed(|| {
            over_networks(&networks, |number, echelons| {
                assert_eq!(echelons.reckoning(), Reckoning::Exact);
                let split = echelons.best_split(total(&networks[number])).expect("a split");
                let served = echelons.service(split.central, &split.sites).expect("a service");
                (split.backorders, served.down_time_h)
            })
        });
        let owed: Vec<f64> =
            splits.into_iter().map(|split| split.expect("a network with sense").0).collect();
        println!(
            "{MODELS} models over {STORES} stores, {demand}: exact and best split in {:.3} s; \
             {:.1} pieces owed",
            took.as_secs_f64(),
            owed.iter().sum::<f64>()
        );
        let target = Target::new(Measure::FillRate, 0.95).expect("a target");
        let (least, pieces) =
            timed(|| over_networks(&networks, |_, echelons| echelons.least(target)));
        let pieces: u64 = pieces
            .into_iter()
            .map(|least| least.expect("a network with sense").expect("a stock").total())
            .sum();
        println!(
            "  the least for a fill rate of 95 % everywhere in {:.3} s: {pieces} pieces",
            least.as_secs_f64()
        );
        if shape.is_none() {
            beside_the_peer(&networks, &owed, took);
        }
    }
}

fn beside_the_peer(networks: &[Network], owed: &[f64], took: Duration) {
    let count = number("SLOTKEEP_BENCH_SAMPLE", 20).min(MODELS as u64) as usize;
    if count == 0 {
        return;
    }
    let imports = "import scipy.stats, numpy";
    let Some(python) = Python::with("bench-scipy", &["scipy", "numpy"], imports) else { return };
    let sample: Vec<usize> = (0..MODELS).step_by(MODELS / count).collect();
    let model = |at: &usize| {
        let network = &networks[*at];
        let demand: Vec<f64> = network.sites.iter().map(|site| site.demand).collect();
        json!({
            "demand": demand,
            "way": network.sites[0].order_time,
            "time": network.central_time,
            "total": total(network),
        })
    };
    let input = Value::Array(sample.iter().map(model).collect());
    let answer = python.answer(SCRIPT, input.to_string().as_bytes());
    let answer: Value = serde_json::from_slice(&answer).expect("what the script prints");
    for (at, theirs) in sample.iter().zip(answer["owed"].as_array().expect("a list")) {
        let theirs = theirs.as_f64().expect("a number");
        assert!((theirs - owed[*at]).abs() < 1e-9, "model {at}: {theirs} and {}", owed[*at]);
    }
    let each = answer["seconds"].as_f64().expect("a number") / sample.len() as f64;
    println!(
        "  numpy and scipy: {:.1} ms a model, the same pieces owed; ratio {:.0}",
        each * 1e3,
        each / (took.as_secs_f64() / MODELS as f64)
    );
}

/// Half as many again as are on their way, and some.
fn total(network: &Network) -> u64 {
    let on_way: f64 = network
        .sites
        .iter()
        .map(|site| site.demand * (site.order_time + network.central_time))
        .sum();
    (1.5 * on_way).ceil() as u64 + 3
}

fn made(rate_shape: Option<f64>) -> Vec<Network> {
    let mut draws = Draws(4711);
    let network = |_| {
        let rate = 10f64.powf(2.5 * draws.share() - 2.5);
        let site = |_| Site {
            demand: rate * (0.3 + 1.4 * draws.share()),
            repaired_here: 0.0,
            repair_time: 0.0,
            order_time: 2.0 / 52.0,
            stock: 0,
        };
        let sites = (0..STORES).map(site).collect();
        let central_time = 0.2 + 0.4 * draws.share();
        Network { sites, central_demand: 0.0, central_stock: 0, central_time, rate_shape }
    };
    (0..MODELS).map(network).collect()
}
