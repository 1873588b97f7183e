//! The audit of a rail by photo: what is found, how it is settled, and what the journal keeps.

use serde_json::{Value, json};
use slotkeep_domain::journal::{Body, RailAudited};
use slotkeep_domain::photo::PhotoHash;
use slotkeep_domain::place::RailAddress;
use slotkeep_store::PHOTO_WAITS_D;
use slotkeep_tests::Plant;
use slotkeep_tests::made_photos::{Dice, MadePlace, Scene};
use std::collections::{BTreeMap, BTreeSet};

const RAIL: &str = "+K11.1";

/// The places of the first rail of +K11, as the register has them.
fn places(plant: &Plant) -> Vec<MadePlace> {
    let drawing = plant.call("place.cabinet", json!({ "cabinet": "+K11" }));
    let items = drawing["rails"][0]["items"].as_array().unwrap();
    let slots = items.iter().filter(|item| !item["slot"].is_null());
    slots
        .map(|item| MadePlace {
            x_mm: item["x_mm"].as_f64().unwrap(),
            width_mm: item["width_mm"].as_f64().unwrap(),
            body: item["slot"]["unit"].is_object(),
            label: item["slot"]["unit"]["label"].as_str().map(str::to_owned),
        })
        .collect()
}

fn exchange(places: &mut [MadePlace], a: usize, b: usize) {
    let (one, other) = (places[a].label.clone(), places[b].label.clone());
    (places[a].label, places[b].label) = (other, one);
}

/// What a photo of these places would be read as, seen straight from the front.
fn seen(places: &[MadePlace]) -> Value {
    let labels: Vec<Value> = places
        .iter()
        .filter_map(|place| {
            let (x, y) = ((place.x_mm + place.width_mm / 2.0) * 4.0, 200.0);
            let at = |dx: f64, dy: f64| json!({ "x": x + dx, "y": y + dy });
            let corners = [at(-20.0, -20.0), at(20.0, -20.0), at(20.0, 20.0), at(-20.0, 20.0)];
            Some(json!({ "text": place.label.as_ref()?, "corners": corners }))
        })
        .collect();
    json!({ "width_px": 2200, "height_px": 400, "labels": labels })
}

fn record(plant: &Plant, places: &[MadePlace]) -> Value {
    plant.call("audit.record", json!({ "rail": RAIL, "photos": [seen(places)] }))
}

fn slot<'a>(audit: &'a Value, number: &str) -> &'a Value {
    audit["slots"].as_array().unwrap().iter().find(|slot| slot["number"] == number).unwrap()
}

fn settle(audit: &Value, number: &str, how: &str) -> Value {
    json!({ "audit": audit["audit"], "slot": format!("{RAIL}.{number}"), "how": how })
}

fn show(plant: &Plant) -> Value {
    plant.call("audit.show", json!({ "rail": RAIL }))
}

fn place_of(plant: &Plant, label: &Value) -> Value {
    plant.call("unit.card", json!({ "unit": label }))["unit"]["place"].clone()
}

/// How many slots were found how, and how many are open.
fn counts(audit: &Value) -> String {
    let counts = audit["counts"].as_object().unwrap().iter();
    let said: Vec<String> =
        counts.filter(|(_, n)| **n != 0).map(|(found, n)| format!("{found} {n}")).collect();
    said.join(", ")
}

#[test]
fn a_made_photo_with_two_exchanged_and_one_label_missing_is_audited_and_settled() {
    let plant = Plant::sample();
    let mut made = places(&plant);
    exchange(&mut made, 6, 7);
    made[10].label = None;
    let mut scene = Scene::frame(3, 3.0, 500);
    (scene.width, scene.height) = (3300, 480);
    let photo = scene.draw_rail(&made);
    let reading = plant.send("label.read_photo", photo.jpeg.clone()).unwrap();
    let kept = plant.send("photo.add", photo.jpeg).unwrap();
    let labels: Vec<Value> = reading["found"]
        .as_array()
        .unwrap()
        .iter()
        .map(|found| {
            json!({ "text": found["thing"]["label"].as_str().unwrap_or_default(),
                    "confirm": found["confirm"], "corners": found["corners"] })
        })
        .collect();
    let rails: Vec<&Value> =
        reading["rails"].as_array().unwrap().iter().map(|rail| &rail["order"]).collect();
    let photos = json!([{ "photo": kept["photo"], "width_px": reading["width_px"],
                          "height_px": reading["height_px"], "labels": labels, "rails": rails }]);
    let look = plant.call("audit.look", json!({ "photos": photos }));
    assert_eq!((&look["rail"], &look["audit"]), (&json!(RAIL), &Value::Null));
    assert_eq!(counts(&look), "present 13, exchanged 2, missing 1, open 3", "{look:#}");
    assert_eq!(plant.call("audit.list", json!({ "cabinet": "+K11" }))[0]["at"], Value::Null);

    let audit = plant.call("audit.record", json!({ "rail": RAIL, "photos": photos }));
    assert_eq!(audit["photos"], json!([kept["photo"]]));
    let (a, b) = (&slot(&audit, "07")["registered"], &slot(&audit, "08")["registered"]);
    assert_eq!(slot(&audit, "07")["seen"]["label"], b["label"]);
    let done = plant.call("audit.settle", settle(&audit, "07", "exchanged"));
    assert!(done["message"].as_str().unwrap().contains("the register follows"), "{done}");
    assert_eq!(place_of(&plant, &a["label"]), "+K11.1.08");
    assert_eq!(place_of(&plant, &b["label"]), "+K11.1.07");
    let mut stands = settle(&audit, "11", "stands");
    stands["reprint"] = json!(true);
    plant.call("audit.settle", stands);
    let audit = show(&plant);
    assert_eq!(audit["counts"]["open"], 0);
    assert_eq!(slot(&audit, "08")["settled"]["how"], "exchanged");
    assert_eq!(slot(&audit, "11")["settled"]["reprint"], true);
    let history = plant.call("place.slot", json!({ "slot": "+K11.1.07" }))["history"].clone();
    assert_eq!(history[0]["photos"], json!([kept["photo"]]), "{history:#}");
    assert_eq!(history[0]["kind"], "audit-settled");
    let list = plant.call("audit.list", json!({ "cabinet": "+K11" }));
    assert_eq!((&list[0]["person"], &list[0]["counts"]["open"]), (&json!("tester"), &json!(0)));
    plant.verify_clean();
}

#[test]
fn the_hours_of_two_exchanged_units_go_on() {
    let mut plant = Plant::sample();
    let before = plant.call("journal.verify", json!({}));
    let mut made = places(&plant);
    exchange(&mut made, 6, 7);
    let audit = record(&plant, &made);
    plant.call("audit.settle", settle(&audit, "08", "exchanged"));
    let read = |label: &Value| {
        let label = slotkeep_domain::label::LabelCode::parse(label.as_str().unwrap()).unwrap();
        plant
            .api
            .store()
            .read(|r| r.stays())
            .unwrap()
            .into_iter()
            .filter(|stay| stay.unit == Some(label))
            .collect::<Vec<_>>()
    };
    for number in ["07", "08"] {
        let unit = &slot(&audit, number)["registered"];
        let stays = read(&unit["label"]);
        assert_eq!(stays.len(), 1, "{stays:?}");
        assert_eq!(json!(stays[0].from), unit["since"]);
        assert_eq!(stays[0].to, plant.now);
        let card = plant.call("unit.card", json!({ "unit": unit["label"] }));
        assert_eq!(card["unit"]["since"], json!(plant.now));
    }
    plant.now += chrono::Duration::days(1);
    let refusal = plant.refused("audit.settle", settle(&audit, "07", "exchanged"));
    assert!(refusal.message.contains("was settled by tester"), "{}", refusal.message);
    assert_eq!(before["clean"], true);
    plant.verify_clean();
}

#[test]
fn an_exchange_that_the_keys_forbid_is_refused_and_says_that_it_was_misread() {
    let plant = Plant::sample();
    let mut made = places(&plant);
    exchange(&mut made, 2, 3);
    let audit = record(&plant, &made);
    let way = &slot(&audit, "03")["ways"][0];
    assert_eq!(way["how"], "exchanged");
    assert!(way["refused"].as_str().unwrap().contains("cannot stand there"), "{way}");
    let refusal = plant.refused("audit.settle", settle(&audit, "03", "exchanged"));
    assert!(refusal.message.contains("read the labels again"), "{}", refusal.message);
    // Who looked may still say that all is as it was.
    plant.call("audit.settle", settle(&audit, "03", "stands"));
    plant.call("audit.settle", settle(&audit, "04", "stands"));
    assert_eq!(show(&plant)["counts"]["open"], 0);
    plant.verify_clean();
}

#[test]
fn a_unit_that_is_not_there_is_lost_and_gives_no_hours() {
    let plant = Plant::sample();
    let mut made = places(&plant);
    made[12].label = None;
    let audit = record(&plant, &made);
    assert_eq!(slot(&audit, "13")["found"], "missing");
    let label = &slot(&audit, "13")["registered"]["label"];
    plant.call("audit.settle", settle(&audit, "13", "not_there"));
    assert_eq!(place_of(&plant, label), "lost");
    let stays = plant.api.store().read(|r| r.stays());
    let of_unit = |stay: &&slotkeep_domain::register::Stay| {
        stay.unit.map(|unit| json!(unit.as_str())) == Some(label.clone())
    };
    assert_eq!(stays.unwrap().iter().filter(of_unit).count(), 0);
    plant.verify_clean();
}

/// A spare of a model on a shelf.
fn spare(plant: &Plant, model: &str) -> Value {
    let shelf = plant.call("stock.shelf", json!({}));
    let bins = shelf["storerooms"].as_array().unwrap().iter();
    bins.flat_map(|room| room["bins"].as_array().unwrap())
        .flat_map(|bin| bin["units"].as_array().unwrap())
        .find(|unit| unit["model"] == model)
        .unwrap_or_else(|| panic!("a spare {model}"))
        .clone()
}

#[test]
fn a_strange_unit_is_put_where_it_stands_or_was_taken_out() {
    let plant = Plant::sample();
    let strange = spare(&plant, "MP-AI08-C");
    let mut made = places(&plant);
    made[14].label = strange["label"].as_str().map(str::to_owned);
    let audit = record(&plant, &made);
    let found = slot(&audit, "15");
    assert_eq!(found["found"], "strange");
    let message = found["message"].as_str().unwrap();
    assert!(message.contains(strange["place"].as_str().unwrap()), "{message}");
    plant.call("audit.settle", settle(&audit, "15", "stands_here"));
    assert_eq!(place_of(&plant, &strange["label"]), "+K11.1.15");
    assert_eq!(place_of(&plant, &found["registered"]["label"]), "lost");
    plant.verify_clean();

    // The next photo shows it in the neighbouring slot, out of which it was taken at once.
    let mut made = places(&plant);
    made[13].label = made[14].label.take();
    let audit = record(&plant, &made);
    plant.call("audit.settle", settle(&audit, "14", "taken_out"));
    assert_eq!(place_of(&plant, &strange["label"]), "bench");
    let audit = show(&plant);
    assert_eq!(slot(&audit, "15")["found"], "empty");
    assert_eq!(audit["counts"]["open"], 0);
    plant.verify_clean();
}

#[test]
fn a_strange_unit_of_another_key_is_refused() {
    let plant = Plant::sample();
    let strange = spare(&plant, "MP-AI08-C");
    let mut made = places(&plant);
    made[2].label = strange["label"].as_str().map(str::to_owned);
    let audit = record(&plant, &made);
    let refusal = plant.refused("audit.settle", settle(&audit, "03", "stands_here"));
    assert!(refusal.message.contains("is keyed std AD"), "{}", refusal.message);
    assert_eq!(place_of(&plant, &strange["label"]), strange["place"]);
    let refusal = plant.refused("audit.settle", settle(&audit, "03", "left_open"));
    assert!(refusal.message.contains("say why"), "{}", refusal.message);
    let mut open = settle(&audit, "03", "left_open");
    open["note"] = json!("asked the shift that fitted it");
    plant.call("audit.settle", open);
    let audit = show(&plant);
    assert_eq!(audit["counts"]["open"], 1);
    assert_eq!(slot(&audit, "03")["settled"]["how"], "left_open");
    plant.call("audit.settle", settle(&audit, "03", "stands"));
    assert_eq!(show(&plant)["counts"]["open"], 0);
}

#[test]
fn nothing_is_settled_in_a_slot_with_a_swap_under_way() {
    let plant = Plant::sample();
    let mut made = places(&plant);
    exchange(&mut made, 14, 15);
    made[12].label = None;
    let audit = record(&plant, &made);
    let fits = plant.call("swap.candidates", json!({ "slot": "+K11.1.15" }));
    let start = json!({ "slot": "+K11.1.15", "unit": fits[0]["unit"]["label"] });
    let swap = plant.call("swap.start", start);
    assert_eq!(slot(&show(&plant), "15")["open_swap"], swap["swap"]);
    for number in ["15", "16"] {
        let refusal = plant.refused("audit.settle", settle(&audit, number, "exchanged"));
        assert!(refusal.message.contains("a swap is under way"), "{}", refusal.message);
    }
    // What the swap takes is not booked elsewhere meanwhile.
    let mut here = settle(&audit, "13", "stands_here");
    here["unit"] = fits[0]["unit"]["label"].clone();
    let refusal = plant.refused("audit.settle", here);
    assert!(refusal.message.contains("finish it or give it up"), "{}", refusal.message);
}

#[test]
fn what_the_register_changed_since_is_not_settled_by_old_photos() {
    let plant = Plant::sample();
    let mut made = places(&plant);
    exchange(&mut made, 6, 7);
    made[12].label = None;
    let audit = record(&plant, &made);
    let label = &slot(&audit, "07")["registered"]["label"];
    let removal = json!({ "unit": label, "removal": { "to": "bench", "condition": "suspect" } });
    plant.call("unit.remove", removal);
    for number in ["07", "08"] {
        let refusal = plant.refused("audit.settle", settle(&audit, number, "exchanged"));
        assert!(refusal.message.contains("take new photos"), "{}", refusal.message);
    }
    let again = record(&plant, &places(&plant));
    let refusal = plant.refused("audit.settle", settle(&audit, "13", "stands"));
    assert!(refusal.message.contains("was audited again by tester"), "{}", refusal.message);
    assert_ne!(again["audit"], audit["audit"]);
    plant.verify_clean();
}

#[test]
fn a_label_that_nothing_carries_is_strange_and_registers_nothing() {
    let plant = Plant::sample();
    let unknown = slotkeep_tests::made_photos::label(1);
    let mut made = places(&plant);
    made[5].label = Some(unknown.to_string());
    let audit = record(&plant, &made);
    let found = slot(&audit, "06");
    assert_eq!((&found["found"], &found["seen"]), (&json!("strange"), &Value::Null));
    let refusal = plant.refused("audit.settle", settle(&audit, "06", "stands_here"));
    assert!(refusal.message.contains("is not in the register"), "{}", refusal.message);
    plant.call("audit.settle", settle(&audit, "06", "taken_out"));
    assert_eq!(show(&plant)["counts"]["open"], 0);
    plant.verify_clean();
}

#[test]
fn a_guess_is_no_confirmation_and_the_same_photo_twice_is_one_witness() {
    let plant = Plant::sample();
    let mut photo = seen(&places(&plant));
    photo["labels"][5]["confirm"] = json!(true);
    let look = |photos: Value| plant.call("audit.look", json!({ "rail": RAIL, "photos": photos }));
    for photos in [json!([photo]), json!([photo, photo])] {
        let look = look(photos);
        assert_eq!(counts(&look), "present 15, unreadable 1, open 1");
        assert_eq!(look["pictures"], 1);
        let message = slot(&look, "06")["message"].as_str().unwrap();
        assert!(message.contains("too poor to prove anything"), "{message}");
    }
    // Another photo that recognises the same is a second witness.
    let mut other = photo.clone();
    for label in other["labels"].as_array_mut().unwrap() {
        for corner in label["corners"].as_array_mut().unwrap() {
            corner["y"] = json!(corner["y"].as_f64().unwrap() + 30.0);
        }
    }
    assert_eq!(counts(&look(json!([photo, other]))), "present 16");
}

#[test]
fn a_photo_of_a_part_says_that_the_rest_was_not_looked_at() {
    let plant = Plant::sample();
    let mut photo = seen(&places(&plant)[..8]);
    photo["width_px"] = json!(1290);
    let look = plant.call("audit.look", json!({ "photos": [photo] }));
    assert_eq!(counts(&look), "present 8, not_covered 8");
    assert!(look["message"].as_str().unwrap().ends_with("8 not looked at"), "{look}");
}

#[test]
fn photos_that_show_no_rail_no_picture_or_too_much_are_refused() {
    let plant = Plant::sample();
    let refusal = plant.refused("audit.look", json!({ "photos": [] }));
    assert!(refusal.message.contains("take one"), "{}", refusal.message);
    let refusal = plant.refused("audit.look", json!({ "photos": [{ "labels": [] }] }));
    assert!(refusal.message.contains("which rail"), "{}", refusal.message);
    let many = vec![json!({ "labels": [] }); 21];
    let refusal = plant.refused("audit.look", json!({ "rail": RAIL, "photos": many }));
    assert!(refusal.message.contains("at most 20"), "{}", refusal.message);
    let mut photo = seen(&places(&plant));
    photo["photo"] = json!("0".repeat(64));
    let refusal = plant.refused("audit.record", json!({ "rail": RAIL, "photos": [photo] }));
    assert!(refusal.message.contains("0000"), "{}", refusal.message);
    let refusal = plant.send("photo.add", b"no picture".to_vec()).unwrap_err();
    assert!(refusal.message.contains("choose a JPEG"), "{}", refusal.message);
}

/// Photos are kept with a copy of the store, and those that any audit names are looked for.
#[test]
fn a_copy_has_the_photos_and_verify_misses_what_is_not_there() {
    let plant = Plant::sample();
    let kept = plant.send("photo.add", Scene::frame(1, 3.0, 50).draw().jpeg).unwrap();
    let mut photo = seen(&places(&plant));
    photo["photo"] = kept["photo"].clone();
    let audit = plant.call("audit.record", json!({ "rail": RAIL, "photos": [photo] }));
    assert_eq!(slot(&audit, "05")["photo"], kept["photo"]);
    // The next audit takes its place; its photo is kept all the same.
    record(&plant, &places(&plant));
    plant.verify_clean();
    let copy = plant.folder.path().join("copy.sqlite");
    plant.api.store().back_up(&copy).unwrap();
    let mut restored = Plant::empty();
    restored.api = slotkeep_api::Api::new(slotkeep_store::Store::open(&copy).unwrap());
    restored.verify_clean();
    let shown = restored.file("photo.show", json!({ "photo": kept["photo"] }));
    assert_eq!(shown.len() as u64, kept["bytes"].as_u64().unwrap());

    let gone = PhotoHash::parse(&"0".repeat(64)).unwrap();
    let body = Body::RailAudited(RailAudited {
        rail: RailAddress::parse(RAIL).unwrap(),
        pictures: 1,
        photos: vec![gone.clone()],
        findings: Vec::new(),
        loose: Vec::new(),
        note: String::new(),
    });
    plant.record(None, body).unwrap();
    let report = plant.call("journal.verify", json!({}));
    assert_eq!(report["count"], 1, "{report:#}");
    assert_eq!(report["differences"][0]["place"], format!("photo {gone}"));
}

/// Three that stand in a ring change places in one entry, and none of them is lost on the way.
#[test]
fn three_in_a_ring_are_one_exchange() {
    let plant = Plant::sample();
    let mut made = places(&plant);
    let label = |at: usize| made[at].label.clone();
    let ring = [label(13), label(14), label(15)];
    for (at, unit) in [(13, &ring[1]), (14, &ring[2]), (15, &ring[0])] {
        made[at].label = unit.clone();
    }
    let audit = record(&plant, &made);
    assert_eq!(counts(&audit), "present 13, exchanged 3, open 3");
    assert_eq!(slot(&audit, "14")["with"], "+K11.1.16");
    plant.call("audit.settle", settle(&audit, "15", "exchanged"));
    for (unit, there) in ring.iter().zip(["+K11.1.16", "+K11.1.14", "+K11.1.15"]) {
        assert_eq!(place_of(&plant, &json!(unit)), there);
        let history = plant.call("unit.card", json!({ "unit": unit }))["history"].clone();
        assert_eq!(history[0]["kind"], "audit-settled");
    }
    assert_eq!(show(&plant)["counts"]["open"], 0);
    plant.verify_clean();
}

/// A unit that stands one slot further on is booked there before its own slot says that it is gone.
#[test]
fn a_unit_seen_in_another_slot_is_not_lost_on_the_way() {
    let plant = Plant::sample();
    let mut made = places(&plant);
    made[15].label = made[14].label.take();
    let audit = record(&plant, &made);
    assert_eq!(slot(&audit, "15")["found"], "missing");
    let way = &slot(&audit, "15")["ways"][1];
    assert_eq!(way["how"], "not_there");
    assert!(way["refused"].as_str().unwrap().contains("settle slot +K11.1.16 first"), "{way}");
    plant.refused("audit.settle", settle(&audit, "15", "not_there"));
    plant.call("audit.settle", settle(&audit, "16", "stands_here"));
    let unit = &slot(&audit, "15")["registered"]["label"];
    assert_eq!(place_of(&plant, unit), "+K11.1.16");
    let audit = show(&plant);
    assert_eq!(slot(&audit, "15")["found"], "empty");
    assert_eq!(audit["counts"]["open"], 0);
    plant.verify_clean();
}

/// A few labels in photos seen from aside; one unit stands one slot further than the register has
/// it. Seeds and shares are of our making.
#[test]
fn a_unit_one_slot_further_on_never_counts_as_present() {
    let plant = Plant::sample();
    let all = places(&plant);
    let mut dice = Dice(2026);
    let mut found: BTreeMap<(u64, &str, String), u32> = BTreeMap::new();
    for seed in 0..400 {
        let labels = 2 + seed % 6;
        let mut made = all.clone();
        let mut shown: BTreeSet<usize> = BTreeSet::new();
        while shown.len() < labels as usize {
            shown.insert((dice.roll() % all.len() as u64) as usize);
        }
        for at in (0..all.len()).filter(|at| !shown.contains(at)) {
            (made[at].body, made[at].label) = (false, None);
        }
        let free = |at: usize| at < all.len() && !shown.contains(&at);
        let beside = shown.iter().flat_map(|at| [(*at, at.wrapping_sub(1)), (*at, at + 1)]);
        let moves: Vec<(usize, usize)> = beside.filter(|(_, to)| free(*to)).collect();
        let (from, to) = moves[(dice.roll() % moves.len() as u64) as usize];
        let mut moved = made.clone();
        moved[to].body = true;
        moved[to].label = moved[from].label.take();
        let scene = Scene { width: 3300, height: 480, ..Scene::frame(seed, 3.0, 500) };
        for (what, places) in [("in its slot", &made), ("one further", &moved)] {
            let labels_seen: Vec<Value> = scene
                .seen_rail(places)
                .into_iter()
                .map(|label| {
                    let corner = |(x, y): (f64, f64)| json!({ "x": x, "y": y });
                    json!({ "text": label.text, "corners": label.corners.map(corner) })
                })
                .collect();
            let photo = json!({ "width_px": 3300, "height_px": 480, "labels": labels_seen });
            let look = plant.call("audit.look", json!({ "rail": RAIL, "photos": [photo] }));
            let said = look["slots"][from]["found"].as_str().unwrap().to_owned();
            *found.entry((labels, what, said)).or_default() += 1;
        }
    }
    let of = |what: &str, said: &str| -> u32 {
        let found = found.iter().filter(|((_, w, s), _)| *w == what && s == said);
        found.map(|(_, count)| *count).sum()
    };
    assert_eq!(of("one further", "present"), 0, "{found:#?}");
    assert!(of("in its slot", "present") > 280, "{found:#?}");
}

/// A made photo of nothing of this rail, kept.
fn kept(plant: &Plant, seed: u64) -> Value {
    let photo = Scene { width: 640, height: 360, ..Scene::frame(seed, 3.0, 50) }.draw();
    plant.send("photo.add", photo.jpeg).unwrap()["photo"].clone()
}

fn is_kept(plant: &Plant, photo: &Value) -> bool {
    let hash = PhotoHash::parse(photo.as_str().unwrap()).unwrap();
    plant.api.store().read(|r| r.has_photo(&hash)).unwrap()
}

/// Records an audit with a kept photo; `queued`: it comes from an outbox.
fn with_photo(plant: &Plant, photo: &Value, queued: bool) -> Value {
    let mut seen = seen(&places(plant));
    seen["photo"] = photo.clone();
    json!({ "rail": RAIL, "photos": [seen], "queued": queued })
}

#[test]
fn photos_of_an_audit_that_is_thrown_away_go_and_those_that_a_record_names_stay() {
    let plant = Plant::sample();
    let (named, thrown) = (kept(&plant, 1), kept(&plant, 2));
    plant.call("audit.record", with_photo(&plant, &named, false));
    let drop = json!({ "photos": [named, thrown] });
    assert_eq!(plant.call("photo.drop", drop.clone())["dropped"], 1);
    assert_eq!((is_kept(&plant, &named), is_kept(&plant, &thrown)), (true, false));
    assert_eq!(plant.call("photo.drop", drop)["dropped"], 0);
    plant.verify_clean();
    // A photo that went is no photo of a record, until it is added again.
    let refusal = plant.refused("audit.record", with_photo(&plant, &thrown, false));
    assert!(refusal.message.contains("add it first"), "{}", refusal.message);
    assert_eq!(kept(&plant, 2), thrown);
    plant.call("audit.record", with_photo(&plant, &thrown, false));
    assert_eq!(plant.call("photo.drop", json!({ "photos": [thrown] }))["dropped"], 0);
    plant.verify_clean();
    let refusal = plant.refused("photo.drop", json!({ "photos": ["no name"] }));
    assert!(refusal.message.contains("names no photo"), "{}", refusal.message);
}

/// An audit that waits in an outbox names photos that the store has and no entry names yet.
#[test]
fn a_photo_waits_for_an_audit_in_an_outbox_and_goes_after_long() {
    let mut plant = Plant::sample();
    let (waits, forgotten) = (kept(&plant, 1), kept(&plant, 2));
    let record = with_photo(&plant, &waits, true);
    plant.now += chrono::Duration::days(PHOTO_WAITS_D - 1);
    let other = kept(&plant, 3);
    plant.call("audit.record", record);
    plant.now += chrono::Duration::days(2);
    // One that is added again waits anew.
    assert_eq!(kept(&plant, 3), other);
    assert_eq!((is_kept(&plant, &waits), is_kept(&plant, &forgotten)), (true, false));
    plant.now += chrono::Duration::days(PHOTO_WAITS_D - 1);
    kept(&plant, 4);
    assert!(is_kept(&plant, &other));
    plant.verify_clean();
}

/// A record from an outbox that no longer fits keeps its photo until it is settled.
#[test]
fn a_photo_of_a_record_that_was_set_aside_stays_until_it_is_settled() {
    let mut plant = Plant::sample();
    let photo = kept(&plant, 1);
    let mut record = with_photo(&plant, &photo, true);
    record["rail"] = json!("+K11.9");
    let aside = plant.refused("audit.record", record);
    assert_eq!(aside.kind, slotkeep_api::FailureKind::SetAside);
    assert_eq!(plant.call("photo.drop", json!({ "photos": [photo] }))["dropped"], 0);
    plant.now += chrono::Duration::days(PHOTO_WAITS_D + 1);
    kept(&plant, 2);
    assert!(is_kept(&plant, &photo));
    let lines = plant.call("journal.set_aside", json!({}));
    let settled = json!({ "record": lines[0]["id"], "settled": "the rail was misspelt" });
    plant.call("journal.settle", settled);
    kept(&plant, 3);
    assert!(!is_kept(&plant, &photo));
    plant.verify_clean();
}
