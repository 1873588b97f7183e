//! Writes a small store of the present version, with every kind of work in it, as a fixture.
//!
//! `cargo run -p slotkeep-tests --bin freeze-store -- v1` once for each version, before the next
//! migration is written; a frozen store is never made again.

use serde_json::{Value, json};
use slotkeep_tests::made_photos::Scene;
use slotkeep_tests::{Plant, root};
use slotkeep_xtask::make_site::{Size, files};

fn main() {
    let version = std::env::args().nth(1).expect("the name of the version, e.g. v1");
    let plant = Plant::empty();
    let site: Vec<Value> = files(&Size::units(50, 60), 11)
        .into_iter()
        .map(|(name, text)| json!({ "name": name, "text": text }))
        .collect();
    plant.call("site.import", json!({ "files": site }));
    work(&plant);
    let photos = audit(&plant);
    plant.verify_clean();
    let folder = root().join("tests/fixtures/store");
    let name = format!("{version}.sqlite");
    plant.api.store().back_up(&folder.join(&name)).expect("a new file");
    let report = plant.call("journal.verify", json!({}));
    let list = folder.join("frozen.json");
    let text = std::fs::read_to_string(&list).unwrap_or_else(|_| "[]".to_owned());
    let mut frozen: Vec<Value> = serde_json::from_str(&text).expect("a list");
    frozen.push(json!({
        "file": name,
        "entries": report["entries"],
        "head": report["head"],
        "counts": plant.call("site.summary", json!({}))["counts"],
        "photos": photos,
    }));
    let text = serde_json::to_string_pretty(&frozen).expect("JSON");
    std::fs::write(&list, text + "\n").expect("written");
}

/// A little of everything that people record.
fn work(plant: &Plant) {
    plant.call("people.set", json!({ "name": "night shift", "roles": ["technician"] }));
    let invite = plant.call("device.invite", json!({ "person": "night shift", "title": "phone" }));
    plant.call("device.withdraw", json!({ "device": invite["device"], "reason": "lost" }));
    let shelf = plant.call("stock.shelf", json!({}));
    let bins: Vec<&Value> = shelf["storerooms"]
        .as_array()
        .into_iter()
        .flatten()
        .flat_map(|room| room["bins"].as_array().into_iter().flatten())
        .collect();
    let stocked = bins.iter().find(|bin| bin["lots"][0]["pieces"].as_u64() > Some(3));
    if let Some(bin) = stocked {
        let lot = &bin["lots"][0];
        let other = bins.iter().find(|other| other["path"] != bin["path"]).expect("two bins");
        let with = |more: Value| {
            let mut input = json!({ "lot": lot["label"], "bin": bin["path"] });
            input
                .as_object_mut()
                .expect("fields")
                .extend(more.as_object().cloned().expect("fields"));
            input
        };
        plant.call("stock.count", with(json!({ "quantity": 30, "note": "stocktake" })));
        if lot["expired"] == false && lot["quarantined"] == false {
            let out = json!({ "quantity": 1, "to": "workshop", "later_reason": "opened already" });
            plant.call("stock.issue", with(out));
        }
        plant.call("stock.scrap", with(json!({ "quantity": 1, "reason": "dented" })));
        let moved =
            json!({ "lot": lot["label"], "from": bin["path"], "to": other["path"], "quantity": 2 });
        plant.call("stock.move", moved);
        let order = json!({ "model": lot["model"], "storeroom": "ST1", "quantity": 5 });
        let placed = plant.call("order.place", order);
        plant.call("order.close", json!({ "order": placed["entry"], "reason": "not delivered" }));
    }
    let units: Vec<&Value> =
        bins.iter().flat_map(|bin| bin["units"].as_array().into_iter().flatten()).collect();
    if let Some(unit) = units.first() {
        plant.call(
            "unit.move",
            json!({ "unit": unit["label"], "to": "bench", "condition": "suspect", "reason": "test" }),
        );
        plant.call("journal.note", json!({ "subject": unit["label"], "text": "smells burnt" }));
    }
    let from = "2026-11-01T06:00:00Z";
    let off = json!({ "scope": "site", "from": from, "to": "2026-11-01T18:00:00Z" });
    plant.call("battery.power_off", off);
    batteries(plant);
    swap(plant);
}

/// Keeps a photo that an audit names, and one that nothing names; returns their names.
fn audit(plant: &Plant) -> [Value; 2] {
    let kept = |seed: u64| {
        let photo = Scene { width: 640, height: 360, ..Scene::frame(seed, 3.0, 50) };
        plant.send("photo.add", photo.draw().jpeg).expect("a photo")["photo"].clone()
    };
    let (named, unnamed) = (kept(1), kept(2));
    let cabinets = plant.call("place.cabinets", json!({}));
    let drawing = plant.call("place.cabinet", json!({ "cabinet": cabinets[0]["address"] }));
    let labels: Vec<Value> = drawing["rails"][0]["items"]
        .as_array()
        .into_iter()
        .flatten()
        .filter(|item| item["slot"]["unit"].is_object())
        .map(|item| json!({ "text": item["slot"]["unit"]["label"] }))
        .collect();
    let photo = json!({ "photo": named, "labels": labels });
    let rail = &drawing["rails"][0]["address"];
    plant.call("audit.record", json!({ "rail": rail, "photos": [photo] }));
    [named, unnamed]
}

/// Looks at batteries, temperatures, power-offs to come, and visits agreed on.
fn batteries(plant: &Plant) {
    let lines = plant.call("battery.list", json!({}));
    let fitted = lines.as_array().into_iter().flatten().find(|line| !line["due_on"].is_null());
    let line = fitted.expect("a battery that is fitted");
    let unit = &line["unit"]["label"];
    plant.call("battery.seen", json!({ "unit": unit, "low_lamp": true, "mv": 2710 }));
    let read = json!({ "cabinet": line["cabinet"], "temperature_c": 36.5 });
    plant.call("place.temperature", read);
    let off = |month: u32, reason: &str| {
        json!({ "scope": line["cabinet"], "from": format!("2027-{month:02}-05T06:00:00Z"),
                "to": format!("2027-{month:02}-05T18:00:00Z"), "reason": reason })
    };
    let planned = plant.call("battery.power_off_planned", off(5, "Rails extended"));
    let dropped = plant.call("battery.power_off_planned", off(6, "Doors painted"));
    let over = json!({ "scope": line["cabinet"], "from": "2026-10-05T06:00:00Z",
                       "to": "2026-10-05T18:00:00Z", "reason": "Fan changed" });
    let over = plant.call("battery.power_off_planned", over);
    let settled = json!({ "planned": over["entry"], "from": "2026-10-05T06:30:00Z",
                          "to": "2026-10-05T19:00:00Z" });
    plant.call("battery.power_off_settled", settled);
    let called_off = json!({ "planned": dropped["entry"], "reason": "no paint" });
    plant.call("battery.power_off_settled", called_off);
    let visit = json!({ "on": "2027-05-05", "scope": line["cabinet"], "units": [unit],
                        "power_off": planned["entry"] });
    plant.call("battery.agree", json!({ "visits": [visit], "horizon_until": "2031-11-25" }));
}

fn swap(plant: &Plant) {
    for cabinet in plant.call("place.cabinets", json!({})).as_array().into_iter().flatten() {
        let drawing = plant.call("place.cabinet", json!({ "cabinet": cabinet["address"] }));
        let rails = drawing["rails"].as_array().cloned().unwrap_or_default();
        let items = rails.iter().flat_map(|rail| rail["items"].as_array().into_iter().flatten());
        for slot in items.map(|item| &item["slot"]).filter(|slot| !slot["unit"].is_null()) {
            let fits = plant.call("swap.candidates", json!({ "slot": slot["address"] }));
            let Some(spare) = fits.get(0) else { continue };
            let start = json!({ "slot": slot["address"], "unit": spare["unit"]["label"] });
            let abandoned = plant.call("swap.start", start.clone());
            let left = json!({ "swap": abandoned["swap"], "state_left": "as found" });
            plant.call("swap.abandon", left);
            let mut swap = plant.call("swap.start", start);
            while !swap["next_step"].is_null() {
                swap = plant.tick(&swap);
            }
            let removal = json!({ "to": "repair", "condition": "failed" });
            plant.call("swap.finish", json!({ "swap": swap["swap"], "removal": removal }));
            return;
        }
    }
}
