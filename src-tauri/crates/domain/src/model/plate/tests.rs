use super::*;
use crate::model::{ModelKind, made};

fn today() -> NaiveDate {
    day(2026, 5, 4)
}

fn day(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap()
}

fn model(part_no: &str, maker_codes: &[&str], patterns: &[&str]) -> Model {
    Model {
        maker_codes: maker_codes.iter().map(ToString::to_string).collect(),
        code_patterns: patterns.iter().map(|text| CodePattern::parse(text).unwrap()).collect(),
        ..made(part_no, ModelKind::Module)
    }
}

fn models() -> Vec<Model> {
    vec![
        model(
            "MP-AI08-C",
            &["09521234543213"],
            &["(?<part>[A-Z0-9-]+)/(?<revision>[A-Z])/(?<serial>[0-9]{2}-[0-9]{6})"],
        ),
        model(
            "MP-DI16-C",
            &["DI16"],
            &["(?<part>[A-Z0-9-]+)/(?<revision>[A-Z])/(?<serial>[0-9]{2}-[0-9]{6})"],
        ),
        model("MP-PS03", &[], &["SN(?<serial>[0-9]{8})D(?<date>[0-9]{4})"]),
    ]
}

fn proposed(texts: &[&str]) -> Vec<Proposal> {
    let texts: Vec<String> = texts.iter().map(ToString::to_string).collect();
    propose(&texts, &models(), today())
}

/// The model, the serial number, and which texts they were read from.
fn short(texts: &[&str]) -> Vec<(String, String, Vec<usize>)> {
    let said = |text: Option<String>| text.unwrap_or_else(|| "-".to_owned());
    proposed(texts)
        .into_iter()
        .map(|p| (said(p.model.map(|m| m.to_string())), said(p.plate.serial), p.texts))
        .collect()
}

fn one(model: &str, serial: &str, texts: &[usize]) -> Vec<(String, String, Vec<usize>)> {
    vec![(model.to_owned(), serial.to_owned(), texts.to_vec())]
}

#[test]
fn a_pattern_that_names_the_part_finds_the_model_whatever_line_it_stands_in() {
    assert_eq!(short(&["MP-DI16-C/B/22-004711"]), one("MP-DI16-C", "22-004711", &[0]));
    assert_eq!(short(&["DI16/B/22-004711"]), one("MP-DI16-C", "22-004711", &[0]));
    assert_eq!(proposed(&["DI16/B/22-004711"])[0].plate.revision.as_deref(), Some("B"));
}

#[test]
fn a_pattern_without_a_part_is_of_its_own_model() {
    let found = proposed(&["SN00123456D2419"]);
    assert_eq!(found[0].model.as_ref().unwrap().as_str(), "MP-PS03");
    assert_eq!(found[0].plate.made_on, Some(day(2024, 5, 6)), "week 19 of 2024 begins on 6 May");
    assert_eq!(found[0].by, [Form::Pattern(PartNo::parse("MP-PS03").unwrap())]);
}

#[test]
fn a_pattern_is_held_against_the_whole_code() {
    assert_eq!(short(&["xSN00123456D2419"]), []);
    assert_eq!(short(&["SN00123456D2419x"]), []);
}

#[test]
fn a_part_that_the_catalogue_does_not_have_is_not_guessed() {
    assert_eq!(short(&["MP-XX/B/22-004711"]), []);
}

#[test]
fn a_date_that_is_no_day_reads_nothing() {
    assert_eq!(short(&["SN00123456D2499"]), []);
}

/// The trade item number is an example number of GS1 (prefix 952, for examples only).
#[test]
fn element_strings_are_read_as_printed_and_as_a_scanner_gives_them() {
    for text in [
        "(01)09521234543213(21)AB-12(11)240500",
        "]d201095212345432131124050021AB-12",
        "]C10109521234543213\u{1d}1124050021AB-12\u{1d}",
        "010952123454321321AB-12\u{1d}11240500",
        "https://example.org/01/09521234543213/21/AB-12",
    ] {
        let found = proposed(&[text]);
        assert_eq!(found.len(), 1, "{text}");
        assert_eq!(found[0].model.as_ref().unwrap().as_str(), "MP-AI08-C", "{text}");
        assert_eq!(found[0].plate.serial.as_deref(), Some("AB-12"), "{text}");
        if !text.starts_with("https") {
            assert_eq!(
                found[0].plate.made_on,
                Some(day(2024, 5, 31)),
                "{text}: day 00 is the last"
            );
        }
    }
}

#[test]
fn the_additional_identification_goes_before_the_trade_item() {
    let found = proposed(&["(01)09521234543213(240)MP-PS03(21)7"]);
    assert_eq!(found[0].model.as_ref().unwrap().as_str(), "MP-PS03");
}

#[test]
fn other_identifiers_are_passed_over() {
    let text = "]C1310300125041209521234543213911\u{1d}21X9\u{1d}10L5";
    let found = proposed(&[text]);
    let plate = &found.first().unwrap_or_else(|| panic!("{text} is read")).plate;
    assert_eq!((plate.serial.as_deref(), plate.lot.as_deref()), (Some("X9"), Some("L5")));
}

#[test]
fn a_wrong_check_digit_or_a_number_by_chance_is_not_taken_for_a_trade_item() {
    for text in ["(01)09521234543214(21)7", "0109521234543214217", "0123456", "20241130", "(01)"] {
        assert_eq!(short(&[text]), [], "{text}");
    }
}

#[test]
fn a_year_of_two_digits_is_within_fifty_of_this_one() {
    let year = |text: &str| proposed(&[text])[0].plate.made_on.map(|day| day.to_string());
    assert_eq!(year("(21)1(11)760101").as_deref(), Some("2076-01-01"));
    assert_eq!(year("(21)1(11)770101").as_deref(), Some("1977-01-01"));
}

#[test]
fn data_identifiers_in_their_envelope_are_read() {
    let text = "[)>\u{1e}06\u{1d}1PMP-PS03\u{1d}SX-77\u{1d}2PB\u{1d}16D20240131\u{1d}Q1\u{1e}\u{4}";
    let found = proposed(&[text]);
    assert_eq!(found[0].model.as_ref().unwrap().as_str(), "MP-PS03");
    let plate = &found[0].plate;
    assert_eq!(plate.serial.as_deref(), Some("X-77"));
    assert_eq!(plate.revision.as_deref(), Some("B"));
    assert_eq!(plate.made_on, Some(day(2024, 1, 31)));
}

#[test]
fn a_code_for_the_part_and_one_for_the_serial_number_make_one_proposal() {
    let found = short(&["(240)MP-PS03", "(21)X-77"]);
    assert_eq!(found, one("MP-PS03", "X-77", &[0, 1]));
    let turned = short(&["(21)X-77", "noise", "(240)MP-PS03"]);
    assert_eq!(turned, one("MP-PS03", "X-77", &[2, 0]));
}

#[test]
fn the_same_said_twice_is_proposed_once_and_completed() {
    let found = proposed(&["(240)MP-PS03(21)00123456", "SN00123456D2419"]);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].by.len(), 2);
    assert_eq!(found[0].plate.made_on, Some(day(2024, 5, 6)));
}

#[test]
fn two_plates_in_one_photo_are_two_proposals() {
    let found = short(&["DI16/B/22-004711", "DI16/B/22-004712", "(240)MP-PS03"]);
    let serials: Vec<_> = found.iter().map(|(_, serial, _)| serial.as_str()).collect();
    assert_eq!(serials, ["22-004711", "22-004712"]);
}

#[test]
fn a_name_of_two_models_names_neither() {
    let models = [model("A1", &["77"], &[]), model("A2", &["77"], &[])];
    let found = propose(&["(240)77(21)5".to_owned()], &models, today());
    assert_eq!(found[0].model, None);
    assert_eq!(found[0].plate.part.as_deref(), Some("77"));
}

#[test]
fn each_refusal_of_a_pattern_says_what_is_expected() {
    for (text, said) in [
        ("", "1 to 300 characters"),
        ("(?<serial>[0-9]+", "unclosed group"),
        ("(?<serial>\\w{300}){50}", "smaller pattern"),
        ("(?<number>[0-9]+)", "not \"number\""),
        ("[0-9]+", "it reads nothing"),
        ("(?<date>[0-9]{4})", "it reads nothing"),
        ("(?<serial>a)(?=b)", "look-around"),
    ] {
        let refusal = CodePattern::parse(text).unwrap_err().to_string();
        assert!(refusal.contains(said), "{text}: {refusal}");
    }
}

proptest::proptest! {
    #[test]
    fn any_text_is_answered(text in ".{0,80}", digits in "[0-9()\u{1d}]{0,40}") {
        let _ = proposed(&[&text, &digits, &format!("]C1{digits}"), &format!("[)>\u{1e}06{text}")]);
    }
}
