//! From a maker's plate to a proposal that a person accepts: nothing is recorded by reading it.

use image::{GrayImage, ImageEncoder, Luma, imageops};
use serde_json::{Value, json};
use slotkeep_domain::label::{LabelCode, LabelKind, SitePrefix};
use slotkeep_tests::Plant;
use zxingcpp::BarcodeFormat;

/// A code as a maker prints it, with a light border.
fn code(format: BarcodeFormat, options: &str, text: &str) -> GrayImage {
    let made = zxingcpp::create(format).options(options).from_str(text).unwrap();
    let drawn = made.to_image_with(&zxingcpp::write().scale(3)).unwrap();
    let (width, height) = (drawn.width() as u32, drawn.height() as u32);
    let drawn = GrayImage::from_raw(width, height, drawn.data()).unwrap();
    let mut tile = GrayImage::from_pixel(width + 60, height + 60, Luma([235]));
    imageops::overlay(&mut tile, &drawn, 30, 30);
    tile
}

/// A plate with codes one below the other.
fn plate(codes: &[GrayImage]) -> Vec<u8> {
    let mut plate = GrayImage::from_pixel(1100, 900, Luma([200]));
    let mut y = 20;
    for code in codes {
        imageops::overlay(&mut plate, code, 20, y);
        y += i64::from(code.height()) + 20;
    }
    let mut bytes = Vec::new();
    image::codecs::png::PngEncoder::new(&mut bytes)
        .write_image(&plate, 1100, 900, image::ExtendedColorType::L8)
        .unwrap();
    bytes
}

fn read(plant: &Plant, codes: &[GrayImage]) -> Value {
    plant.send("model.read_plate", plate(codes)).unwrap()
}

fn heads(plant: &Plant) -> Value {
    plant.call("journal.list", json!({ "limit": 1 }))
}

#[test]
fn each_kind_of_code_that_makers_print_is_read_from_a_photo_of_the_plate() {
    let plant = Plant::sample();
    for format in [BarcodeFormat::Code128, BarcodeFormat::DataMatrix, BarcodeFormat::QRCode] {
        let text = "MP-AI08-C/B/22-904711";
        let reading = read(&plant, &[code(format, "", text)]);
        let proposal = &reading["proposals"][0];
        assert_eq!(proposal["model"], "MP-AI08-C", "{format}: {reading:#}");
        assert_eq!(proposal["serial"], "22-904711", "{format}");
        assert_eq!(proposal["revision"], "B", "{format}");
        assert_eq!(proposal["already"], Value::Null, "{format}");
    }
}

#[test]
fn element_strings_are_read_from_the_symbols_that_carry_them() {
    let plant = Plant::sample();
    let text = "(01)09521234000013(21)PS-0077";
    for format in [BarcodeFormat::Code128, BarcodeFormat::DataMatrix] {
        let reading = read(&plant, &[code(format, "gs1", text)]);
        let proposal = &reading["proposals"][0];
        assert_eq!(proposal["model"], "MP-PS03", "{format}: {reading:#}");
        assert_eq!(proposal["serial"], "PS-0077", "{format}");
        assert!(proposal["message"].as_str().unwrap().contains("GS1"), "{proposal}");
    }
}

#[test]
fn part_and_serial_number_in_two_codes_make_one_proposal() {
    let plant = Plant::sample();
    let codes = [
        code(BarcodeFormat::Code128, "gs1", "(240)MP-PS05"),
        code(BarcodeFormat::Code128, "gs1", "(21)X-4711"),
    ];
    let reading = read(&plant, &codes);
    assert_eq!(reading["proposals"].as_array().unwrap().len(), 1, "{reading:#}");
    assert_eq!(reading["proposals"][0]["model"], "MP-PS05");
    assert_eq!(reading["proposals"][0]["serial"], "X-4711");
}

#[test]
fn a_free_label_beside_the_plate_is_named_and_a_taken_one_says_who_has_it() {
    let plant = Plant::sample();
    let prefix = SitePrefix::parse("MP").unwrap();
    let free = LabelCode::allocate(prefix, LabelKind::Unit, 99);
    let unit = &plant.call("search.find", json!({ "text": "19-004014" }))[0]["key"];
    let texts = json!({ "texts": [free.as_str(), unit, "CP2#26-990001#2619"] });
    let reading = plant.call("model.propose", texts);
    assert_eq!(reading["labels"][0]["free"], json!(true), "{reading:#}");
    assert_eq!(reading["labels"][1]["free"], json!(false));
    assert_eq!(reading["proposals"][0]["model"], "MP-CP2");
    assert_eq!(reading["proposals"][0]["made_on"], "2026-05-04");
}

#[test]
fn a_unit_that_is_in_the_register_already_is_told() {
    let plant = Plant::sample();
    let reading = plant.call("model.propose", json!({ "texts": ["CP2#19-004014#1904"] }));
    let message = reading["message"].as_str().unwrap();
    assert!(message.contains("already") && message.contains("+K11.1.02"), "{message}");
}

#[test]
fn a_lot_of_cells_is_proposed_with_its_day() {
    let plant = Plant::sample();
    let reading = plant.call("model.propose", json!({ "texts": ["CEL1LX77D260131"] }));
    let proposal = &reading["proposals"][0];
    assert_eq!(proposal["model"], "MP-CEL1");
    assert_eq!(proposal["counted"], json!(true));
    assert_eq!(proposal["lot"], "X77");
    assert_eq!(proposal["made_on"], "2026-01-31");
}

#[test]
fn what_no_form_fits_is_shown_as_it_is_and_nothing_is_guessed() {
    let plant = Plant::sample();
    let reading = plant.call("model.propose", json!({ "texts": ["4711-0815"] }));
    assert_eq!(reading["proposals"], json!([]));
    assert_eq!(reading["unread"][0]["text"], "4711-0815");
    let message = reading["message"].as_str().unwrap();
    assert!(message.contains("no form in the catalogue"), "{message}");

    let reading = plant.call("model.propose", json!({ "texts": ["(240)NO-SUCH(21)7"] }));
    assert_eq!(reading["proposals"][0]["model"], Value::Null);
    let message = reading["proposals"][0]["message"].as_str().unwrap();
    assert!(message.contains("NO-SUCH") && message.contains("maker_codes"), "{message}");

    let empty = GrayImage::from_pixel(300, 200, Luma([180]));
    let reading = read(&plant, &[empty]);
    assert!(reading["message"].as_str().unwrap().contains("no code was found"), "{reading}");
}

#[test]
fn a_revision_that_the_catalogue_does_not_list_is_marked() {
    let plant = Plant::sample();
    let unlisted = |text: &str| {
        plant.call("model.propose", json!({ "texts": [text] }))["proposals"][0]["unlisted_revision"]
            .clone()
    };
    assert_eq!(unlisted("MP-AI08-C/C/22-904711"), json!(false));
    assert_eq!(unlisted("MP-AI08-C/F/22-904711"), json!(true));
}

#[test]
fn reading_a_plate_records_nothing_and_the_accepted_proposal_registers() {
    let plant = Plant::sample();
    let before = heads(&plant);
    let reading = read(&plant, &[code(BarcodeFormat::DataMatrix, "", "MP-AI08-C/B/22-904711")]);
    assert_eq!(heads(&plant), before, "reading is no record");
    let proposal = &reading["proposals"][0];
    let input = json!({
        "model": proposal["model"], "serial": proposal["serial"],
        "revision": proposal["revision"], "place": "bench",
    });
    plant.call("unit.register", input);
    let again = plant.call("model.propose", json!({ "texts": proposal["codes"] }));
    assert!(again["proposals"][0]["already"].is_string(), "{again:#}");
    plant.verify_clean();
}

#[test]
fn too_many_codes_and_files_that_are_no_picture_are_refused() {
    let plant = Plant::sample();
    let many = vec!["x"; 101];
    let refusal = plant.refused("model.propose", json!({ "texts": many }));
    assert!(refusal.message.contains("at most 100"), "{}", refusal.message);
    let refusal = plant.send("model.read_plate", b"no picture".to_vec()).unwrap_err();
    assert!(refusal.message.contains("no image"), "{}", refusal.message);
}
