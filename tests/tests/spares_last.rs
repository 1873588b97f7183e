//! The last purchase, the repair loop and the lots of the sample site, reckoned again by other means:
//! a stock that is followed from event to event, chains of Markov, and trying each quantity.

use chrono::NaiveDate;
use serde_json::{Value, json};
use slotkeep_tests::{Plant, files_of, only, root};

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

fn near(what: &str, got: f64, wanted: f64, off: f64) {
    assert!((got - wanted).abs() <= off, "{what}: {got} in place of {wanted}, {off} allowed");
}

/// A sample site whose catalogue says something else of a model, and whose storerooms are shelves of
/// one stock.
fn with_model(part_no: &str, change: impl Fn(&mut serde_json::Map<String, Value>)) -> Plant {
    let plant = Plant::empty();
    let mut files = files_of(&root().join("sample-site"));
    for file in files.iter_mut().filter(|file| file["name"] == "stores.csv") {
        file["text"] = json!("code,title,supplied_by,resupply_d,areas\nST1,Main,,,\nST2,Side,,,\n");
    }
    for file in files.iter_mut().filter(|file| file["name"] == "models.json") {
        let mut catalogue: Value = serde_json::from_str(file["text"].as_str().unwrap()).unwrap();
        for line in catalogue["models"].as_array_mut().unwrap() {
            if line["part_no"] == part_no {
                change(line.as_object_mut().unwrap());
            }
        }
        file["text"] = json!(catalogue.to_string());
    }
    plant.call("site.import", json!({ "files": files }));
    plant
}

fn day(text: &Value) -> NaiveDate {
    text.as_str().unwrap().parse().unwrap()
}

/// Chances of 0, 1, 2 … by the recurrence of the Poisson distribution.
fn poisson(mean: f64) -> Vec<f64> {
    let mut chances = vec![(-mean).exp()];
    while chances.len() < 6 || *chances.last().unwrap() > 1e-17 || (chances.len() as f64) < mean {
        let k = chances.len() as f64;
        chances.push(chances.last().unwrap() * mean / k);
    }
    chances
}

/// Means of a rate with weights: the trapezoidal rule in the logarithm of a gamma density.
fn rates(shape: f64, mean: f64) -> Vec<(f64, f64)> {
    let steps = 160;
    let low = -36.0 / shape - (72.0 / shape).sqrt();
    let high = (1.0 + 36.0 / shape + (72.0 / shape).sqrt()).ln();
    let at = |n: i32| low + (high - low) * f64::from(n) / f64::from(steps);
    let weight = |x: f64| (shape * (x - x.exp())).exp();
    let sum: f64 = (0..=steps).map(|n| weight(at(n))).sum();
    (0..=steps).map(|n| (weight(at(n)) / sum, mean * at(n).exp())).collect()
}

/// What happens to a stock on a day, and the units that stand from then on.
struct Event {
    day: f64,
    comes: u64,
    units: f64,
}

#[derive(Default)]
struct Fared {
    short: f64,
    left: f64,
    enough: f64,
}

/// Follows a stock from event to event, given each rate (per unit and day); who finds nothing is
/// helped in another way.
fn followed(stock: u64, units: f64, events: &[Event], end_d: f64, rates: &[(f64, f64)]) -> Fared {
    let mut fared = Fared::default();
    for (weight, rate) in rates {
        // Chances by stock, of those who never missed a piece and of the others.
        let mut lasting = vec![0.0; stock as usize + 1];
        lasting[stock as usize] = 1.0;
        let mut missed = vec![0.0; stock as usize + 1];
        let (mut from_d, mut units) = (0.0, units);
        let end = Event { day: end_d, comes: 0, units: 0.0 };
        let within = events.iter().filter(|it| it.day <= end_d).chain([&end]);
        for event in within {
            let asked = poisson(rate * units * (event.day - from_d));
            let (mut next, mut gone) = (vec![0.0; lasting.len()], vec![0.0; lasting.len()]);
            for had in 0..lasting.len() {
                for (n, chance) in asked.iter().enumerate() {
                    match had.checked_sub(n) {
                        Some(left) => {
                            next[left] += lasting[had] * chance;
                            gone[left] += missed[had] * chance;
                        }
                        None => {
                            let all = (lasting[had] + missed[had]) * chance;
                            gone[0] += all;
                            fared.short += weight * all * (n - had) as f64;
                        }
                    }
                }
            }
            let more = vec![0.0; event.comes as usize];
            lasting = [more.clone(), next].concat();
            missed = [more, gone].concat();
            (from_d, units) = (event.day, event.units);
        }
        let mean = |of: &[f64]| of.iter().enumerate().map(|(k, it)| k as f64 * it).sum::<f64>();
        fared.left += weight * (mean(&lasting) + mean(&missed));
        fared.enough += weight * lasting.iter().sum::<f64>();
    }
    fared
}

/// Pieces a day that one unit asks for, its rate not being known: shape and mean of what is believed,
/// at the heat of the cabinets. A test of the file `spares` finds these from the register.
fn believed(plant: &Plant, model: &str) -> (f64, f64) {
    let shown = plant.call("spares.model", json!({ "model": model }));
    assert_eq!(shown["wear"]["used"], json!(false), "{model}");
    let after = &shown["rate"]["after"];
    (number(&after["worth"]), number(&after["mean_fit"]) * 1e-9 * 24.0)
}

/// The sample's changes of a model, as its file says them: day, units taken out, units set free.
fn removals(model: &str) -> Vec<(NaiveDate, u64, u64)> {
    let text = std::fs::read_to_string(root().join("sample-site/planned_changes.csv")).unwrap();
    let cell = |line: &str, at: usize| line.split(',').nth(at).unwrap().to_owned();
    let mine = text.lines().skip(1).filter(|line| cell(line, 0) == model);
    mine.map(|line| {
        let count = |at| cell(line, at).parse().unwrap_or(0);
        (cell(line, 1).parse().unwrap(), count(3), count(5))
    })
    .collect()
}

/// A supply without repair, and a model that gives units back on two days, at a rate at which these
/// do not do: each quantity's cost, the best one, and the chance year by year.
#[test]
fn a_last_purchase_follows_shelf_failures_and_removals_day_by_day() {
    let plant = with_model("MP-TC08-C", |line| {
        line.insert("repairable".into(), json!(false));
        for field in ["turn_round_d", "repair_yield_pct", "repair_price_cents", "family"] {
            line.remove(field);
        }
        line.insert("failure_rate_fit".into(), json!(40_000));
        line.insert("failure_rate_worth".into(), json!(4));
    });
    for model in ["MP-TC08-C", "MP-PS03"] {
        let ask = json!({ "model": model, "too_few_cents": 500_000, "too_many_cents": 20_000 });
        let shown = plant.call("spares.last_chance", ask);
        let today = plant.now.date_naive();
        let days = |on: NaiveDate| (on - today).num_days() as f64;
        let (shape, mean) = believed(&plant, model);
        let rates = rates(shape, mean);
        let units = shown["years"][0]["installed"].as_u64().unwrap();
        let mut left = units;
        let events: Vec<Event> = removals(model)
            .into_iter()
            .map(|(on, removed, comes)| {
                left -= removed;
                Event { day: days(on), comes, units: left as f64 }
            })
            .collect();
        assert_eq!(events.len(), if model == "MP-TC08-C" { 2 } else { 0 });
        let on_hand = shown["on_hand"].as_u64().unwrap();
        let end_d = days(day(&shown["until"]));
        let mut least = (f64::INFINITY, 0);
        let found = shown["buy"].as_u64().unwrap();
        let near_it = only(&shown["by_quantity"], |it| {
            let buy = it["buy"].as_u64().unwrap();
            buy == 0 || buy.abs_diff(found) < 3
        });
        assert!(near_it.len() > 3, "{}", near_it.len());
        for point in near_it {
            let buy = point["buy"].as_u64().unwrap();
            let own = followed(on_hand + buy, units as f64, &events, end_d, &rates);
            near("missing", number(&point["short"]), own.short, 2e-4 * (1.0 + own.short));
            near("left over", number(&point["left"]), own.left, 2e-4 * (1.0 + own.left));
            near("enough", number(&point["enough"]), own.enough, 2e-4);
            let cost = 500_000.0 * own.short + 20_000.0 * own.left;
            near("cost", number(&point["total_cents"]), cost, 3e-4 * cost + 200.0);
            if cost < least.0 {
                least = (cost, buy);
            }
        }
        assert_eq!(found, least.1, "{model}");
        assert!(least.1 > 0, "a purchase that is worth it: {model}");
        let harvested: u64 = events.iter().map(|it| it.comes).sum();
        assert_eq!(shown["harvested"], json!(harvested));
        for year in shown["years"].as_array().unwrap() {
            let until_d = days(day(&year["until"]));
            let out =
                |stock: u64| 1.0 - followed(stock, units as f64, &events, until_d, &rates).enough;
            // The chances stand at the ends of months and are straight between, a day off at most.
            near("out without", number(&year["out_without"]), out(on_hand), 2e-3);
            near("out with", number(&year["out_with"]), out(on_hand + least.1), 2e-3);
        }
        for (chance, on) in [(0.5, &shown["runs_out_on"]), (0.1, &shown["runs_out_early_on"])] {
            let by_d = if on.is_null() { end_d } else { days(day(on)) };
            let out = 1.0 - followed(on_hand, units as f64, &events, by_d, &rates).enough;
            match on.is_null() {
                true => assert!(out < chance, "{model} lasts: {out}"),
                false => near("runs out", out, chance, 5e-3),
            }
        }
        assert_eq!(number(&shown["sum"][0]["value"]), found as f64);
    }
}

/// A unit set free after its need does not help before.
#[test]
fn what_is_set_free_late_helps_only_late() {
    let model = "MP-PS03";
    let asked = |on: &str, harvested: u32| {
        let plant = Plant::sample();
        let plan = json!({ "model": model, "on": on, "installed_change": -3,
                           "harvested": harvested, "reason": "Old train" });
        plant.call("spares.plan_change", plan);
        let shown = plant.call("spares.last_chance", json!({ "model": model }));
        assert_eq!(shown["harvested"], json!(harvested));
        if harvested > 0 {
            let come = &shown["coming"][0];
            assert_eq!((&come["on"], &come["from"]), (&json!(on), &json!("removal")));
            assert_eq!((&come["pieces"], &come["what"]), (&json!(3), &json!("Old train")));
        }
        (shown["buy"].as_u64().unwrap(), shown["runs_out_early_on"].as_str().unwrap().to_owned())
    };
    for (on, saved) in [("2027-01-15", 3), ("2037-05-20", 0)] {
        let (none, three) = (asked(on, 0), asked(on, 3));
        assert_eq!(three.0 + saved, none.0, "set free on {on}");
        assert_eq!(three.1 > none.1, saved > 0, "{three:?} {none:?}");
    }
}

/// Thinned failures: of a repairable model only those beyond repair ask, so it needs what a model
/// would that fails so much less often; and removals without a fault ask for nothing.
#[test]
fn units_that_come_back_ask_for_no_purchase() {
    let model = "MP-RT08-C";
    let at_yield = |pct: f64| {
        with_model(model, |line| {
            line.insert("repairable".into(), json!(true));
            line.insert("turn_round_d".into(), json!(60));
            line.insert("repair_yield_pct".into(), json!(pct));
        })
    };
    let ask = json!({ "model": model, "last_order_on": "2027-06-30", "until": "2052-06-30",
                      "too_few_cents": 5_000_000, "too_many_cents": 10_000 });
    let mut bought = Vec::new();
    for pct in [0.0, 60.0, 100.0] {
        let plant = at_yield(pct);
        let shown = plant.call("spares.last_chance", ask.clone());
        let units = number(&shown["years"][0]["installed"]);
        let record = plant.call("spares.model", json!({ "model": model }));
        assert!(record["rate"]["no_fault_found"].as_u64().unwrap() > 3, "it has such a record");
        let (shape, mean) = believed(&plant, model);
        let today = plant.now.date_naive();
        let days = |on: NaiveDate| (on - today).num_days() as f64;
        let mut events: Vec<Event> = only(&shown["coming"], |it| it["from"] == "order")
            .iter()
            .map(|it| Event {
                day: days(day(&it["on"])),
                comes: it["pieces"].as_u64().unwrap(),
                units,
            })
            .collect();
        events.sort_by(|a, b| a.day.total_cmp(&b.day));
        assert_eq!((events.len(), &shown["on_order"]), (1, &json!(2)), "order 26-124");
        let rates = rates(shape, mean * (1.0 - pct / 100.0));
        let end_d = days(day(&shown["until"]));
        let on_hand = shown["on_hand"].as_u64().unwrap();
        for point in shown["by_quantity"].as_array().unwrap().iter().take(5) {
            let stock = on_hand + point["buy"].as_u64().unwrap();
            let own = followed(stock, units, &events, end_d, &rates);
            near("missing", number(&point["short"]), own.short, 2e-4 * (1.0 + own.short));
            near("enough", number(&point["enough"]), own.enough, 2e-4);
        }
        bought.push(shown["buy"].as_u64().unwrap());
        let notes = shown["notes"].to_string();
        assert!(notes.contains(&format!("{pct:.0} % of failed units come back")), "{notes}");
    }
    assert!(bought[0] > bought[1] && bought[1] > bought[2], "{bought:?}");
    assert_eq!(bought[2], 0, "all come back, with a fault or without");
}

/// A chain of Markov over units in repair and units on order, each state's chance by going round
/// until nothing changes; times away without memory, which is one case of any times.
#[test]
fn a_repair_loop_is_a_chain_of_failures_repairs_and_purchases() {
    let model = "MP-TC08-C";
    let plant = with_model(model, |line| {
        line.insert("failure_rate_fit".into(), json!(100_000));
        line.insert("failure_rate_worth".into(), json!(60));
        line.insert("turn_round_d".into(), json!(200));
        line.insert("repair_yield_pct".into(), json!(60));
        line.insert("lead_time_d".into(), json!(300));
        line.remove("family");
    });
    let shown = plant.call("spares.model", json!({ "model": model }));
    let loops = &shown["repair"];
    let (places, spares) =
        (loops["places"].as_u64().unwrap(), loops["spares"].as_u64().unwrap() as usize);
    assert_eq!((places, spares), (16, 1));
    let (shape, mean) = believed(&plant, model);
    near("failures", number(&loops["failures_a_y"]), 16.0 * mean * 365.25, 1e-6);
    assert!(shape > 50.0);
    let (repair, purchase) = (1.0 / 200.0, 1.0 / 300.0);
    let most = places as usize + spares;
    let mut at = vec![vec![1.0_f64; most + 1]; most + 1];
    let works = |away: usize| places as f64 - away.saturating_sub(spares) as f64;
    for _ in 0..4000 {
        let mut changed = 0.0_f64;
        for r in 0..=most {
            for o in 0..=most - r {
                // What flows in over the pace at which the state is left.
                let mut into = 0.0;
                if r > 0 {
                    into += at[r - 1][o] * works(r + o - 1) * mean * 0.6;
                }
                if o > 0 {
                    into += at[r][o - 1] * works(r + o - 1) * mean * 0.4;
                }
                if r + o < most {
                    into += at[r + 1][o] * (r + 1) as f64 * repair;
                    into += at[r][o + 1] * (o + 1) as f64 * purchase;
                }
                let leaves = works(r + o) * mean + r as f64 * repair + o as f64 * purchase;
                let next = into / leaves;
                changed = changed.max((next - at[r][o]).abs());
                at[r][o] = next;
            }
        }
        let sum: f64 = (0..=most).flat_map(|r| at[r][..=most - r].to_vec()).sum();
        at.iter_mut().flatten().for_each(|chance| *chance /= sum);
        if changed < 1e-16 {
            break;
        }
    }
    let mut own = [0.0; 5];
    let states = at.iter().enumerate().flat_map(|(r, row)| {
        row[..=most - r].iter().enumerate().map(move |(o, chance)| (r, o, chance))
    });
    for (r, o, chance) in states {
        let short = (r + o).saturating_sub(spares) as f64;
        let whole = f64::from(u8::from(short == 0.0));
        let figures = [whole, short, r as f64, o as f64, works(r + o) * mean * 0.4 * 365.0];
        own.iter_mut().zip(figures).for_each(|(sum, it)| *sum += chance * it);
    }
    for (name, wanted) in
        ["all_working", "backorders", "expected_in_repair", "expected_on_order", "bought_a_y"]
            .into_iter()
            .zip(own)
    {
        near(name, number(&loops[name]), wanted, 1e-6 * wanted.max(1e-3));
    }
    near("availability", number(&loops["availability"]), 1.0 - own[1] / 16.0, 1e-8);
    assert_eq!(loops["finite_matters"], json!(true), "{loops}");
    assert!(number(&loops["backorders_endless"]) > 1.1 * own[1]);
}

/// Every lot that may be bought is tried with the lowest point that keeps the target, at the chances
/// that the curve of the model shows, an order costing 85.00 and the shelf 14 % a year, as the site
/// says.
#[test]
fn lots_cost_least_within_packs_least_orders_and_prices() {
    let plant = with_model("", |_| {});
    let table = plant.call("spares.table", json!({}));
    let mut lots = 0;
    for model in ["MP-DI16-C", "MP-FER075", "MP-FU2A", "MP-MKS", "MP-PSI2", "MP-AI08-C", "MP-PS03"]
    {
        let line = only(&table["lines"], |line| line["model"] == model)[0];
        let shown = plant.call("spares.model", json!({ "model": model }));
        let curve = shown["curves"][0]["by_stock"].as_array().unwrap();
        let within = |stock: usize| curve.get(stock).map_or(1.0, |at| number(&at["no_stock_out"]));
        let fill = |stock: usize| curve.get(stock).map_or(1.0, |at| number(&at["fill_rate"]));
        let owed = |at: i64| match usize::try_from(at) {
            Ok(at) => curve.get(at).map_or(0.0, |at| number(&at["backorders"])),
            Err(_) => number(&curve[0]["backorders"]) - at as f64,
        };
        let mean = owed(0);
        let level =
            only(&shown["sum"], |it| it["what"].as_str().unwrap().starts_with("Lacking"))[0];
        let level = only(&level["parts"], |it| it["what"] == "Level")[0];
        let lot = only(&level["parts"], |it| it["what"] == "Lot")[0];
        let yearly = number(&lot["parts"][0]["value"]);
        let text = std::fs::read_to_string(root().join("sample-site/models.json")).unwrap();
        let catalogue: Value = serde_json::from_str(&text).unwrap();
        let stated = only(&catalogue["models"], |it| it["part_no"] == model)[0];
        let (pack, least) = (stated["pack_size"].as_u64(), stated["min_order"].as_u64());
        let price = |quantity: u64| {
            let breaks = stated["price_breaks"].as_array().cloned().unwrap_or_default();
            let reached = breaks.iter().rev().find(|it| it["from"].as_u64().unwrap() <= quantity);
            reached.map_or(number(&stated["price_cents"]), |it| number(&it["price_cents"]))
        };
        let target = number(&line["target"]["value"]);
        let mut best = (f64::INFINITY, 0, 0);
        for quantity in 1..1500_u64 {
            let whole = quantity.is_multiple_of(pack.unwrap_or(1));
            if !whole || quantity < least.unwrap_or(1) {
                continue;
            }
            let run = |point: i64| point + 1..=point + quantity as i64;
            let served = |point: i64| {
                let at = |position: i64| usize::try_from(position).map_or(0.0, &fill);
                run(point).map(at).sum::<f64>() / quantity as f64
            };
            let met = |point: i64| match line["target"]["measure"].as_str().unwrap() {
                "fill_rate" => served(point) >= target,
                _ if quantity == 1 => point >= -1 && within((point + 1) as usize) >= target,
                _ => point >= 0 && within(point as usize) >= target,
            };
            let first = if quantity == 1 { -1 } else { 0 };
            let point = (first..).find(|point| met(*point)).unwrap();
            let on_hand =
                run(point).map(|at| at as f64 - mean + owed(at)).sum::<f64>() / quantity as f64;
            let cost = price(quantity) * yearly
                + 8_500.0 * yearly / quantity as f64
                + 0.14 * price(quantity) * on_hand;
            if cost < best.0 {
                best = (cost, quantity, point);
            }
        }
        let (from, to) =
            (line["reorder_at"].as_i64().unwrap(), line["order_up_to"].as_i64().unwrap());
        assert_eq!((from, to - from), (best.2, best.1 as i64), "{model}");
        assert_eq!(number(&lot["value"]), best.1 as f64, "{model}");
        lots += u32::from(best.1 > 1);
    }
    assert!(lots > 3, "{lots}");
    // Fuse links are 0.95 each, and 0.66 from 500 on.
    let shown = plant.call("spares.model", json!({ "model": "MP-FU2A" }));
    assert!(
        shown["sum"].to_string().contains("since from 500 pieces on each costs 0.66"),
        "{shown}"
    );
}

/// What is handed out by the piece: the forecast of a month times months, each as foreseen, and all
/// off alike by the error of a mean.
#[test]
fn handed_out_pieces_are_bought_for_years_by_their_months() {
    let plant = with_model("", |_| {});
    let model = "MP-SIL24";
    let shown = plant.call("spares.model", json!({ "model": model }));
    let history = &shown["history"];
    let ask = json!({ "model": model, "last_order_on": "2027-06-30", "until": "2032-06-30" });
    let last = plant.call("spares.last_chance", ask);
    let days = (day(&last["until"]) - plant.now.date_naive()).num_days() as f64;
    let months = days / (365.25 / 12.0);
    let mean = months * number(&history["mean_per_month"]);
    near("asked for", number(&last["demand_mean"]), mean, 1e-6 * mean);
    // The four fifths in the middle hold the mean, and are about as wide as those of a sum of months,
    // each as uneven as those on record or as foreseen, whichever is wider.
    let (low, high) = (number(&last["demand_p10"]), number(&last["demand_p90"]));
    assert!(low < mean && mean < high + 1.0, "{low} {mean} {high}");
    let record: Vec<f64> =
        only(&history["months"], |_| true).iter().map(|it| number(&it["issued"])).collect();
    let n = record.len() as f64;
    let centre = record.iter().sum::<f64>() / n;
    let spread = record.iter().map(|it| (it - centre).powi(2)).sum::<f64>() / n;
    let foreseen = number(&history["high_per_month"]) - number(&history["mean_per_month"]);
    let spread = spread.max((foreseen / 1.2816).powi(2));
    let deviation = (months * spread * (1.0 + months / n)).sqrt();
    let seen = (high - low) / 2.563;
    assert!((0.6..1.7).contains(&(seen / deviation)), "{seen} for {deviation}");
    assert!(last["buy"].as_u64().unwrap() > 0 && last["runs_out_on"].is_string());
}

/// Cells keep for three years: no purchase helps longer, so nothing later is looked at.
#[test]
fn a_shelf_date_ends_what_a_last_purchase_can_do() {
    let plant = Plant::sample();
    let ask = json!({ "model": "MP-CEL1", "last_order_on": "2027-06-30" });
    let shown = plant.call("spares.last_chance", ask);
    let ends = day(&shown["shelf_until"]);
    assert!(ends < "2031-01-01".parse().unwrap() && shown["until"] == "2037-06-30", "{ends}");
    assert_eq!(day(&shown["years"].as_array().unwrap().last().unwrap()["until"]), ends);
    let planned = plant.call("spares.model", json!({ "model": "MP-CEL1" }));
    assert!(planned["lines"][0]["method"] == "planned");
    assert!(shown["notes"][0].as_str().unwrap().contains("past its shelf date"));
}
