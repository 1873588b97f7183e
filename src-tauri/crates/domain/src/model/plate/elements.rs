//! The open forms of codes: element strings and data identifiers.

use super::Plate;
use chrono::{Datelike, Days, Months, NaiveDate};

/// Ends a variable field: FNC1 within a symbol is handed on as this character.
const GS: char = '\u{1d}';

/// Reads GS1 element strings: 01 trade item, 10 batch, 11 production date, 21 serial number,
/// 240 additional product identification, 241 customer part number. Others are passed over.
///
/// Takes `(01)…(21)…` as it is printed, an address that ends in `/01/…/21/…`, and what a scanner
/// gives: `]C1`, `]d2` or `]Q3` in front and FNC1 as GS. Without that mark in front only a string
/// is taken that begins with a trade item number of a right check digit.
///
/// Source: GS1 General Specifications (identifiers, pre-defined lengths, century of a year, check
/// digit) and GS1 Digital Link (addresses).
pub(super) fn gs1(text: &str, today: NaiveDate) -> Option<Plate> {
    let fields = if text.starts_with('(') {
        printed(text)?
    } else if let Some((_, address)) = text.split_once("://") {
        linked(address)?
    } else {
        let marked = ["]C1", "]d2", "]Q3", "]e0"].iter().find_map(|mark| text.strip_prefix(mark));
        let bare = marked.unwrap_or(text).trim_start_matches(GS);
        if marked.is_none() && !text.starts_with(GS) && !begins_with_item(bare) {
            return None;
        }
        encoded(bare)?
    };
    let value = |wanted: &str| {
        let field = fields.iter().find(|(ai, _)| ai == wanted);
        field.map(|(_, value)| value.clone()).filter(|value| !value.is_empty())
    };
    if value("01").is_some_and(|item| !checks(&item)) {
        return None;
    }
    let made_on = match value("11") {
        Some(digits) => Some(day(&digits, today)?),
        None => None,
    };
    let part = value("240").or_else(|| value("241")).or_else(|| value("01"));
    let plate = Plate { part, serial: value("21"), revision: None, lot: value("10"), made_on };
    let says = plate.part.is_some() || plate.serial.is_some() || plate.lot.is_some();
    says.then_some(plate)
}

type Fields = Vec<(String, String)>;

/// Splits `(01)…(21)…`.
fn printed(text: &str) -> Option<Fields> {
    let mut fields = Fields::new();
    for field in text.split('(').skip(1) {
        match field.split_once(')') {
            Some((ai, value)) if (2..=4).contains(&ai.len()) && digits(ai) => {
                fields.push((ai.to_owned(), value.trim_end_matches(GS).to_owned()));
            }
            // A parenthesis may also stand within a value.
            _ => fields.last_mut()?.1.push_str(&format!("({field}")),
        }
    }
    Some(fields)
}

/// Takes the identifiers out of the path of an address.
fn linked(address: &str) -> Option<Fields> {
    let path = address.split(['?', '#']).next()?;
    let steps: Vec<&str> = path.split('/').skip(1).collect();
    let item = steps.iter().position(|step| *step == "01")?;
    let pairs = steps[item..].chunks_exact(2);
    // Characters written in another way could be misread; such an address is left alone.
    let plain = pairs.clone().all(|pair| digits(pair[0]) && !pair[1].contains('%'));
    plain.then(|| pairs.map(|pair| (pair[0].to_owned(), pair[1].to_owned())).collect())
}

/// Splits what a symbol holds.
fn encoded(text: &str) -> Option<Fields> {
    let mut fields = Fields::new();
    let mut rest = text;
    while !rest.is_empty() {
        let (ai, length) = identifier(rest)?;
        let body = rest.get(ai.len()..)?;
        let end = match length {
            Some(length) => length,
            None => body.find(GS).unwrap_or(body.len()),
        };
        fields.push((ai.to_owned(), body.get(..end)?.to_owned()));
        rest = body.get(end..)?.trim_start_matches(GS);
    }
    Some(fields)
}

/// The identifier that a string begins with, and the length of its field where it is fixed.
///
/// How many digits an identifier has follows from its first two.
fn identifier(text: &str) -> Option<(&str, Option<usize>)> {
    let two = text.get(..2).filter(|two| digits(two))?;
    let (length, fixed) = match two {
        "00" => (2, Some(18)),
        "01" | "02" | "03" => (2, Some(14)),
        "04" => (2, Some(16)),
        "11" | "12" | "13" | "15" | "16" | "17" | "18" | "19" => (2, Some(6)),
        "20" => (2, Some(2)),
        "10" | "21" | "22" | "30" | "37" => (2, None),
        "31" | "32" | "33" | "34" | "35" | "36" => (4, Some(6)),
        "41" => (3, Some(13)),
        "23" | "24" | "25" | "40" | "42" | "71" => (3, None),
        "39" | "43" | "70" | "72" | "80" | "81" | "82" => (4, None),
        _ if two.starts_with('9') => (2, None),
        _ => return None,
    };
    let ai = text.get(..length).filter(|ai| digits(ai))?;
    Some((ai, fixed))
}

fn begins_with_item(text: &str) -> bool {
    text.starts_with("01") && text.get(2..16).is_some_and(checks)
}

/// Whether 14 digits end in the check digit that the others call for.
fn checks(item: &str) -> bool {
    let sum: u32 = item.bytes().rev().enumerate().fold(0, |sum, (at, byte)| {
        let weight = if at % 2 == 1 { 3 } else { 1 };
        sum + weight * u32::from(byte.wrapping_sub(b'0') % 10)
    });
    item.len() == 14 && digits(item) && sum.is_multiple_of(10)
}

/// YYMMDD; the day 00 is the last of the month.
fn day(text: &str, today: NaiveDate) -> Option<NaiveDate> {
    let part = |from: usize| text.get(from..from + 2)?.parse::<i32>().ok();
    let year = part(0)? + today.year() / 100 * 100;
    let year = match year - today.year() {
        51.. => year - 100,
        ..=-50 => year + 100,
        _ => year,
    };
    let (month, day) = (part(2)? as u32, part(4)? as u32);
    match day {
        0 => {
            let first = NaiveDate::from_ymd_opt(year, month, 1)?;
            first.checked_add_months(Months::new(1))?.checked_sub_days(Days::new(1))
        }
        day => NaiveDate::from_ymd_opt(year, month, day),
    }
}

/// Reads data identifiers in the envelope of format 06: 1P or P part number, S serial number, 2P
/// revision, 1T lot, 16D production date. Others are passed over.
///
/// Sources: ISO/IEC 15434 (envelope) and ANSI MH10.8.2 (identifiers); both from memory but 16D.
pub(super) fn data_identifiers(text: &str) -> Option<Plate> {
    let body = text.strip_prefix("[)>")?.trim_start_matches('\u{1e}').strip_prefix("06")?;
    let body = body.trim_end_matches(['\u{4}', '\u{1e}']);
    let mut plate = Plate::default();
    let mut by_customer = None;
    for field in body.split(GS).filter(|field| !field.is_empty()) {
        let letter = field.find(|c: char| c.is_ascii_uppercase())?;
        let (identifier, value) = field.split_at(letter + 1);
        let value = Some(value.to_owned()).filter(|value| !value.is_empty());
        match identifier {
            "1P" => plate.part = value,
            "P" => by_customer = value,
            "S" => plate.serial = value,
            "2P" => plate.revision = value,
            "1T" => plate.lot = value,
            "16D" => {
                plate.made_on = NaiveDate::parse_from_str(&value?, "%Y%m%d").ok();
            }
            _ => {}
        }
    }
    plate.part = plate.part.or(by_customer);
    let says = plate.part.is_some() || plate.serial.is_some() || plate.lot.is_some();
    says.then_some(plate)
}

fn digits(text: &str) -> bool {
    text.bytes().all(|byte| byte.is_ascii_digit())
}
