//! Forecasts of car parts: how good they are beside those that a well-known library gives from the
//! same months, and how long both take for the same methods with the same tests on the past.

use serde_json::{Value, json};
use slotkeep_api::calc;
use slotkeep_domain::spares::{ForecastRules, History, outlooks};
use slotkeep_tests::measure::{ms, timed};
use slotkeep_tests::python::Python;
use slotkeep_tests::series;

const COLUMNS: [&str; 6] = ["RMSE_pooled", "RMSSE", "pinP0.9", "pinN0.9", "pinP0.95", "pinN0.95"];
const RUNS: usize = 7;

fn main() {
    for (subset, only) in [("filtered1046", Some("carparts/filtered.txt")), ("complete2509", None)]
    {
        accuracy(subset, only);
    }
    speed();
}

/// Prints our row beside the listed ones, and how the stated chances turned out.
fn accuracy(subset: &str, only: Option<&str>) {
    let input = json!({
        "series": series::of("carparts/items.csv", only),
        "origins": [33, 36, 39, 42, 45],
        "horizon": 6,
        "methods": ["automatic"],
    });
    let reply = calc::run("demand-back-test", input).expect("series that were looked at");
    let row = &reply["rows"][0];
    println!("\n{subset}, {} items; six months from five moments each", reply["items"]);
    println!("{:<18}{}", "", COLUMNS.map(|column| format!("{column:>13}")).concat());
    let table = series::listed();
    for (method, figures) in &table[subset] {
        let cells = COLUMNS.map(|column| format!("{:>13.6}", figures[column]));
        println!("{method:<18}{}", cells.concat());
    }
    let cells = COLUMNS.map(|column| format!("{:>13.6}", series::figure(row, column)));
    println!("{:<18}{}", "ours, automatic", cells.concat());
    let best = COLUMNS.map(|column| {
        let best = table[subset].values().map(|figures| figures[column]).fold(f64::MAX, f64::min);
        format!("{:>13.3}", series::figure(row, column) / best)
    });
    println!("{:<18}{}", "ours over the best", best.concat());
    println!(
        "chance asked for; of its quantile and of its middle interval: what it states (pieces are \
         whole), the share that came, and the difference:"
    );
    for at in reply["calibration"]["chances"].as_array().into_iter().flatten() {
        let figure = |name: &str| at[name].as_f64().unwrap_or(f64::NAN);
        let [stated, covered] = ["stated", "covered"].map(figure);
        let [within_stated, within] = ["within_stated", "within"].map(figure);
        println!(
            "  {:.2}  {stated:.3}  {covered:.3}  {:+.3}   {within_stated:.3}  {within:.3}  {:+.3}",
            figure("chance"),
            covered - stated,
            within - within_stated
        );
    }
    println!("tenths of the transform: {}", reply["calibration"]["tenths"]);
}

/// All items, five tests of six months three months apart, then the present: ours with every method,
/// and the blend; the library with the twelve methods of ours that it has.
fn speed() {
    let series = series::of("carparts/items.csv", None);
    let demands: Vec<Vec<f64>> = series
        .as_array()
        .into_iter()
        .flatten()
        .map(|one| {
            one["demands"].as_array().into_iter().flatten().filter_map(Value::as_f64).collect()
        })
        .collect();
    let histories: Vec<History> = demands
        .iter()
        .map(|demands| History::new(demands.clone()).expect("demands that were looked at"))
        .collect();
    let rules = ForecastRules::over(6);
    // The library gives means of a month, so the ratio is of what both do; chances come on top.
    let foreseen = || outlooks(&histories, &rules).expect("rules of our own");
    let (chances, _) = {
        let foreseen = foreseen();
        timed(|| foreseen.iter().filter_map(|outlook| outlook.over(6.0).ok()).count())
    };
    let mut ours_s: Vec<f64> = (0..RUNS).map(|_| timed(foreseen).0.as_secs_f64()).collect();
    ours_s.sort_by(f64::total_cmp);
    let ours_s = ours_s[RUNS / 2];
    println!(
        "\n{} items of 51 months, {} methods, {} tests and blend: {:.1} ms (median of {RUNS}); \
         chances of six months, on one thread: {:.1} ms",
        histories.len(),
        rules.methods.len(),
        rules.windows,
        ours_s * 1e3,
        ms(chances)
    );
    let Some(python) =
        Python::with("statsforecast", &["statsforecast==2.1.1"], "import statsforecast")
    else {
        return;
    };
    let input = json!({ "demands": demands, "windows": rules.windows, "step": rules.step });
    let answer = python.answer(PEER, input.to_string().as_bytes());
    let answer: Value = serde_json::from_slice(&answer).expect("what the script prints");
    for (name, time) in answer.as_object().into_iter().flatten() {
        let time_s = time.as_f64().unwrap_or(f64::NAN);
        println!("statsforecast {name}: {time_s:.2} s; ratio {:.0}", time_s / ours_s);
    }
}

/// The peer after a warm-up, on one process and on as many as there are processors.
const PEER: &str = r#"
import json, os, sys, time
import numpy as np, pandas as pd
from statsforecast import StatsForecast
from statsforecast.models import (ADIDA, IMAPA, TSB, CrostonClassic, CrostonOptimized, CrostonSBA,
    HistoricAverage, Naive, SimpleExponentialSmoothing, SimpleExponentialSmoothingOptimized,
    WindowAverage)
asked = json.load(sys.stdin)
demands = np.array(asked["demands"])
items, months = demands.shape
table = pd.DataFrame({"unique_id": np.repeat(np.arange(items), months),
    "ds": np.tile(np.arange(months), items), "y": demands.ravel()})
methods = [ADIDA(), CrostonClassic(), CrostonOptimized(), CrostonSBA(), HistoricAverage(), IMAPA(),
    Naive(), SimpleExponentialSmoothing(0.1), SimpleExponentialSmoothingOptimized(),
    TSB(0.1, 0.1), TSB(0.2, 0.1, alias="TSB2"), WindowAverage(12)]
times = {}
for jobs in (1, os.cpu_count()):
    peer = StatsForecast(models=methods, freq=1, n_jobs=jobs)
    few = table[table.unique_id < 20]
    peer.cross_validation(df=few, h=6, step_size=asked["step"], n_windows=asked["windows"])
    best = float("inf")
    for _ in range(2):
        begin = time.perf_counter()
        peer.cross_validation(df=table, h=6, step_size=asked["step"], n_windows=asked["windows"])
        peer.forecast(df=table, h=6)
        best = min(best, time.perf_counter() - begin)
    times[f"on {jobs} processes"] = best
json.dump(times, sys.stdout)
"#;
