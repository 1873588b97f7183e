//! Figures of spares that are missing, at their limits or none at all: refused, or handled by the
//! rule that is stated, through the commands as through the formulas.

use serde_json::{Value, json};
use slotkeep_api::calc;
use slotkeep_tests::{Plant, files_of, only, root};

/// A sample site with some files altered.
fn altered(change: impl Fn(&str, &str) -> Option<String>) -> Plant {
    let plant = Plant::empty();
    let mut files = files_of(&root().join("sample-site"));
    for file in &mut files {
        let changed = change(file["name"].as_str().unwrap(), file["text"].as_str().unwrap());
        if let Some(changed) = changed {
            file["text"] = json!(changed);
        }
    }
    plant.call("site.import", json!({ "files": files }));
    plant
}

/// The rows of a file of which a condition on the whole row holds, under the same head.
fn rows(text: &str, keep: impl Fn(&str) -> bool) -> String {
    let kept = text.lines().enumerate().filter(|(at, line)| *at == 0 || keep(line));
    kept.map(|(_, line)| format!("{line}\n")).collect()
}

/// A catalogue in which one model has other figures; null takes one away.
fn catalogue(text: &str, part_no: &str, figures: &Value) -> String {
    let mut catalogue: Value = serde_json::from_str(text).unwrap();
    for line in catalogue["models"].as_array_mut().unwrap() {
        if line["part_no"] == part_no {
            for (name, figure) in figures.as_object().unwrap() {
                match figure {
                    Value::Null => line.as_object_mut().unwrap().remove(name),
                    figure => line.as_object_mut().unwrap().insert(name.clone(), figure.clone()),
                };
            }
        }
    }
    catalogue.to_string()
}

fn line(plant: &Plant, model: &str) -> Value {
    plant.call("spares.table", json!({ "model": model }))["lines"][0].clone()
}

/// Every screen of a model answers, and none of its numbers is none.
fn every_screen_answers(plant: &Plant, model: &str) {
    let shown = [
        ("spares.table", json!({})),
        ("spares.model", json!({ "model": model })),
        ("spares.projection", json!({ "model": model, "months": 12 })),
        ("spares.budget", json!({ "budget_cents": 300_000 })),
        (
            "spares.last_chance",
            json!({ "model": model, "last_order_on": "2027-06-30", "until": "2035-01-01" }),
        ),
    ];
    for (command, input) in shown {
        let reply = plant.call(command, input);
        // What is not finite is written as null: no figure that is always there may be.
        assert!(!reply["message"].as_str().unwrap().contains("NaN"), "{command}: {reply}");
        for line in only(&reply["lines"].as_array().map_or(json!([]), |it| json!(it)), |_| true) {
            for figure in ["no_stock_out", "fill_rate", "backorders", "down_time_h"] {
                assert!(line["now"][figure].is_number(), "{command}: {line}");
                assert!(line["at_level"][figure].is_number(), "{command}: {line}");
            }
        }
    }
}

/// A serialised model that stands in slots of the sample site and is bought anew when it fails.
const MODEL: &str = "MP-AI08-C";

/// A consumable of the sample site.
const USED: &str = "MP-FER075";

#[test]
fn a_lead_time_of_zero_holds_nothing_but_what_must_lie_ready() {
    let at_once = json!({ "lead_time_d": 0, "lead_time_spread_d": null, "repairable": null,
        "turn_round_d": null, "repair_yield_pct": null, "repair_price_cents": null,
        "lifecycle": null, "last_order_on": null });
    // One storeroom, since pieces take two days to the other one.
    let plant = altered(|name, text| match name {
        "models.json" => Some(catalogue(text, MODEL, &at_once)),
        "stores.csv" => Some(text.replace("store,ST1,2,EL PW", "store,,,")),
        _ => None,
    });
    let choose = |class: &str| {
        let choice = json!({ "model": MODEL, "class": class, "reason": "Bought next door" });
        plant.call("spares.choose", choice);
        line(&plant, MODEL)
    };
    // Vital: 99 % without a stock-out. Essential: 95 % are served at once.
    let vital = choose("vital");
    assert_eq!((&vital["lead_time_d"], &vital["lead_demand"]), (&json!(0), &json!(0.0)));
    assert_eq!(
        (&vital["order_up_to"], &vital["at_level"]["no_stock_out"]),
        (&json!(0), &json!(1.0))
    );
    let essential = choose("essential");
    assert_eq!(essential["order_up_to"], json!(1), "{essential}");
    assert_eq!(essential["at_level"]["fill_rate"], json!(1.0), "{essential}");
    every_screen_answers(&plant, MODEL);
}

#[test]
fn units_without_the_day_of_installation_give_neither_hours_nor_failures() {
    let known = Plant::sample().call("spares.model", json!({ "model": MODEL }));
    let plant = altered(|name, text| {
        (name == "units.csv").then(|| {
            let lines = text.lines().map(|line| {
                let mut cells: Vec<&str> = line.split(',').collect();
                if cells[1] == MODEL && cells[4].starts_with('+') {
                    cells[5] = "";
                }
                cells.join(",")
            });
            lines.map(|line| line + "\n").collect()
        })
    });
    let shown = plant.call("spares.model", json!({ "model": MODEL }));
    let standing = only(&shown["standing"], |_| true);
    let units: u64 = standing.iter().map(|place| place["units"].as_u64().unwrap()).sum();
    assert!(units > 3, "{units}");
    assert_eq!(shown["rate"]["left_out"].as_u64(), Some(units), "{}", shown["rate"]);
    let hours = |of: &Value| of["rate"]["unit_hours"].as_f64().unwrap();
    assert!(hours(&shown) < hours(&known), "{} beside {}", hours(&shown), hours(&known));
    // They ask for spares all the same.
    assert_eq!(line(&plant, MODEL)["installed"], line(&Plant::sample(), MODEL)["installed"]);
    assert!(shown["rate"]["learned_fit"].as_f64().unwrap() > 0.0);
    every_screen_answers(&plant, MODEL);
}

#[test]
fn what_was_never_handed_out_has_no_demand_and_says_so() {
    let plant = altered(|name, text| {
        (name == "history.csv").then(|| rows(text, |line| !line.contains(USED)))
    });
    let line = line(&plant, USED);
    assert!(line["method"] != "history", "{line}");
    assert_eq!(line["forecast"], Value::Null);
    let shown = plant.call("spares.model", json!({ "model": USED }));
    assert_eq!(shown["history"]["methods"], json!([]));
    assert!(!shown["history"]["message"].as_str().unwrap().is_empty());
    // A method may be chosen before there is anything to foresee by it.
    let choose = json!({ "model": USED, "method": "croston", "reason": "New works begin" });
    plant.call("spares.choose", choose);
    every_screen_answers(&plant, USED);
    let nothing = altered(|name, text| (name == "history.csv").then(|| rows(text, |_| false)));
    assert_eq!(
        nothing.call("spares.model", json!({ "model": USED }))["history"]["months"],
        json!([])
    );
    every_screen_answers(&nothing, USED);
    every_screen_answers(&nothing, MODEL);
}

#[test]
fn a_history_shorter_than_the_season_is_foreseen_by_what_there_is() {
    // Whole months from July to October.
    let plant = altered(|name, text| {
        let lately = |line: &str| {
            ["2026-07", "2026-08", "2026-09", "2026-10", "2026-11"]
                .iter()
                .any(|month| line.contains(month))
        };
        (name == "history.csv").then(|| rows(text, lately))
    });
    let history =
        |plant: &Plant| plant.call("spares.model", json!({ "model": USED }))["history"].clone();
    let blended = history(&plant);
    let months: Vec<f64> =
        only(&blended["months"], |_| true).iter().map(|m| m["issued"].as_f64().unwrap()).collect();
    assert_eq!(months.len(), 4, "{blended}");
    let least = months.iter().copied().fold(f64::INFINITY, f64::min);
    let most = months.iter().copied().fold(0.0, f64::max);
    let mean = |of: &Value| of["mean_per_month"].as_f64().unwrap();
    assert!((0.5 * least..=1.5 * most).contains(&mean(&blended)), "{blended}");
    let choose = json!({ "model": USED, "method": "season", "reason": "Works in spring" });
    plant.call("spares.choose", choose);
    let by_season = history(&plant);
    assert_eq!(by_season["method"], "season");
    // Without a whole season seen, each month is foreseen near the mean of what there is.
    assert!((0.5 * least..=1.5 * most).contains(&mean(&by_season)), "{by_season}");
    every_screen_answers(&plant, USED);
}

#[test]
fn a_command_of_spares_refuses_negative_figures_by_name() {
    let plant = Plant::sample();
    let soon = plant.now.date_naive() + chrono::Duration::days(30);
    for (command, input, words) in [
        (
            "spares.choose",
            json!({ "model": MODEL, "reorder_at": -3, "order_up_to": 2, "reason": "x" }),
            "-3",
        ),
        (
            "spares.choose",
            json!({ "model": MODEL, "reorder_at": 3, "order_up_to": -1, "reason": "x" }),
            "-1",
        ),
        (
            "spares.plan_change",
            json!({ "model": MODEL, "on": soon, "installed_change": 1, "from_stock": -1,
                    "reason": "x" }),
            "-1",
        ),
        (
            "spares.plan_change",
            json!({ "model": MODEL, "on": soon, "installed_change": 1, "harvested": 1e300,
                    "reason": "x" }),
            "1e+300",
        ),
        ("spares.projection", json!({ "model": MODEL, "months": -1 }), "-1"),
        (
            "spares.projection",
            json!({ "model": MODEL, "what_if": { "warmer_k": 1e300 } }),
            "-40 to 40",
        ),
        (
            "spares.projection",
            json!({ "model": MODEL, "what_if": { "lead_time_factor": -1.0 } }),
            "0.1 to 10",
        ),
        ("spares.stores", json!({ "model": MODEL, "pieces": -1 }), "-1"),
        (
            "spares.last_chance",
            json!({ "model": MODEL, "last_order_on": "2027-06-30", "too_few_cents": -1 }),
            "above 0",
        ),
        (
            "spares.last_chance",
            json!({ "model": MODEL, "last_order_on": "2027-06-30", "too_many_cents": 0 }),
            "above 0",
        ),
    ] {
        let failure = plant.refused(command, input.clone());
        assert!(failure.message.contains(words), "{command} {input}: {failure}");
    }
    plant.verify_clean();
}

#[test]
fn a_site_file_with_negative_figures_of_spares_is_refused_where_they_stand() {
    let plant = Plant::empty();
    for (file, from, to) in [
        ("models.json", "\"lead_time_d\":168,", "\"lead_time_d\":-168,"),
        ("models.json", "\"price_cents\":389000,", "\"price_cents\":-389000,"),
        ("models.json", "\"failure_rate_fit\":1900,", "\"failure_rate_fit\":-1900,"),
        ("models.json", "\"failure_rate_fit\":1900,", "\"failure_rate_fit\":1e999,"),
        ("models.json", "\"turn_round_d\":98,", "\"turn_round_d\":-98,"),
        ("stores.csv", "ST1,2,EL PW", "ST1,-2,EL PW"),
        ("orders.csv", "26-118,MP-AO08-C,ST1,2,", "26-118,MP-AO08-C,ST1,-2,"),
        ("planned_changes.csv", "2028-03-15,,5,,4", "2028-03-15,,-5,,4"),
        // The sample site looks at its shelves all the time.
        ("site.json", "\"holding_pct_a\"", "\"review_d\": -1, \"holding_pct_a\""),
    ] {
        let mut files = files_of(&root().join("sample-site"));
        let one = files.iter_mut().find(|one| one["name"] == file).unwrap();
        let text = one["text"].as_str().unwrap().to_owned();
        assert!(text.contains(from), "{from:?} stands in {file}");
        one["text"] = json!(text.replacen(from, to, 1));
        let failure = plant.refused("site.import", json!({ "files": files, "try_only": true }));
        let named = failure.details.iter().any(|detail| detail.place.contains(file));
        assert!(named, "{file}: {to:?}: {:#?}", failure.details);
    }
}

#[test]
fn formulas_of_spares_refuse_what_is_no_figure() {
    let service = json!({ "measure": "no_stock_out", "target": 0.99 });
    let level = json!({ "demand_per_y": 7.3, "lead_time_d": 50.0 });
    let asking = json!({ "units": 60, "failures": { "shape": 1.5, "exposure_h": 2e5 } });
    let demand = json!({ "lead_time_d": 80, "asking": asking });
    let learned = json!({ "failure_rate_fit": 900, "places": [{ "place_c": 30, "hours_h": 1e5, "failures": 1 }] });
    let ahead =
        json!({ "months": 6, "stock": 2, "lead_time_d": 60, "asking": asking, "runs": 200 });
    let stores = json!({ "network": { "stores": [{ "demand": 1.5, "order_time": 0.1 }], "central_time": 0.4 },
        "central_stock": 1, "stocks": [1] });
    let series = json!({ "series": [{ "item": "a", "demands": [3, 0, 2, 0] }], "months": 6 });
    let money = json!({ "models": [{ "mean": 2.3, "price_cents": 1000 }], "aim": "backorders", "steps": 3 });
    let level = merged(&level, &service);
    for (formula, sound, pointer, figures) in [
        ("stock-level", &level, "/demand_per_y", vec![json!(-1.0), json!(1e300)]),
        ("stock-level", &level, "/lead_time_d", vec![json!(-1.0), json!(1e300)]),
        ("stock-level", &level, "/target", vec![json!(1.0), json!(1.5), json!(-0.1)]),
        ("lead-time-demand", &demand, "/lead_time_d", vec![json!(-1.0), json!(1e300)]),
        ("lead-time-demand", &demand, "/asking/units", vec![json!(-1.0), json!(1e300)]),
        ("lead-time-demand", &demand, "/asking/failures/shape", vec![json!(-1.0)]),
        ("lead-time-demand", &demand, "/asking/failures/exposure_h", vec![json!(-1.0), json!(0.0)]),
        ("failure-rate-learned", &learned, "/failure_rate_fit", vec![json!(-1.0), json!(0.0)]),
        ("failure-rate-learned", &learned, "/places/0/hours_h", vec![json!(-1.0)]),
        ("failure-rate-learned", &learned, "/places/0/place_c", vec![json!(-300.0), json!(1e300)]),
        ("stock-projection", &ahead, "/lead_time_d", vec![json!(-1.0), json!(1e300)]),
        ("stock-projection", &ahead, "/months", vec![json!(0), json!(1_000_000)]),
        (
            "two-echelon-service",
            &stores,
            "/network/stores/0/demand",
            vec![json!(-1.0), json!(1e300)],
        ),
        ("two-echelon-service", &stores, "/network/central_time", vec![json!(-1.0), json!(1e300)]),
        ("demand-outlook", &series, "/series/0/demands/0", vec![json!(-1.0), json!(1e300)]),
        ("demand-outlook", &series, "/series/0/demands", vec![json!([])]),
        ("demand-outlook", &series, "/months", vec![json!(-1.0), json!(0.0)]),
        ("money-curve", &money, "/models/0/mean", vec![json!(-1.0), json!(1e300)]),
        ("money-curve", &money, "/models/0/price_cents", vec![json!(-1), json!(0)]),
    ] {
        calc::run(formula, sound.clone()).unwrap_or_else(|no| panic!("{formula}: {no}"));
        for figure in figures {
            let mut input = sound.clone();
            *input.pointer_mut(pointer).unwrap_or_else(|| panic!("{formula}{pointer}")) =
                figure.clone();
            let refusal = calc::run(formula, input);
            let no = refusal.expect_err(&format!("{formula}{pointer} of {figure}")).to_string();
            assert!(no.len() > formula.len() + 10, "{no}");
        }
    }
    // Nothing is under way in no time: no stock is needed for 99 % without a stock-out.
    let mut at_once = level;
    at_once["lead_time_d"] = json!(0.0);
    assert_eq!(calc::run("stock-level", at_once.clone()).unwrap()["level"], json!(0));
    at_once["measure"] = json!("fill_rate");
    assert_eq!(calc::run("stock-level", at_once).unwrap()["level"], json!(1));
}

fn merged(one: &Value, other: &Value) -> Value {
    let mut all = one.clone();
    for (name, value) in other.as_object().unwrap() {
        all[name] = value.clone();
    }
    all
}
