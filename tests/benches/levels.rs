//! Levels of 100,000 model-stores and the cheapest lots, beside general libraries through Python.
//!
//! - The least stock for each of four measures of service, half of the model-stores with Poisson
//!   demand and half with negative-binomial demand, none alike, on as many threads as the machine
//!   has. The peer is `scipy.stats` on the first `SLOTKEEP_BENCH_PEER` of them (200; 0 leaves it
//!   out): quantiles for the probabilities, sums of tails for what is owed; and, since that has
//!   a cost for each call, the same once more in whole arrays.
//! - The reorder point and quantity that cost least, exactly, beside `r_q_poisson_exact` of
//!   stockpyl, which must find the same.

use serde_json::{Value, json};
use slotkeep_domain::spares::{LotCosts, Measure, Pmf, Reorder, Target, ToCover, reorder};
use slotkeep_tests::measure::{Draws, ms, number, timed};
use slotkeep_tests::python::Python;

const MODEL_STORES: usize = 100_000;
const TARGETS: [(Measure, f64); 4] = [
    (Measure::NoStockOut, 0.98),
    (Measure::FillRate, 0.97),
    (Measure::Backorders, 0.02),
    (Measure::DownTimeH, 40.0),
];

const LEVELS: &str = r#"
import json, sys, time
import numpy as np
from scipy import stats
p = json.load(sys.stdin)
def made(mean, variance):
    if variance <= mean:
        return stats.poisson, (mean,)
    return stats.nbinom, (mean * mean / (variance - mean), mean / variance)
def levels(mean, variance):
    family, args = made(mean, variance)
    no_stock_out = int(family.ppf(0.98, *args))
    if variance <= mean:
        fill_rate = int(family.ppf(0.97, *args)) + 1
    else:
        fill_rate = int(family.ppf(0.97, args[0] + 1, args[1])) + 1
    top = int(family.ppf(1 - 1e-13, *args)) + 1
    above = family.sf(np.arange(top + 1), *args)
    owed = np.cumsum(above[::-1])[::-1]
    return [no_stock_out, fill_rate, int(np.argmax(owed <= 0.02)), int(np.argmax(owed * 8760 <= 40.0))]
levels(*p[0])
start = time.perf_counter()
found = [levels(mean, variance) for mean, variance in p]
each = time.perf_counter() - start
mean, variance = np.array(p).T
start = time.perf_counter()
poisson = variance <= mean
m, v = mean[~poisson], variance[~poisson]
whole = np.zeros((len(p), 4), dtype=int)
whole[poisson, 0] = stats.poisson.ppf(0.98, mean[poisson])
whole[poisson, 1] = stats.poisson.ppf(0.97, mean[poisson]) + 1
whole[~poisson, 0] = stats.nbinom.ppf(0.98, m * m / (v - m), m / v)
whole[~poisson, 1] = stats.nbinom.ppf(0.97, m * m / (v - m) + 1, m / v) + 1
k = np.arange(int(max(stats.poisson.ppf(1 - 1e-13, mean[poisson].max()),
                      stats.nbinom.ppf(1 - 1e-13, m * m / (v - m), m / v).max())) + 2)
above = np.zeros((len(p), len(k)))
above[poisson] = stats.poisson.sf(k[None, :], mean[poisson][:, None])
above[~poisson] = stats.nbinom.sf(k[None, :], (m * m / (v - m))[:, None], (m / v)[:, None])
owed = np.cumsum(above[:, ::-1], axis=1)[:, ::-1]
whole[:, 2] = np.argmax(owed <= 0.02, axis=1)
whole[:, 3] = np.argmax(owed * 8760 <= 40.0, axis=1)
arrays = time.perf_counter() - start
print(json.dumps({"each": each, "arrays": arrays, "levels": found, "same": whole.tolist() == found}))
"#;

const LOTS: &str = r#"
import json, sys, time
from stockpyl.rq import r_q_poisson_exact
p = json.load(sys.stdin)
r_q_poisson_exact(*p[0])
start = time.perf_counter()
found = [r_q_poisson_exact(*each) for each in p]
took = time.perf_counter() - start
print(json.dumps({"seconds": took, "found": [[int(r), int(q), float(g)] for r, q, g in found]}))
"#;

fn main() {
    let asked = model_stores();
    levels(&asked[..1000], 1);
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let (took, found) = timed(|| levels(&asked, threads));
    let pieces: u64 = found.iter().map(|levels| levels[0]).sum();
    println!(
        "{MODEL_STORES} model-stores, four levels each on {threads} threads: {:.3} s ({pieces} pieces)",
        took.as_secs_f64()
    );
    let peers = number("SLOTKEEP_BENCH_PEER", 200).min(MODEL_STORES as u64) as usize;
    if peers > 0 {
        beside_scipy(&asked[..peers], &found[..peers]);
        beside_stockpyl();
    }
}

/// Mean and variance of the demand of a lead time; a Poisson one has its mean as variance.
fn model_stores() -> Vec<(f64, f64)> {
    let mut chance = Draws(20_26);
    let made = (0..MODEL_STORES).map(|number| {
        // From one piece in a hundred lead times to sixty in one.
        let mean = 0.01 * 6000f64.powf(chance.share());
        let spread = if number % 2 == 0 { 1.0 } else { 1.0 + 4.0 * chance.share() };
        (mean, mean * spread)
    });
    made.collect()
}

fn levels(asked: &[(f64, f64)], threads: usize) -> Vec<[u64; 4]> {
    let targets = TARGETS.map(|(measure, value)| Target::new(measure, value).expect("a target"));
    let of = |(mean, variance): &(f64, f64)| {
        let demand = Pmf::negative_binomial(*mean, *variance).expect("a demand");
        let cover = match variance > mean {
            true => ToCover::at_an_uncertain_rate(demand),
            false => ToCover::one_by_one(demand),
        };
        targets.map(|target| cover.level_for(target).stock)
    };
    let part = asked.len().div_ceil(threads);
    std::thread::scope(|scope| {
        let running: Vec<_> = asked
            .chunks(part)
            .map(|part| scope.spawn(move || part.iter().map(of).collect::<Vec<_>>()))
            .collect();
        running.into_iter().flat_map(|part| part.join().expect("its levels")).collect()
    })
}

fn beside_scipy(asked: &[(f64, f64)], ours: &[[u64; 4]]) {
    let Some(python) = Python::with("bench-scipy", &["scipy", "numpy"], "import scipy.stats")
    else {
        return;
    };
    let (took, again) = timed(|| levels(asked, 1));
    assert_eq!(again, ours);
    let answer = python.answer(LEVELS, json!(asked).to_string().as_bytes());
    let answer: Value = serde_json::from_slice(&answer).expect("its levels");
    let same = json!(ours) == answer["levels"] && answer["same"] == true;
    let ratio = |name: &str| answer[name].as_f64().unwrap_or(f64::NAN) / took.as_secs_f64();
    println!(
        "  the first {} on one thread in {:.2} ms; scipy one by one {:.0} times as long, in whole \
         arrays {:.0} times; {}",
        asked.len(),
        ms(took),
        ratio("each"),
        ratio("arrays"),
        if same { "all the same levels" } else { "LEVELS DIFFER" }
    );
}

fn beside_stockpyl() {
    let Some(python) = Python::with("bench-stockpyl", &["stockpyl"], "import stockpyl.rq") else {
        return;
    };
    let mut chance = Draws(7);
    let asked: Vec<[f64; 5]> = (0..40)
        .map(|_| {
            let holding = 0.5 + 20.0 * chance.share();
            let owing = holding * (2.0 + 200.0 * chance.share());
            let order = 5.0 + 200.0 * chance.share();
            [holding, owing, order, 0.2 + 30.0 * chance.share(), 0.05 + chance.share()]
        })
        .collect();
    let lots = || asked.iter().map(ours).collect::<Vec<Reorder>>();
    lots();
    let (took, found) = timed(lots);
    let answer = python.answer(LOTS, json!(asked).to_string().as_bytes());
    let answer: Value = serde_json::from_slice(&answer).expect("its lots");
    let theirs = answer["found"].as_array().expect("lots");
    let far = found.iter().zip(theirs).map(|(ours, theirs)| {
        let cost = theirs[2].as_f64().unwrap_or(f64::NAN);
        (ours.cost / cost - 1.0).abs()
    });
    println!(
        "{} cheapest (r, Q) in {:.3} ms; stockpyl {:.0} times as long; costs apart by {:.1e} at most",
        asked.len(),
        ms(took),
        answer["seconds"].as_f64().unwrap_or(f64::NAN) / took.as_secs_f64(),
        far.fold(0.0, f64::max)
    );
}

fn ours(asked: &[f64; 5]) -> Reorder {
    let [holding, owing, order, demand, lead_time] = *asked;
    reorder(LotCosts { order, holding, owing }, demand, lead_time).expect("lots")
}
