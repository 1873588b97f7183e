//! What the order list does with stand-ins, with what is no longer sold, and with lots.

use serde_json::{Value, json};
use slotkeep_tests::{Plant, files_of, only, root};

/// A sample site with its catalogue altered.
fn altered(change: impl Fn(&mut Vec<Value>)) -> Plant {
    let plant = Plant::empty();
    let mut files = files_of(&root().join("sample-site"));
    let file = files.iter_mut().find(|file| file["name"] == "models.json").unwrap();
    let mut catalogue: Value = serde_json::from_str(file["text"].as_str().unwrap()).unwrap();
    change(catalogue["models"].as_array_mut().unwrap());
    file["text"] = json!(catalogue.to_string());
    plant.call("site.import", json!({ "files": files }));
    plant
}

fn set<'m>(models: &'m mut [Value], part_no: &str) -> &'m mut Value {
    models.iter_mut().find(|model| model["part_no"] == part_no).unwrap()
}

fn line(plant: &Plant, model: &str) -> Value {
    plant.call("spares.table", json!({ "model": model, "storeroom": "ST1" }))["lines"][0].clone()
}

fn number(line: &Value, field: &str) -> u64 {
    line[field].as_u64().unwrap()
}

fn reason(line: &Value) -> &str {
    line["reason"].as_str().unwrap()
}

/// Keeps all of a model that lies in ST1 for something else, but for some pieces.
fn use_up(plant: &Plant, model: &str, but: u64) {
    for unit in plant.call("stock.pick", json!({ "model": model, "pieces": 99 }))["takes"]
        .as_array()
        .unwrap()
        .iter()
        .skip(usize::try_from(but).unwrap())
    {
        let kept = json!({ "unit": unit["label"], "for_what": "Another plant" });
        plant.call("stock.reserve", kept);
    }
}

const WANTED: &str = "MP-AI08-C";
const STAND_IN: &str = "MP-AI08X-C";

#[test]
fn free_pieces_of_a_stand_in_take_the_place_of_an_order() {
    let plant = Plant::sample();
    use_up(&plant, WANTED, 0);
    let with = line(&plant, WANTED);
    assert_eq!((number(&with, "order_now"), number(&with, "stand_ins")), (0, 1), "{with}");
    assert!(reason(&with).contains("1 free to stand in: nothing to order"), "{with}");
    assert!(reason(&with).contains("MP-AI08X-C has 2 more than its own places need"), "{with}");
    let now = |line: &Value, of: &str| line[of]["no_stock_out"].as_f64().unwrap();
    assert!(now(&with, "with_stand_ins") >= 0.99 && now(&with, "now") < 0.99, "{with}");

    // The same plant without the stand-in, or with one that must not be counted.
    let orders = |change: &dyn Fn(&mut Vec<Value>)| {
        let plant = altered(change);
        use_up(&plant, WANTED, 0);
        line(&plant, WANTED)
    };
    let none = orders(&|models| set(models, WANTED)["substitutes"] = json!([]));
    assert_eq!((number(&none, "order_now"), number(&none, "stand_ins")), (1, 0), "{none}");
    let recalled = orders(&|models| set(models, STAND_IN)["lifecycle"] = json!("recalled"));
    assert_eq!(number(&recalled, "order_now"), 1, "{recalled}");
    assert!(recalled["notes"].to_string().contains("its maker has recalled it"), "{recalled}");
    let wrong_way = orders(&|models| {
        set(models, WANTED)["substitutes"] = json!([]);
        set(models, STAND_IN)["substitutes"] = json!([WANTED]);
    });
    assert_eq!(number(&wrong_way, "order_now"), 1, "one way only: {wrong_way}");
}

#[test]
fn what_a_stand_in_needs_itself_is_not_lent() {
    let plant = Plant::sample();
    use_up(&plant, WANTED, 0);
    let own = line(&plant, STAND_IN);
    let free = number(&line(&plant, WANTED), "substitutes");
    assert_eq!(free, 2);
    use_up(&plant, STAND_IN, number(&own, "on_hand") - free);
    let lacking = line(&plant, WANTED);
    assert_eq!((number(&lacking, "substitutes"), number(&lacking, "order_now")), (0, 1));
    assert_eq!(number(&line(&plant, STAND_IN), "order_now"), 0, "it still has what it needs");
}

/// Another model that the same stand-in may help, wanted in many places soon.
#[test]
fn one_free_piece_saves_one_piece_of_one_order() {
    let plant = altered(|models| {
        let mut twin = set(models, WANTED).clone();
        twin["part_no"] = json!("MP-AI08Y-C");
        models.push(twin);
    });
    let soon = plant.now.date_naive() + chrono::Duration::days(1);
    let plan = json!({ "model": "MP-AI08Y-C", "on": soon, "installed_change": 10,
                       "reason": "New rail" });
    plant.call("spares.plan_change", plan);
    let class = json!({ "model": "MP-AI08Y-C", "class": "vital", "reason": "It guards the pumps" });
    plant.call("spares.choose", class);
    use_up(&plant, WANTED, 0);
    let free = number(&line(&plant, WANTED), "substitutes");
    let counted = |plant: &Plant| {
        let (one, other) = (line(plant, WANTED), line(plant, "MP-AI08Y-C"));
        let pieces = |field: &str| number(&one, field) + number(&other, field);
        (pieces("stand_ins"), pieces("order_now"))
    };
    let (saved, ordered) = counted(&plant);
    assert_eq!((saved, ordered, free), (2, 0, 2), "each lacks a piece, and two are free");
    use_up(&plant, STAND_IN, number(&line(&plant, STAND_IN), "on_hand") - 1);
    assert_eq!(number(&line(&plant, WANTED), "substitutes"), 1);
    let (saved, fewer) = counted(&plant);
    assert_eq!(saved, 1, "both lack a piece, and one is free");
    assert_eq!(fewer, ordered + 1);
}

#[test]
fn what_is_no_longer_sold_is_ordered_as_its_stand_in() {
    let plant = Plant::sample();
    let (gone, bought) = ("MP-DO08R-C", "MP-DO08S-C");
    let old = line(&plant, gone);
    assert_eq!(number(&old, "order_now"), 0, "nobody sells it: {old}");
    let lacking = number(&old, "lacking");
    assert!(lacking > 0 && old["ordered_as"] == bought, "{old}");
    assert!(reason(&old).contains("it is no longer made, so order 2 of MP-DO08S-C"), "{old}");
    let new = line(&plant, bought);
    assert_eq!(number(&new, "order_now"), lacking);
    assert_eq!(new["ordered_for"], json!([gone]));
    assert!(reason(&new).contains("2 in place of MP-DO08R-C (vital), no longer sold"), "{new}");
    let to_order = plant.call("spares.table", json!({ "to_order": true }));
    let named = |model: &str| only(&to_order["lines"], |line| line["model"] == model).len();
    assert_eq!((named(gone), named(bought)), (0, 1), "it is ordered once");
    // The sum of the model's page ends in the same number.
    let opened = plant.call("spares.model", json!({ "model": bought }))["sum"][0].clone();
    assert_eq!(opened["value"].as_f64(), Some(lacking as f64), "{opened}");

    // Once it is on order nothing more is asked for.
    let order = json!({ "model": bought, "storeroom": "ST1", "quantity": lacking, "reason": "x" });
    plant.call("order.place", order);
    assert_eq!(number(&line(&plant, bought), "order_now"), 0);
    let after = line(&plant, gone);
    assert_eq!((number(&after, "lacking"), number(&after, "order_now")), (0, 0), "{after}");

    // The budget round buys by the same rule.
    let round = Plant::sample().call("spares.budget", json!({ "budget_cents": 5_000_000 }));
    let bought_of =
        |model: &str| only(&round["best"]["purchases"], |it| it["model"] == model).len();
    assert_eq!((bought_of(gone), bought_of(bought)), (0, 1), "{round}");
}

/// Free pieces of stand-ins are held by whoever they count for in the order list, and by nobody else.
#[test]
fn a_budget_round_counts_each_free_piece_once() {
    // So much money buys some of everything that may ever be asked for.
    let round =
        |plant: &Plant| plant.call("spares.budget", json!({ "budget_cents": 10_000_000_000_i64 }));
    let first = |plant: &Plant, model: &str| {
        let round = round(plant);
        let bought = only(&round["best"]["purchases"], |it| it["model"] == model);
        (number(bought[0], "held"), round["present"].clone())
    };
    // It fails so often that more than what lies there may be asked for.
    let often = |models: &mut Vec<Value>| set(models, STAND_IN)["failure_rate_fit"] = json!(11_200);
    let plant = altered(often);
    use_up(&plant, WANTED, 0);
    let counted = number(&line(&plant, WANTED), "stand_ins");
    assert_eq!(counted, 1);
    let apart = altered(|models| {
        often(models);
        set(models, WANTED)["substitutes"] = json!([]);
    });
    use_up(&apart, WANTED, 0);
    let (held, present) = first(&plant, WANTED);
    let (alone, worth) = first(&apart, WANTED);
    assert_eq!((held, alone), (counted, 0));
    let (lender, _) = first(&plant, STAND_IN);
    let (whole, _) = first(&apart, STAND_IN);
    assert_eq!(lender, whole - counted, "what is lent is no longer its own");
    assert_eq!(present["stock_cents"], worth["stock_cents"], "no piece is worth more than once");
    let owed = |present: &Value| present["backorders"].as_f64().unwrap();
    assert!(owed(&present) < owed(&worth), "{present} beside {worth}");
    // The sum of a choice opens down to what is held, and of that what stands in.
    let round = round(&plant);
    let of = only(&round["best"]["purchases"], |it| it["model"] == WANTED)[0];
    assert_eq!((number(of, "held"), number(of, "stand_ins")), (counted, counted), "{of}");
    let opened = only(&round["best"]["sum"][0]["parts"], |part| {
        part["what"].as_str().unwrap().ends_with(WANTED)
    })[0];
    let before = &opened["parts"][0]["parts"];
    assert_eq!(before[1]["what"], "Free pieces of stand-ins that count", "{opened}");
    assert_eq!(before[1]["value"].as_f64(), Some(counted as f64));
}

#[test]
fn a_stand_in_is_as_critical_as_what_it_has_taken_over() {
    let (gone, bought) = ("MP-DO08R-C", "MP-DO08S-C");
    let plant = Plant::sample();
    let (old, new) = (line(&plant, gone), line(&plant, bought));
    assert_eq!((&old["class"], &new["class"]), (&json!("vital"), &json!("vital")), "{new}");
    assert_eq!((&new["class_from_model"], &old["class_from_model"]), (&json!(gone), &Value::Null));
    assert_eq!(new["class_from_slot"], old["class_from_slot"], "the slot that makes it vital");
    assert_eq!(new["target"], old["target"]);
    let why = format!("Vital in place of {gone} in {}", old["class_from_slot"].as_str().unwrap());
    assert!(reason(&new).starts_with(&why), "{new}");
    // While its maker sells it, the other one is bought for its own places.
    let sold = altered(|models| set(models, gone)["lifecycle"] = json!("active"));
    let own = line(&sold, bought);
    assert!(own["class_from_model"].is_null() && own["class"] != "vital", "{own}");
    // What follows for the stand-in follows at once, and what a person chooses stands.
    let class = |model: &str, class: &str| {
        plant.call("spares.choose", json!({ "model": model, "class": class, "reason": "Try" }));
        line(&plant, bought)
    };
    let milder = class(gone, "essential");
    assert_eq!((&milder["class"], &milder["class_from_slot"]), (&json!("essential"), &Value::Null));
    assert!(reason(&milder).starts_with("Essential in place of MP-DO08R-C, which"), "{milder}");
    let chosen = class(bought, "desirable");
    assert_eq!(
        (&chosen["class"], &chosen["class_from_model"]),
        (&json!("desirable"), &Value::Null)
    );
}

/// The own need of a stand-in is ordered with what it is ordered for.
#[test]
fn the_order_of_a_stand_in_is_merged_with_its_own() {
    let (gone, bought) = ("MP-DO08R-C", "MP-DO08S-C");
    let plant = Plant::sample();
    let instead = number(&line(&plant, bought), "order_now");
    let level =
        json!({ "model": bought, "reorder_at": 3, "order_up_to": 4, "reason": "Own places" });
    plant.call("spares.choose", level);
    let both = line(&plant, bought);
    let there = number(&both, "on_hand");
    // What was free for the other before is now its own.
    assert_eq!(number(&both, "order_now"), (4 - there) + instead + there, "{both}");
    assert_eq!(number(&line(&plant, gone), "stand_ins"), 0);
}

#[test]
fn where_nothing_can_be_ordered_the_line_says_so_and_what_to_do() {
    let gone = "MP-DO08R-C";
    let plant = altered(|models| set(models, gone)["substitutes"] = json!([]));
    let old = line(&plant, gone);
    assert_eq!((number(&old, "order_now"), &old["ordered_as"]), (0, &Value::Null));
    assert!(number(&old, "lacking") > 0, "{old}");
    for said in ["nothing can be ordered", "names no model", "name a substitute in the catalogue"] {
        assert!(reason(&old).contains(said), "{said:?} is not said by {old}");
    }
    let to_order = plant.call("spares.table", json!({ "to_order": true }));
    assert_eq!(only(&to_order["lines"], |line| line["model"] == gone).len(), 1, "it is shown");
    let rekeyed = altered(|models| {
        // Nothing stands in a slot of another key.
        set(models, "MP-DO08S-C")["lifecycle"] = json!("recalled");
    });
    let old = line(&rekeyed, gone);
    assert!(reason(&old).contains("MP-DO08S-C may not stand in, since its maker"), "{old}");
}

#[test]
fn a_stand_in_of_which_there_was_nothing_yet_gets_a_line() {
    let plant = altered(|models| {
        let mut new = set(models, "MP-DO08S-C").clone();
        new["part_no"] = json!("MP-DO08T-C");
        new["maker_codes"] = json!([]);
        models.push(new);
        set(models, "MP-DO08R-C")["substitutes"] = json!(["MP-DO08T-C"]);
    });
    let new = line(&plant, "MP-DO08T-C");
    assert_eq!(number(&new, "order_now"), number(&line(&plant, "MP-DO08R-C"), "lacking"));
    assert_eq!(new["on_hand"], json!(0));
}

#[test]
fn the_reason_says_why_a_lot_is_as_large_as_it_is() {
    let supply = "MP-PS03";
    let ordered = |plant: &Plant| {
        use_up(plant, supply, 0);
        line(plant, supply)
    };
    let plain = ordered(&Plant::sample());
    assert!(reason(&plain).contains("at a time cost least, orders and shelf together"), "{plain}");
    let why = |field: &str, value: Value| {
        let plant = altered(|models| set(models, supply)[field] = value.clone());
        reason(&ordered(&plant)).to_owned()
    };
    let least = why("min_order", json!(6));
    assert!(least.contains("6 at a time") && least.contains("fewer than 6"), "{least}");
    let pack = why("pack_size", json!(5));
    assert!(pack.contains("5 at a time, in packs of 5"), "{pack}");
    let cheap = json!([{ "from": 4, "price_cents": 9000 }]);
    let price = why("price_breaks", cheap);
    assert!(price.contains("since from 4 pieces on each costs 90.00"), "{price}");
    for sentence in [&least, &pack, &price] {
        assert!(!reason(&plain).contains(sentence.as_str()));
    }
    assert!(!reason(&plain).contains("packs") && !reason(&plain).contains("fewer than"), "{plain}");
}

/// Pieces that are scrapped were not asked for by work: neither history nor level moves.
#[test]
fn scrapped_pieces_are_no_demand() {
    let model = "MP-FER075";
    let figures = |plant: &Plant| {
        let shown = plant.call("spares.model", json!({ "model": model }));
        let last = shown["history"]["months"].as_array().unwrap().last().unwrap().clone();
        (last, shown["lines"][0]["lead_demand"].clone())
    };
    let taken = |command: &str, input: Value| {
        let plant = Plant::sample();
        plant.call(command, input);
        figures(&plant)
    };
    let before = figures(&Plant::sample());
    // In the last full month, since the one that runs is no history yet.
    let lot = json!({ "lot": "F-075-26", "quantity": 15, "happened_at": "2026-10-15T09:00:00Z" });
    let mut scrapped = lot.clone();
    scrapped["reason"] = json!("Wet");
    assert_eq!(taken("stock.scrap", scrapped), before);
    let mut issued = lot;
    issued["to"] = json!("Technician 1");
    assert_ne!(taken("stock.issue", issued), before, "handed out, the same pieces are demand");
}
