//! From a picture to the things in it; every other file gets its own clear answer.

use image::{GrayImage, ImageEncoder, Luma, imageops};
use proptest::prelude::*;
use serde_json::{Value, json};
use slotkeep_api::FailureKind;
use slotkeep_optics::{KnownLabels, Level, Limits, PATIENCE, Verdict, decode, read_photo, symbol};
use slotkeep_tests::{Plant, only};

/// A symbol with its quiet zone, one module `px` wide.
fn tile(text: &str, px: u32) -> GrayImage {
    let made = symbol(text, Level::M).unwrap();
    let side = (made.size as u32 + 8) * px;
    GrayImage::from_fn(side, side, |x, y| {
        let module = |v: u32| (v / px) as usize;
        let (x, y) = (module(x), module(y));
        let dark = x >= 4 && y >= 4 && made.is_dark(x - 4, y - 4);
        Luma([if dark { 30 } else { 230 }])
    })
}

/// A grey scene with tiles at places.
fn scene(width: u32, height: u32, tiles: &[(GrayImage, i64, i64)]) -> GrayImage {
    let mut scene = GrayImage::from_pixel(width, height, Luma([170]));
    for (tile, x, y) in tiles {
        imageops::overlay(&mut scene, tile, *x, *y);
    }
    scene
}

fn png(image: &GrayImage) -> Vec<u8> {
    let mut bytes = Vec::new();
    image::codecs::png::PngEncoder::new(&mut bytes)
        .write_image(image, image.width(), image.height(), image::ExtendedColorType::L8)
        .unwrap();
    bytes
}

/// Labels of the sample plant: some units and slots.
fn labels(plant: &Plant, count: usize) -> Vec<Value> {
    let list = plant.call("label.list", json!({ "storeroom": "ST1" }));
    only(&list, |_| true).into_iter().take(count).cloned().collect()
}

#[test]
fn every_label_of_a_photo_is_found_where_it_is_and_named() {
    let plant = Plant::sample();
    let labels = labels(&plant, 6);
    let px = 3;
    let tiles: Vec<_> = labels
        .iter()
        .enumerate()
        .map(|(at, label)| (tile(label["label"].as_str().unwrap(), px), 20 + at as i64 * 130, 60))
        .collect();
    let photo = imageops::blur(&scene(820, 240, &tiles), 0.8);
    let reading = plant.send("label.read_photo", png(&photo)).unwrap();
    let found = reading["found"].as_array().unwrap();
    assert_eq!(found.len(), labels.len(), "{reading:#}");
    for (at, (found, label)) in found.iter().zip(&labels).enumerate() {
        assert_eq!(found["thing"]["label"], label["label"]);
        assert_eq!(found["thing"]["kind"], label["kind"]);
        // The symbol begins four modules inside its tile and is 21 modules wide.
        let (left, top) = (20.0 + at as f64 * 130.0 + 12.0, 72.0);
        let wanted =
            [(left, top), (left + 63.0, top), (left + 63.0, top + 63.0), (left, top + 63.0)];
        for (corner, (x, y)) in found["corners"].as_array().unwrap().iter().zip(wanted) {
            let (dx, dy) = (corner["x"].as_f64().unwrap() - x, corner["y"].as_f64().unwrap() - y);
            assert!(dx.hypot(dy) < 4.0, "{corner} is not near {x}, {y}");
        }
    }
}

#[test]
fn labels_are_read_in_every_turn_and_upside_down() {
    let plant = Plant::sample();
    let label = labels(&plant, 1).remove(0);
    let upright = scene(200, 200, &[(tile(label["label"].as_str().unwrap(), 4), 40, 40)]);
    for turned in [
        upright.clone(),
        imageops::rotate90(&upright),
        imageops::rotate180(&upright),
        imageops::rotate270(&upright),
    ] {
        let reading = plant.send("label.read_photo", png(&turned)).unwrap();
        assert_eq!(reading["found"][0]["thing"]["label"], label["label"]);
    }
}

#[test]
fn foreign_damaged_unknown_and_other_sites_labels_each_get_their_own_answer() {
    let plant = Plant::sample();
    let kind = |image: &GrayImage| {
        let reading = plant.send("label.read_photo", png(image)).unwrap();
        let thing = &reading["found"][0]["thing"];
        (thing["kind"].as_str().unwrap_or_default().to_owned(), thing["message"].to_string())
    };
    let of = |text: &str| scene(360, 360, &[(tile(text, 6), 30, 30)]);

    let (foreign, said) = kind(&of("https://example.org/menu"));
    assert_eq!(foreign, "foreign");
    assert!(said.contains("not one of our labels"), "{said}");

    let mut number =
        slotkeep_domain::label::LabelCode::parse(labels(&plant, 1)[0]["label"].as_str().unwrap())
            .unwrap();
    while plant.call("label.resolve", json!({ "text": number.as_str() }))["kind"] != "unknown" {
        number = number.next();
    }
    let (unknown, said) = kind(&of(number.as_str()));
    assert_eq!(unknown, "unknown");
    assert!(said.contains("of this site, but nothing"), "{said}");

    let prefix = slotkeep_domain::label::SitePrefix::parse("ZZ").unwrap();
    let kind_of_unit = slotkeep_domain::label::LabelKind::Unit;
    let other = slotkeep_domain::label::LabelCode::allocate(prefix, kind_of_unit, 5);
    let (unknown, said) = kind(&of(other.as_str()));
    assert_eq!(unknown, "unknown");
    assert!(said.contains("of another site"), "{said}");

    // The corner patterns stay; what they surround is rubbed out.
    let label = labels(&plant, 1).remove(0);
    let mut wiped = of(label["label"].as_str().unwrap());
    for (x, y, pixel) in wiped.enumerate_pixels_mut() {
        let middle = 104..=132;
        let corner = !middle.contains(&x) && !middle.contains(&y) && (x < 104 || y < 104);
        if (54..180).contains(&x) && (54..180).contains(&y) && !corner {
            pixel.0[0] = 230;
        }
    }
    let reading = plant.send("label.read_photo", png(&wiped)).unwrap();
    assert!(!reading["found"].as_array().unwrap().is_empty());
    for found in reading["found"].as_array().unwrap() {
        assert_eq!(found["thing"]["kind"], "damaged", "{reading:#}");
        assert_eq!((&found["surety"], &found["confirm"]), (&json!("unread"), &json!(false)));
    }
}

/// More is rubbed out than the correction mends; what is left fits one label of the register.
#[test]
fn a_label_beyond_correction_is_recognised_and_has_to_be_confirmed() {
    let plant = Plant::sample();
    let label = labels(&plant, 1).remove(0);
    let text = label["label"].as_str().unwrap();
    let mut worn = scene(360, 360, &[(tile(text, 6), 30, 30)]);
    for (x, y, pixel) in worn.enumerate_pixels_mut() {
        // Scratches across the middle, where no corner pattern is.
        if (100..200).contains(&x) && (100..200).contains(&y) && (x / 7 + y / 5) % 2 == 0 {
            pixel.0[0] = 230;
        }
    }
    let reading = plant.send("label.read_photo", png(&worn)).unwrap();
    let found = &reading["found"][0];
    assert_eq!(found["thing"]["label"], label["label"], "{reading:#}");
    assert_eq!(found["reader"], "register");
    assert_eq!((&found["surety"], &found["confirm"]), (&json!("recognised"), &json!(true)));
    assert!(found["thing"]["message"].as_str().unwrap().starts_with("recognised, confirm"));

    let seen = json!([[{ "text": text, "confirm": true }]]);
    let once = plant.call("label.merge_rails", json!({ "photos": [seen] }));
    assert_eq!(once["rails"][0]["labels"][0]["confirm"], true);
    let twice = plant.call("label.merge_rails", json!({ "photos": [seen, seen] }));
    assert_eq!(twice["rails"][0]["labels"][0]["confirm"], false);
    assert_eq!(twice["rails"][0]["labels"][0]["thing"]["kind"], label["kind"]);

    // A store that does not know the label sees a symbol that cannot be read.
    let stranger = Plant::empty().send("label.read_photo", png(&worn)).unwrap();
    assert_eq!(stranger["found"][0]["thing"]["kind"], "damaged", "{stranger:#}");
}

#[test]
fn typed_and_wedged_text_is_answered_like_a_photo() {
    let plant = Plant::sample();
    let label = labels(&plant, 1).remove(0);
    let resolve = |text: &str| plant.call("label.resolve", json!({ "text": text }));
    let human = label["label_human"].as_str().unwrap();
    for text in [human.to_owned(), human.to_lowercase(), format!(" {human}\r\n")] {
        assert_eq!(resolve(&text)["label"], label["label"], "{text:?}");
    }
    let link = format!("HTTPS://192.0.2.9:8443/L/{}", label["label"].as_str().unwrap());
    assert_eq!(resolve(&link)["label"], label["label"]);
    let code = label["label"].as_str().unwrap();
    let mut wrong: Vec<char> = code.chars().collect();
    wrong.swap(4, 7);
    let wrong: String = wrong.into_iter().collect();
    if wrong != code {
        assert_eq!(resolve(&wrong)["kind"], "damaged");
        assert!(resolve(&wrong)["message"].as_str().unwrap().contains("swapped"));
    }
    assert_eq!(resolve("+k11.1.2")["kind"], "slot");
}

#[test]
fn files_that_are_no_safe_photos_are_refused_with_the_reason() {
    let plant = Plant::sample();
    let mut cut = png(&scene(300, 300, &[]));
    cut.truncate(cut.len() / 2);
    let mut heic = vec![0, 0, 0, 24];
    heic.extend_from_slice(b"ftypheic0000");
    for (bytes, said) in [
        (Vec::new(), "empty"),
        (b"address,area,title\n".to_vec(), "no image (text)"),
        (b"%PDF-1.7".to_vec(), "no image (a PDF)"),
        (vec![0x5A; 5000], "no image"),
        (cut, "damaged or cut short"),
        (heic, "HEIC"),
        (huge_header(), "more than the"),
    ] {
        let failure = plant.send("label.read_photo", bytes).unwrap_err();
        assert_eq!(failure.kind, FailureKind::BadInput);
        assert!(failure.message.contains(said), "{said}: {failure}");
    }
}

/// A PNG that says it has 60,000 × 60,000 pixels and holds none of them.
fn huge_header() -> Vec<u8> {
    let mut chunk = b"IHDR".to_vec();
    chunk.extend_from_slice(&60_000_u32.to_be_bytes());
    chunk.extend_from_slice(&60_000_u32.to_be_bytes());
    chunk.extend_from_slice(&[8, 0, 0, 0, 0]);
    let mut bytes = vec![0x89, b'P', b'N', b'G', 0x0D, 0x0A, 0x1A, 0x0A];
    bytes.extend_from_slice(&13_u32.to_be_bytes());
    bytes.extend_from_slice(&chunk);
    bytes.extend_from_slice(&crc32(&chunk).to_be_bytes());
    // An empty data chunk, so that the header is the last thing read.
    bytes.extend_from_slice(&0_u32.to_be_bytes());
    bytes.extend_from_slice(b"IDAT");
    bytes.extend_from_slice(&crc32(b"IDAT").to_be_bytes());
    bytes
}

/// Source: the check of chunks, ISO/IEC 15948 (PNG), annex D.
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| {
            (crc >> 1) ^ (0xEDB8_8320 & (crc & 1).wrapping_neg())
        })
    })
}

#[test]
fn the_pixel_limit_holds_before_anything_is_decoded() {
    let limits = Limits { max_pixels: 1_000, ..Limits::default() };
    let refusal = decode(&png(&scene(100, 100, &[])), &limits).map(|_| ()).unwrap_err();
    assert!(refusal.to_string().contains("100 × 100"), "{refusal}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    /// Whatever bytes come, the answer is a reading or a refusal.
    #[test]
    fn no_file_makes_the_reader_fail(
        flips in prop::collection::vec((0..4000_usize, any::<u8>()), 0..40),
        cut in 0..4000_usize,
    ) {
        let mut bytes = png(&scene(160, 160, &[(tile("MPU0000001", 3), 10, 10)]));
        for (at, value) in flips {
            let at = at % bytes.len();
            bytes[at] = value;
        }
        bytes.truncate(cut.max(60));
        let known = KnownLabels::default();
        if let Ok(reading) = read_photo(&bytes, &Limits::default(), &known, PATIENCE) {
            prop_assert!(reading.found.len() < 50);
        }
    }

    /// A label is read as itself or not at all, at sizes down to two pixels a module.
    #[test]
    fn a_label_is_never_read_as_another(number in 0..1_000_000_u32, px in 2..6_u32, blur in 0..3_u32) {
        use slotkeep_domain::label::{LabelCode, LabelKind, SitePrefix};
        let prefix = SitePrefix::parse("MP").unwrap();
        let label = LabelCode::allocate(prefix, LabelKind::Unit, number * 977);
        let photo = scene(220, 220, &[(tile(label.as_str(), px), 20, 20)]);
        let photo = imageops::blur(&photo, 0.4 + 0.3 * blur as f32);
        let known = KnownLabels::default();
        let reading = read_photo(&png(&photo), &Limits::default(), &known, PATIENCE).unwrap();
        for found in &reading.found {
            match &found.verdict {
                Verdict::Ours(read) => prop_assert_eq!(read, &label),
                Verdict::Damaged => {}
                other => prop_assert!(false, "{:?}", other),
            }
        }
        if px >= 3 {
            prop_assert_eq!(reading.found.len(), 1);
        }
    }
}
