//! Forecasts of car parts: how good they are beside those that a well-known library gives from the
//! same months, and how long both take for the same methods with the same tests on the past.

use serde_json::{Value, json};
use slotkeep_api::calc;
use slotkeep_domain::spares::{ForecastRules, History, Method, outlooks};
use slotkeep_tests::measure::timed;
use slotkeep_tests::python::Python;
use slotkeep_tests::series;
use std::process::Command;

/// As in the programs.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

const COLUMNS: [&str; 6] = ["RMSE_pooled", "RMSSE", "pinP0.9", "pinN0.9", "pinP0.95", "pinN0.95"];
const RUNS: usize = 15;
/// Asks this program for its own times alone.
const OURS: &str = "ours";
/// Those of our methods that the library has.
const SHARED: [Method; 12] = [
    Method::Naive,
    Method::HistoricAverage,
    Method::Average12,
    Method::Smoothing,
    Method::SmoothingOptimised,
    Method::Croston,
    Method::CrostonOptimised,
    Method::Sba,
    Method::Tsb,
    Method::TsbQuick,
    Method::Adida,
    Method::Imapa,
];

fn main() {
    if std::env::args().any(|argument| argument == OURS) {
        return println!("{}", ours());
    }
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

/// Demands of all items.
fn demands() -> Vec<Vec<f64>> {
    let series = series::of("carparts/items.csv", None);
    let of = |one: &Value| -> Vec<f64> {
        one["demands"].as_array().into_iter().flatten().filter_map(Value::as_f64).collect()
    };
    series.as_array().into_iter().flatten().map(of).collect()
}

/// Our times in seconds, on the processors that this process may use: five tests of six months three
/// months apart and the blend, by all methods and by those that the library has, each the median of
/// a few runs; and on one thread the chances of six months, which come on top.
fn ours() -> Value {
    let history = |demands| History::new(demands).expect("demands that were looked at");
    let histories: Vec<History> = demands().into_iter().map(history).collect();
    let median_s = |rules: &ForecastRules| {
        let run = || timed(|| outlooks(&histories, rules).expect("rules of our own"));
        let mut times: Vec<f64> = (0..RUNS).map(|_| run().0.as_secs_f64()).collect();
        times.sort_by(f64::total_cmp);
        times[RUNS / 2]
    };
    let all = ForecastRules::over(6);
    let shared = ForecastRules { methods: SHARED.to_vec(), ..all.clone() };
    let foreseen = outlooks(&histories, &all).expect("rules of our own");
    let (chances, _) =
        timed(|| foreseen.iter().filter_map(|outlook| outlook.over(6.0).ok()).count());
    json!([median_s(&all), median_s(&shared), chances.as_secs_f64()])
}

/// Both sides on one processor and on all: ours by a process of its own, so that both may use the
/// same ones.
fn speed() {
    let this = std::env::current_exe().expect("the path of this program");
    let mut alone = Command::new("taskset");
    alone.args(["-c", "0"]).arg(&this).arg(OURS);
    let mut wide = Command::new(&this);
    wide.arg(OURS);
    let python = Python::with("statsforecast", &["statsforecast==2.1.1"], "import statsforecast");
    let peer = python.map(|python| {
        let rules = ForecastRules::over(6);
        let input = json!({ "demands": demands(), "windows": rules.windows, "step": rules.step })
            .to_string();
        let answer = python.answer(PEER, input.as_bytes());
        serde_json::from_slice::<[f64; 2]>(&answer).expect("what the script prints")
    });
    println!(
        "\nAll items of 51 months, five tests of six months, and the blend; medians of {RUNS}:"
    );
    for (name, command, at) in [("one processor", alone, 0), ("all processors", wide, 1)] {
        let mut command = command;
        let output = match command.output() {
            Ok(output) if output.status.success() => output.stdout,
            _ => {
                println!("{name}: {command:?} could not be run");
                continue;
            }
        };
        let [all_s, shared_s, chances_s]: [f64; 3] =
            serde_json::from_slice(&output).expect("what this program prints");
        println!(
            "{name}: {} methods {:.1} ms, the {} that the library has {:.1} ms; chances of six \
             months on one thread {:.1} ms",
            Method::ALL.len(),
            all_s * 1e3,
            SHARED.len(),
            shared_s * 1e3,
            chances_s * 1e3
        );
        if let Some(peer_s) = peer.map(|peer| peer[at]) {
            println!(
                "    statsforecast {peer_s:.2} s for the {} methods: {:.0} times ours with all \
                 methods, {:.0} times ours with the same",
                SHARED.len(),
                peer_s / all_s,
                peer_s / shared_s
            );
        }
    }
}

/// The twelve methods by the library after a warm-up, the better of two runs: in one process on one
/// processor, and in as many processes as there are processors.
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
times = []
everywhere = os.sched_getaffinity(0)
for processors in ({0}, everywhere):
    os.sched_setaffinity(0, processors)
    jobs = len(processors)
    peer = StatsForecast(models=methods, freq=1, n_jobs=jobs)
    few = table[table.unique_id < 20]
    peer.cross_validation(df=few, h=6, step_size=asked["step"], n_windows=asked["windows"])
    best = float("inf")
    for _ in range(2):
        begin = time.perf_counter()
        peer.cross_validation(df=table, h=6, step_size=asked["step"], n_windows=asked["windows"])
        peer.forecast(df=table, h=6)
        best = min(best, time.perf_counter() - begin)
    times.append(best)
json.dump(times, sys.stdout)
"#;
