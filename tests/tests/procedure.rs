//! The steps of a swap: their order whatever a site writes, what they demand, and what is left of
//! a swap that stops half-way.

use proptest::prelude::*;
use serde_json::{Value, json};
use slotkeep_api::site_files::{SiteFile, built_in_procedure, parse};
use slotkeep_domain::label::{LabelCode, LabelKind, SitePrefix};
use slotkeep_domain::model::BaseKind;
use slotkeep_domain::place::BusPosition;
use slotkeep_domain::swap::procedure::{
    Act, Facts, Kind, MUSTS, Names, Procedure, Redundancy, Wired, check, compose,
};
use slotkeep_domain::swap::{CAUTIONS, Demand, Step};
use slotkeep_tests::{Plant, SMALL_PHOTO, files_of, noon, root, tick_of};
use std::sync::LazyLock;

static EVERY: LazyLock<Vec<Facts>> = LazyLock::new(Facts::every);

fn names() -> Names {
    let prefix = SitePrefix::parse("MP").unwrap();
    let label = |kind, number| LabelCode::allocate(prefix, kind, number);
    Names {
        slot: ("+K12.2.07".to_owned(), label(LabelKind::Slot, 1)),
        rail: "+K12.2".to_owned(),
        supply_rail: "+K12.1".to_owned(),
        fed_rails: vec!["+K12.1".to_owned(), "+K12.2".to_owned()],
        out: Some((label(LabelKind::Unit, 2), "MP-DI16".to_owned())),
        into: (label(LabelKind::Unit, 3), "MP-DI16".to_owned()),
        key: Some("std BD".to_owned()),
        partner: Some("+K12.2.08".to_owned()),
        loops: vec!["LIC-4001".to_owned(), "FIC-4002".to_owned()],
        firmware: Some("1.4".to_owned()),
        bus_address: Some(7),
    }
}

/// The orders of the trade, said here once more so that the program's own list cannot hide a gap.
/// Common practice, no source.
const KEPT: [(Act, Act); 13] = [
    (Act::Permit, Act::Isolate),
    (Act::ClearLoops, Act::Isolate),
    (Act::SaveProgram, Act::Isolate),
    (Act::Isolate, Act::Unlatch),
    (Act::Isolate, Act::Unwire),
    (Act::Unlatch, Act::Pull),
    (Act::Unwire, Act::Unmount),
    (Act::TerminatorOff, Act::Unmount),
    (Act::Key, Act::Plug),
    (Act::Plug, Act::Latch),
    (Act::Mount, Act::TerminatorOn),
    (Act::LoadProgram, Act::Verify),
    (Act::Verify, Act::ReturnToService),
];

/// Fails where steps break one of these orders.
fn holds(steps: &[Step], kept: &[(Act, Act)], facts: &Facts) {
    let acts: Vec<Act> = steps.iter().filter_map(|step| step.act).collect();
    for (first, then) in kept {
        let last = acts.iter().rposition(|act| act == first);
        let early = acts.iter().position(|act| act == then);
        if let (Some(last), Some(early)) = (last, early) {
            assert!(last < early, "{first:?} after {then:?} for a {}", facts.described());
        }
    }
}

fn count(steps: &[Step], act: Act) -> usize {
    steps.iter().filter(|step| step.act == Some(act)).count()
}

#[test]
fn the_templates_of_the_program_give_every_slot_its_steps_in_order() {
    assert_eq!(check(built_in_procedure()), []);
    assert!(EVERY.len() > 15_000, "{} kinds of slot", EVERY.len());
    for facts in EVERY.iter() {
        let steps = compose(built_in_procedure(), facts, &names()).unwrap();
        holds(&steps, &KEPT, facts);
        let plugs = matches!(
            facts.base,
            BaseKind::Compact | BaseKind::Extended | BaseKind::IntrinsicallySafe
        );
        let expected = [
            (Act::Plug, plugs),
            (Act::Latch, plugs),
            (Act::Mount, !plugs),
            (Act::Pull, plugs && facts.occupied),
            (Act::Unlatch, plugs && facts.occupied),
            (Act::Unmount, !plugs && facts.occupied),
            (Act::Isolate, !facts.hot_swap),
            (Act::Energise, !facts.hot_swap),
            (Act::TerminatorOff, !plugs && facts.bus == BusPosition::End),
            (Act::TerminatorOn, !plugs && facts.bus == BusPosition::End),
            (Act::SetAddress, !plugs && facts.bus != BusPosition::Off),
            (Act::Key, facts.keyed),
            (Act::SwitchOver, facts.redundancy == Redundancy::Partner),
            (Act::HazardousRelease, facts.intrinsically_safe),
            (Act::LoadProgram, facts.kind == Kind::Controller),
            (Act::LoadFirmware, facts.firmware),
            (Act::Battery, facts.battery),
            (Act::ReturnToService, facts.loops != Wired::Nothing),
        ];
        for (act, wanted) in expected {
            assert_eq!(count(&steps, act), usize::from(wanted), "{act:?}: {}", facts.described());
        }
        assert!(steps.iter().all(|step| !step.text.contains(['{', '}'])));
        let scans = steps.iter().filter(|step| matches!(step.demand, Some(Demand::Unit(_))));
        assert_eq!(scans.count(), 1 + usize::from(facts.occupied));
    }
}

#[test]
fn the_sample_site_has_the_templates_of_the_program_to_edit() {
    let plant = Plant::sample();
    let kinds = plant.call("journal.list", json!({ "kind": "procedure-set" }));
    assert!(kinds.to_string().contains("procedure-set"), "{kinds}");
    let stored = plant.api.store().read(|r| {
        use slotkeep_domain::register::View;
        Ok::<_, slotkeep_api::Failure>(r.procedure())
    });
    assert_eq!(stored.unwrap().as_ref(), Some(built_in_procedure()));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// Whatever order a site writes: either it is refused, or every slot keeps the order.
    #[test]
    fn no_procedure_that_is_taken_breaks_the_order(
        swaps in prop::collection::vec((0..40_usize, 0..40_usize), 0..3),
        dropped in prop::option::of(0..40_usize),
        acts in prop::collection::vec((0..40_usize, 0..30_usize), 0..2),
    ) {
        let mut procedure = built_in_procedure().clone();
        let count = procedure.templates.len();
        for (a, b) in swaps {
            procedure.templates.swap(a % count, b % count);
        }
        for (template, act) in acts {
            procedure.templates[template % count].steps[0].act = Act::ALL[act];
        }
        if let Some(at) = dropped {
            procedure.templates.remove(at % count);
        }
        judged(&procedure);
    }
}

/// Fails where a procedure is taken as right and is not, or gives steps that break the order.
fn judged(procedure: &Procedure) {
    let right = check(procedure).is_empty();
    for facts in EVERY.iter().step_by(7) {
        let composed = compose(procedure, facts, &names());
        assert!(!right || composed.is_ok(), "taken, but not for a {}", facts.described());
        if let Ok(steps) = composed {
            holds(&steps, &KEPT, facts);
            for must in MUSTS.iter().filter(|must| (must.when)(facts)) {
                assert!(count(&steps, must.act) > 0, "{:?}: {}", must.act, facts.described());
            }
        }
    }
}

/// The sample site with an edited procedure, and what is said against it.
fn problems(edit: impl FnOnce(&str) -> String) -> Vec<String> {
    let folder = root().join("sample-site");
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        files.push(SiteFile { name, bytes: std::fs::read(&path).unwrap() });
    }
    let file = files.iter_mut().find(|file| file.name == "procedure.json").unwrap();
    let text = String::from_utf8(file.bytes.clone()).unwrap();
    let edited = edit(&text);
    assert_ne!(edited, text, "the edit changes something");
    file.bytes = edited.into_bytes();
    match parse(&files, noon().date_naive()) {
        Ok(_) => Vec::new(),
        Err(problems) => problems.iter().map(ToString::to_string).collect(),
    }
}

/// An edit of the sample's templates, as JSON.
fn templates(edit: impl FnOnce(&mut Vec<Value>)) -> impl FnOnce(&str) -> String {
    move |text| {
        let mut value: Value = serde_json::from_str(text).unwrap();
        edit(value["templates"].as_array_mut().unwrap());
        serde_json::to_string_pretty(&value).unwrap()
    }
}

fn named<'a>(list: &'a mut [Value], name: &str) -> &'a mut Value {
    list.iter_mut().find(|template| template["name"] == name).unwrap()
}

#[test]
fn bad_templates_are_refused_with_their_place() {
    let place = |list: &[Value], name: &str| list.iter().position(|t| t["name"] == name).unwrap();
    let cases: Vec<(Vec<String>, &str)> = vec![
        (
            problems(|text| text.replacen("\"act\"", "\"akt\"", 1)),
            "a known field; the nearest is act",
        ),
        (
            problems(templates(|list| named(list, "key")["steps"][0]["act"] = json!("keys"))),
            "one of",
        ),
        (
            problems(templates(|list| list.retain(|t| t["name"] != "isolate"))),
            "no step with act isolate",
        ),
        (
            problems(templates(|list| {
                list.retain(|t| t["name"] != "verify" && t["name"] != "check-loops")
            })),
            "no step with act verify",
        ),
        (
            problems(templates(|list| {
                named(list, "plug")["when"] = json!({ "base": ["own"], "keyed": true })
            })),
            "no step of this template is ever reached",
        ),
        (
            problems(templates(move |list| {
                let (key, plug) = (place(list, "key"), place(list, "plug"));
                list.swap(key, plug);
            })),
            "compare the keys before you plug",
        ),
        (
            problems(templates(|list| {
                named(list, "plug")["steps"].as_array_mut().unwrap().reverse()
            })),
            "latched means energised",
        ),
        (
            problems(templates(|list| {
                named(list, "unplug")["steps"].as_array_mut().unwrap().reverse()
            })),
            "unlatch before you pull",
        ),
        (
            problems(templates(|list| {
                let last = list.pop().unwrap();
                list.insert(4, last);
            })),
            "verify before return to service",
        ),
        (
            problems(templates(|list| {
                named(list, "slot")["steps"][0]["text"] = json!("Scan {slott}.")
            })),
            "one of the words slot, rail",
        ),
        (
            problems(templates(|list| {
                named(list, "prepare")["steps"][0]["text"] = json!("Look at {out}.")
            })),
            "has something for; out is not",
        ),
        (
            problems(templates(|list| named(list, "in")["name"] = json!("slot"))),
            "no other template has",
        ),
        (
            problems(templates(|list| {
                named(list, "output")["steps"][0]["reading"] =
                    json!({ "unit": "V", "low": 30, "high": 20 });
            })),
            "a low limit that is not above the high one",
        ),
        (
            problems(templates(|list| {
                named(list, "output")["steps"][0]["demand"] = json!("photo")
            })),
            "one of them in a step",
        ),
        (
            problems(templates(|list| {
                named(list, "prepare")["steps"][0]["demand"] = json!("scan_out")
            })),
            "an empty slot has no unit to scan",
        ),
        (
            problems(templates(|list| {
                let twice = named(list, "energise").clone();
                list.push(twice);
                list.last_mut().unwrap()["name"] = json!("again");
            })),
            "comes twice",
        ),
        (problems(|text| text.replacen('{', "[", 1)), "JSON"),
    ];
    for (problems, said) in cases {
        assert!(!problems.is_empty(), "{said}: taken");
        assert!(problems.iter().any(|problem| problem.contains(said)), "{said}: {problems:#?}");
        let placed = problems.iter().filter(|p| p.starts_with("procedure.json, line ")).count();
        assert_eq!(placed, problems.len(), "{problems:#?}");
    }
}

/// A slot of the sample site with a spare that passes, where `keep` says so of its first check.
fn swappable(plant: &Plant, keep: impl Fn(&Value) -> bool) -> Value {
    for cabinet in plant.call("place.cabinets", json!({})).as_array().unwrap() {
        let drawing = plant.call("place.cabinet", json!({ "cabinet": cabinet["address"] }));
        let rails = drawing["rails"].as_array().unwrap();
        for item in rails.iter().flat_map(|rail| rail["items"].as_array().unwrap()) {
            let slot = &item["slot"];
            if slot["unit"].is_null() {
                continue;
            }
            let fits = plant.call("swap.candidates", json!({ "slot": slot["address"] }));
            let Some(spare) = fits.get(0) else { continue };
            let input = json!({ "slot": slot["address"], "unit": spare["unit"]["label"] });
            let check = plant.call("swap.check", input.clone());
            if keep(&check) {
                return input;
            }
        }
    }
    panic!("no slot of the sample site is like that");
}

fn module(check: &Value) -> bool {
    let text = check["steps"].to_string();
    text.contains("Open the latch") && text.contains("loops in manual")
}

#[test]
fn a_swap_stopped_half_way_goes_on_where_it_was_on_another_device() {
    let mut plant = Plant::sample();
    let input = swappable(&plant, module);
    let mut swap = plant.call("swap.start", input);
    for _ in 0..5 {
        swap = plant.tick(&swap);
    }
    plant.caller.device = "second phone".to_owned();
    plant.caller.person = "night shift".to_owned();
    plant.now += chrono::Duration::minutes(30);
    let open = plant.call("swap.open", json!({}));
    let found = open.as_array().unwrap().iter().find(|one| one["swap"] == swap["swap"]).unwrap();
    assert_eq!(found["next_step"], json!(6));
    assert!(!found["stand"]["said"].as_array().unwrap().is_empty());
    // The first device does not know yet that the other one went on.
    let late = tick_of(found);
    let mut resumed = plant.tick(found);
    let refused = plant.refused("swap.tick", late);
    assert!(refused.message.contains("is not the next one"), "{refused}");
    assert_eq!(resumed["steps"][5]["ticked_by"], json!("night shift"));
    while !resumed["next_step"].is_null() {
        resumed = plant.tick(&resumed);
    }
    let removal = json!({ "to": "repair", "condition": "failed" });
    plant.call("swap.finish", json!({ "swap": resumed["swap"], "removal": removal }));
    plant.verify_clean();
}

#[test]
fn giving_up_says_how_the_plant_stands_after_each_step() {
    let mut seen = Vec::new();
    for ticks in 0.. {
        let plant = Plant::sample();
        let input = swappable(&plant, module);
        let mut swap = plant.call("swap.start", input.clone());
        let steps = swap["steps"].as_array().unwrap().len();
        if ticks > steps {
            break;
        }
        (0..ticks).for_each(|_| swap = plant.tick(&swap));
        let (out_is_out, in_is_in) =
            (swap["stand"]["out_is_out"] == true, swap["stand"]["in_is_in"] == true);
        let mut given = json!({ "swap": swap["swap"], "state_left": "Rain through the roof." });
        if out_is_out {
            let refused = plant.refused("swap.abandon", given.clone());
            assert!(refused.message.contains("was taken out"), "{refused}");
            given["removal"] = json!({ "to": "bench", "condition": "suspect" });
        }
        plant.call("swap.abandon", given);
        let left = plant.call("swap.show", json!({ "swap": swap["swap"] }));
        let said = left["state_left"].as_str().unwrap().to_owned();
        assert!(said.ends_with("Rain through the roof."), "{said}");
        let place = |unit: &Value| {
            let card = plant.call("unit.card", json!({ "unit": unit["label"] }));
            card["unit"]["place"].clone()
        };
        let out = place(&swap["out"]);
        assert_eq!(out == json!("bench"), out_is_out, "{said}");
        assert_eq!(place(&swap["into"]) == input["slot"], in_is_in, "{said}");
        plant.verify_clean();
        seen.push(said);
    }
    let first = |part: &str| seen.iter().position(|said| said.contains(part));
    let order = [
        "untouched",
        "still in manual or bypass",
        "its latch open: it is switched off",
        "is empty, its base unlatched",
        "is plugged in slot",
        ", latched. Unit",
    ];
    let places: Vec<_> = order.iter().map(|part| first(part).expect(part)).collect();
    assert!(places.is_sorted(), "{places:?} {seen:#?}");
    assert!(seen[places[3]].contains("is now at: bench."), "{}", seen[places[3]]);
    assert!(seen[places[3]].contains("still in manual or bypass"), "{}", seen[places[3]]);
    let last = seen.last().unwrap();
    assert!(!last.contains("manual") && !last.contains("not verified"), "{last}");
}

/// The sample site with one more demand in each of its templates.
fn demanding() -> Plant {
    let plant = Plant::empty();
    let mut files = files_of(&root().join("sample-site"));
    let file = files.iter_mut().find(|file| file["name"] == "procedure.json").unwrap();
    let edit = templates(|list| {
        let step = |demand: Value| {
            let mut step = json!({ "act": "other", "text": "Look at slot {slot}." });
            step.as_object_mut().unwrap().extend(demand.as_object().unwrap().clone());
            step
        };
        let more = named(list, "prepare")["steps"].as_array_mut().unwrap();
        more.push(step(json!({ "reading": { "unit": "V", "low": 20.4, "high": 28.8 } })));
        more.push(step(json!({ "demand": "photo" })));
        more.push(step(json!({ "demand": "second_person" })));
    });
    file["text"] = json!(edit(file["text"].as_str().unwrap()));
    plant.call("site.import", json!({ "files": files }));
    plant
}

#[test]
fn a_step_takes_only_what_it_demands() {
    let plant = demanding();
    let mut swap = plant.call("swap.start", swappable(&plant, module));
    swap = plant.tick(&swap);
    let tick = |swap: &Value, more: Value| {
        let mut input = json!({ "swap": swap["swap"], "step": swap["next_step"] });
        input.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        input
    };
    for (given, said) in [
        (json!({}), "wants a reading of 20.4 to 28.8 V"),
        (json!({ "reading": 20.3 }), "stop: 20.3 V was read"),
        (json!({ "reading": 28.9 }), "find out why"),
    ] {
        let refused = plant.refused("swap.tick", tick(&swap, given));
        assert!(refused.message.contains(said), "{refused}");
    }
    swap = plant.call("swap.tick", tick(&swap, json!({ "reading": 28.8 })));
    assert_eq!(swap["steps"][1]["read"], json!(28.8));
    for (given, said) in [
        (json!({}), "wants a photo"),
        (json!({ "photo_data": "no base64!" }), "no Base64"),
        (json!({ "photo_data": "aGVsbG8=" }), "no image"),
        (json!({ "photo": "abc" }), "names no photo"),
        (json!({ "photo": "0".repeat(64) }), "add it first"),
    ] {
        let refused = plant.refused("swap.tick", tick(&swap, given));
        assert!(refused.message.contains(said), "{refused}");
    }
    swap = plant.call("swap.tick", tick(&swap, json!({ "photo_data": SMALL_PHOTO })));
    let photo = swap["steps"][2]["photo_taken"].as_str().unwrap().to_owned();
    assert!(plant.file("photo.show", json!({ "photo": photo })).starts_with(&[0xff, 0xd8]));
    for (given, said) in [
        (json!({}), "wants a second person"),
        (json!({ "second": " Tester " }), "cannot be the second person"),
    ] {
        let refused = plant.refused("swap.tick", tick(&swap, given));
        assert!(refused.message.contains(said), "{refused}");
    }
    swap = plant.call("swap.tick", tick(&swap, json!({ "second": "night shift" })));
    assert_eq!(
        (&swap["steps"][3]["second"], &swap["next_step"]),
        (&json!("night shift"), &json!(5))
    );
    plant.verify_clean();
}

#[test]
fn times_of_the_past_are_expected_of_the_next_swap() {
    let mut plant = Plant::sample();
    let mut spent = Vec::new();
    let planned = plant.call("swap.check", swappable(&plant, module));
    let planned_min = |step: &Value| {
        let of = planned["steps"].as_array().unwrap().iter();
        let same = of.clone().find(|one| one["detail"] == step["detail"]);
        same.map(|one| one["expected_min"].as_f64().unwrap())
    };
    for minutes in [2, 9, 4] {
        let mut swap = plant.call("swap.start", swappable(&plant, module));
        spent.push(swap["expected_min"].as_f64().unwrap());
        while !swap["next_step"].is_null() {
            plant.now += chrono::Duration::minutes(minutes);
            swap = plant.tick(&swap);
        }
        let removal = json!({ "to": "repair", "condition": "failed" });
        plant.call("swap.finish", json!({ "swap": swap["swap"], "removal": removal }));
    }
    let check = plant.call("swap.check", swappable(&plant, module));
    // The median of 2, 9 and 4 minutes and of the template's own figure.
    let steps = check["steps"].as_array().unwrap();
    for step in steps.iter().filter(|step| step["seen"] == 3) {
        let Some(own) = planned_min(step) else { continue };
        let median = f64::midpoint(4.0, own.clamp(2.0, 9.0));
        assert_eq!(step["expected_min"], json!(median), "{step}");
    }
    assert!(steps.iter().filter(|step| step["seen"] == 3).count() > 8, "{steps:#?}");
    let sum: f64 = steps.iter().map(|step| step["expected_min"].as_f64().unwrap()).sum();
    assert!((check["expected_min"].as_f64().unwrap() - sum).abs() < 1e-9);
    assert_ne!(spent[0], spent[1], "what was learned changes what is expected");
}

#[test]
fn photos_are_kept_once_upright_and_without_what_a_camera_notes() {
    let plant = Plant::sample();
    let mut picture = image::RgbImage::new(60, 20);
    picture.put_pixel(0, 0, image::Rgb([255, 0, 0]));
    let mut plain = Vec::new();
    let mut encoder = image::codecs::jpeg::JpegEncoder::new_with_quality(&mut plain, 95);
    encoder.encode_image(&picture).unwrap();
    // EXIF (JEITA CP-3451): byte order, one entry, orientation 6, which is a quarter turn; then
    // a text that must not survive.
    let mut exif =
        b"Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0".to_vec();
    exif.extend(b"GPS 54.0N 10.2E");
    let mut marked = vec![0xff, 0xd8, 0xff, 0xe1];
    marked.extend(u16::try_from(exif.len() + 2).unwrap().to_be_bytes());
    marked.extend(&exif);
    marked.extend(&plain[2..]);
    let kept = plant.send("photo.add", marked.clone()).unwrap();
    assert_eq!((&kept["width_px"], &kept["height_px"]), (&json!(20), &json!(60)), "upright");
    let again = plant.send("photo.add", marked).unwrap();
    assert_eq!(kept, again);
    let bytes = plant.file("photo.show", json!({ "photo": kept["photo"] }));
    let holds = |what: &[u8]| bytes.windows(what.len()).any(|part| part == what);
    assert!(!holds(b"Exif") && !holds(b"GPS"), "nothing but the picture");
    let large = image::RgbImage::new(4000, 1000);
    let mut png = std::io::Cursor::new(Vec::new());
    image::DynamicImage::from(large).write_to(&mut png, image::ImageFormat::Png).unwrap();
    let small = plant.send("photo.add", png.into_inner()).unwrap();
    assert_eq!((&small["width_px"], &small["height_px"]), (&json!(2400), &json!(600)));
    for bad in [b"".to_vec(), b"hello".to_vec(), vec![0xff, 0xd8, 0xff, 0xe0, 0, 1]] {
        let refused = plant.send("photo.add", bad).unwrap_err();
        assert!(refused.message.contains(':'), "{refused}");
    }
    plant.verify_clean();
}

#[test]
fn a_swap_of_an_older_store_goes_on_by_its_own_steps() {
    let plant = Plant::frozen("v2.sqlite");
    let open = plant.call("swap.open", json!({}));
    let mut swap = open[0].clone();
    assert!(swap["next_step"].as_u64().unwrap() > 1, "{swap:#}");
    assert_eq!(swap["stand"]["said"], json!([]), "its steps do not say what they do");
    let silent = plant.refused("swap.abandon", json!({ "swap": swap["swap"] }));
    assert!(silent.message.contains("say what is in the slot"), "{silent}");
    while !swap["next_step"].is_null() {
        swap = plant.tick(&swap);
    }
    let removal = json!({ "to": "repair", "condition": "failed" });
    plant.call("swap.finish", json!({ "swap": swap["swap"], "removal": removal }));
    plant.verify_clean();
}

#[test]
fn the_cautions_stand_on_every_sheet_that_work_is_done_by() {
    let plant = Plant::sample();
    let swap = swappable(&plant, module);
    let lines = plant.call("battery.list", json!({}));
    let cabinet = lines[0]["cabinet"].clone();
    let sheets = [
        ("swap.sheet", swap),
        ("battery.work_list", json!({})),
        ("label.door_sheet", json!({ "cabinet": cabinet })),
    ];
    for (command, input) in sheets {
        let text = text_of(&plant.file(command, input));
        for caution in CAUTIONS {
            assert!(text.contains(caution), "{command} lacks {caution:?}:\n{text}");
        }
    }
}

fn text_of(pdf: &[u8]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("sheet.pdf");
    std::fs::write(&path, pdf).unwrap();
    let output = std::process::Command::new("pdftotext").arg("-raw").arg(path).arg("-").output();
    let text = String::from_utf8(output.expect("pdftotext").stdout).unwrap();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
