//! From the register to printed labels and back: texts that stay, pages as shown, prints graded.

use serde_json::{Value, json};
use slotkeep_tests::Plant;
use std::fs;
use std::process::Command;

/// A unit that lies in a bin.
fn spare(plant: &Plant) -> Value {
    let shelf = plant.call("stock.shelf", json!({}));
    let rooms = shelf["storerooms"].as_array().unwrap();
    let bins = rooms.iter().flat_map(|room| room["bins"].as_array().unwrap());
    bins.flat_map(|bin| bin["units"].as_array().unwrap()).next().unwrap().clone()
}

fn run(command: &mut Command) -> Vec<u8> {
    let program = command.get_program().to_string_lossy().into_owned();
    let output = command.output().unwrap_or_else(|error| panic!("{program}: {error}"));
    assert!(output.status.success(), "{program}: {}", String::from_utf8_lossy(&output.stderr));
    output.stdout
}

/// The first page of a PDF as a picture file.
fn picture(pdf: &[u8], dpi: u32) -> Vec<u8> {
    let folder = tempfile::tempdir().unwrap();
    let (from, to) = (folder.path().join("sheet.pdf"), folder.path().join("page"));
    fs::write(&from, pdf).unwrap();
    let dpi = dpi.to_string();
    run(Command::new("pdftoppm")
        .args(["-gray", "-png", "-singlefile", "-r", &dpi])
        .arg(from)
        .arg(&to));
    fs::read(to.with_extension("png")).unwrap()
}

/// What a reader that is not ours reads on the first page.
fn read(pdf: &[u8]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("page.png");
    fs::write(&path, picture(pdf, 600)).unwrap();
    let read = run(Command::new("zbarimg").args(["--quiet", "--raw"]).arg(path));
    String::from_utf8(read).unwrap().trim().to_owned()
}

#[test]
fn a_label_is_printed_again_with_the_same_text_whatever_became_of_the_unit() {
    let plant = Plant::sample();
    let label = spare(&plant)["label"].as_str().unwrap().to_owned();
    let sheet = json!({ "labels": { "things": [label] }, "format": "roll-50x25", "dpi": 203 });
    let first = plant.file("label.sheet", sheet.clone());
    assert_eq!(read(&first), label);
    assert_eq!(plant.file("label.sheet", sheet.clone()), first);

    plant.call("unit.move", json!({ "unit": label, "to": "scrapped" }));
    assert_eq!(read(&plant.file("label.sheet", sheet)), label);
    let said = plant.call("label.resolve", json!({ "text": label }));
    let message = said["message"].as_str().unwrap();
    assert!(message.contains("scrapped on 2026-11-25"), "{message}");
    assert!(message.contains("must not be fitted"), "{message}");
}

#[test]
fn the_page_that_is_shown_is_the_page_that_is_printed() {
    let plant = Plant::sample();
    let cabinet = plant.call("place.cabinets", json!({}))[0]["address"].clone();
    let sheet = json!({
        "labels": { "cabinet": cabinet, "kinds": ["slot"] },
        "format": "a4-46x21-48",
        "start": 11,
        "correction": { "offset_x_mm": 1.5, "scale_y": 0.995 },
    });
    let shown = plant.call("label.preview", json!({ "sheet": sheet }));
    let printed = shown["printed"].as_array().unwrap();
    assert_eq!(shown["places"].as_array().unwrap().len(), 48);
    assert_eq!(printed[0]["place"], json!(11));
    assert_eq!(printed.len(), (shown["labels"].as_u64().unwrap() as usize).min(38));
    let pdf = plant.file("label.sheet", sheet.clone());
    let page = image::load_from_memory(&picture(&pdf, 300)).unwrap().into_luma8();
    let dot = |mm: f64| mm / 25.4 * 300.0;
    for label in printed {
        let number = |field: &str| label[field].as_f64().unwrap();
        let module = dot(shown["module_mm"].as_f64().unwrap());
        let modules = label["modules"].as_u64().unwrap() as usize;
        for (at, dark) in label["symbol"].as_str().unwrap().bytes().enumerate() {
            let middle = |at: usize| (at as f64 + 0.5) * module;
            let x = (dot(number("x_mm")) + middle(at % modules)) as u32;
            let y = (dot(number("y_mm")) + middle(at / modules)) as u32;
            let expected = if dark == b'1' { 0 } else { 255 };
            assert_eq!(page.get_pixel(x, y).0[0], expected, "{}: {x} {y}", label["label"]);
        }
    }
    let pages = shown["pages"].as_u64().unwrap();
    let last = plant.call("label.preview", json!({ "sheet": sheet, "page": pages + 7 }));
    assert_eq!(last["page"], json!(pages));
}

#[test]
fn a_printed_page_is_graded_label_by_label_and_a_faded_one_is_told() {
    let plant = Plant::sample();
    let label = spare(&plant)["label"].as_str().unwrap().to_owned();
    let sheet = json!({ "labels": { "things": [label] }, "format": "roll-50x25", "dpi": 300 });
    let page = picture(&plant.file("label.sheet", sheet), 300);
    let graded = plant.send("label.quality", page.clone()).unwrap();
    assert_eq!(graded["labels"][0]["label"], json!(label));
    assert_eq!(graded["labels"][0]["letter"], json!("A"), "{graded:#}");
    assert_eq!(graded["labels"][0]["parameters"].as_array().unwrap().len(), 8);

    let mut faded = image::load_from_memory(&page).unwrap().into_luma8();
    for pixel in faded.pixels_mut() {
        pixel.0[0] = 200 + pixel.0[0] / 6;
    }
    let mut bytes = std::io::Cursor::new(Vec::new());
    faded.write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    let graded = plant.send("label.quality", bytes.into_inner()).unwrap();
    let label = &graded["labels"][0];
    assert_eq!(label["letter"], json!("D"), "{graded:#}");
    let said = label["message"].as_str().unwrap();
    assert!(said.contains("print it again soon") && said.contains("faded"), "{said}");

    let blank = image::GrayImage::from_pixel(300, 200, image::Luma([255]));
    let mut bytes = std::io::Cursor::new(Vec::new());
    blank.write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    let graded = plant.send("label.quality", bytes.into_inner()).unwrap();
    assert!(graded["message"].as_str().unwrap().contains("no label"), "{graded}");
    assert!(plant.send("label.quality", b"no picture".to_vec()).is_err());
}

#[test]
fn wishes_and_figures_that_cannot_be_met_are_answered() {
    let plant = Plant::sample();
    let made = plant.call("label.design", json!({ "format": "roll-50x25", "distance_mm": 150.0 }));
    assert_eq!((&made["version"], &made["level"]), (&json!(1), &json!("H")));
    let far_door = format!("https://{}example:8443", "long-name.".repeat(12));
    for (input, said) in [
        (json!({ "format": "roll-25x13", "distance_mm": 400.0 }), "a label of at least"),
        (json!({ "format": "roll-25x13", "link_base": far_door }), "larger labels"),
        (json!({ "width_mm": 50.0 }), "width and height"),
        (json!({ "format": "roll-9x9" }), "roll-50x25"),
        (json!({ "format": "roll-50x25", "least_level": "Z" }), "choose L"),
        (json!({ "format": "roll-50x25", "dpi": 9 }), "150 to 1200"),
    ] {
        let message = plant.refused("label.design", input.clone()).message;
        assert!(message.contains(said), "{input}: {message}");
    }
    let seen = json!({ "left_mm": 20.5, "top_mm": 19.0, "across_mm": 169.0, "down_mm": 250.0 });
    let correction = plant.call("label.adjustment", seen);
    assert!((correction["scale_x"].as_f64().unwrap() - 170.0 / 169.0).abs() < 1e-12);
    assert!((correction["offset_y_mm"].as_f64().unwrap() - 1.0).abs() < 1e-12);
    let odd = json!({ "left_mm": 20.5, "top_mm": 19.0, "across_mm": 6.7, "down_mm": 250.0 });
    assert!(plant.refused("label.adjustment", odd).message.contains("in mm"));
}
