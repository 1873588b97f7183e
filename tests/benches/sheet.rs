//! Ten thousand labels from their texts to a PDF, beside an encoder alone on the same texts.

use slotkeep_domain::label::{LabelCode, LabelKind, SitePrefix};
use slotkeep_optics::{Level, symbols};
use slotkeep_paper::{Printing, SheetFormat, SheetLabel, Symbol, label_sheet, lay_out};
use slotkeep_tests::measure::timed;

const LABELS: u32 = 10_000;

fn main() {
    let prefix = SitePrefix::parse("MP").expect("a prefix");
    let codes: Vec<LabelCode> = (0..LABELS)
        .map(|n| {
            let kind = LabelKind::ALL[n as usize % LabelKind::ALL.len()];
            // Spread over all numbers, as a site's labels are.
            LabelCode::allocate(prefix, kind, n.wrapping_mul(2_654_435_761))
        })
        .collect();
    let door = "https://stores.marrow-point.example:8443";
    let short: Vec<String> = codes.iter().map(LabelCode::to_string).collect();
    let links: Vec<String> = codes.iter().map(|code| code.link(door)).collect();
    for (what, texts) in [("label texts", &short), ("links", &links)] {
        for (name, dpi) in [("a4-64x34-24", 600), ("a4-46x21-48", 300), ("roll-50x25", 203)] {
            measure(what, texts, &codes, name, dpi);
        }
    }
}

fn measure(what: &str, texts: &[String], codes: &[LabelCode], name: &str, dpi: u16) {
    let format = SheetFormat::named(name).expect("a format");
    let printing = Printing { dpi, ..Printing::default() };
    let (encoding, labels) = timed(|| labels(texts, codes));
    let (laying_out, _) = timed(|| lay_out(format, &printing, &labels).expect("a layout"));
    let (printing_all, pdf) = timed(|| label_sheet(format, &printing, &labels).expect("a sheet"));
    let (peer, _) = timed(|| texts.iter().map(|text| alone(text)).sum::<usize>());
    let whole = encoding + printing_all;
    println!(
        "{LABELS} {what} on {name} at {dpi} dpi: {} ms (encode {}, lay out {}, lay out, prove and \
         write {}), {:.1} MB; one encoder alone, one thread: {} ms; ratio {:.2}",
        whole.as_millis(),
        encoding.as_millis(),
        laying_out.as_millis(),
        printing_all.as_millis(),
        pdf.len() as f64 / 1e6,
        peer.as_millis(),
        whole.as_secs_f64() / peer.as_secs_f64()
    );
}

fn labels(texts: &[String], codes: &[LabelCode]) -> Vec<SheetLabel> {
    let made = symbols(texts, Level::M).expect("symbols");
    let all = texts.iter().zip(codes).zip(made).enumerate();
    all.map(|(n, ((text, code), made))| SheetLabel {
        text: text.clone(),
        symbol: Symbol::new(made.size, made.modules).expect("a square"),
        human_line: code.human(),
        second_line: format!("PX-DI16 {}", 20_000 + n),
    })
    .collect()
}

/// The peer: the encoder crate itself, at the level that the sheet asks for.
fn alone(text: &str) -> usize {
    fast_qr::QRBuilder::new(text).ecl(fast_qr::ECL::M).build().map_or(0, |made| made.size)
}
