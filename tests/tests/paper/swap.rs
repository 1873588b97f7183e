//! The method statement of a swap, and the list of its effects.

use crate::printed::{code, decode, flat, human, in_order, pages, pdf_text, symbol, text_by_page};
use chrono::NaiveDate;
use slotkeep_paper::{
    EffectRow, EffectsSheet, LoopEffect, PageSize, ScanLabel, Section, Severity, SwapFinding,
    SwapSheet, SwapStep, effects_sheet, swap_sheet,
};

#[test]
fn a_swap_sheet_opens_with_the_cautions_and_ends_with_signatures() {
    let text = flat(&pdf_text(&swap_sheet(&swap())));
    let order = [
        "Method statement +K12.2.07",
        "Before any work",
        "Permit and isolation",
        "Running loops",
        "Electrostatic discharge",
        "Hazardous areas",
        "Lithium cells",
        "This program does not replace local codes, the maker's instructions or licensed practice.",
        "What is swapped",
        "PX-DI16, MPU-AAA-BBB-C",
        "PX-DI16, MPU-4F7-Q2K-9",
        "Verdict",
        "STOP",
        "Caution",
        "In order",
        "Effects on running loops",
        "26 other units are disturbed",
        "LIC-4001",
        "Steps",
        "All steps take about 35 min.",
        "1. Scan the label",
        "Label: MPS-000-123-4",
        "Reading: ______________ V (20.4 to 28.8 V)",
        "12. Step number 12",
        "Signatures",
        "Technician",
        "Second person",
        "Control room",
    ];
    in_order(&text, &order);
}

#[test]
fn a_list_of_effects_opens_with_the_cautions_and_keeps_every_loop_over_its_pages() {
    let row = |n: usize| EffectRow {
        tag: format!("LIC-{n:04}"),
        channel: (n % 16).to_string(),
        service: "Level".to_owned(),
        happens: "Valve closes".to_owned(),
        to_do: "put the controller in manual".to_owned(),
        safety_function: n == 7,
    };
    let sheet = EffectsSheet {
        page: PageSize::A4,
        site: "Marrow Point desalination works".to_owned(),
        printed_on: NaiveDate::from_ymd_opt(2026, 3, 2).unwrap(),
        revision: "Register at entry 4711, 0a1b2c3d4e5f".to_owned(),
        slot_address: "+K12.1.02".to_owned(),
        slot_detail: "Filter bed 1, vital".to_owned(),
        unit: "PX-CP, MPU-AAA-BBB-C".to_owned(),
        message: "14 loops are wired to +K12.1.02".to_owned(),
        redundancy: "there is no redundant partner".to_owned(),
        isolates: Some("+K12.1".to_owned()),
        loops: (0..14).map(row).collect(),
        disturbed: (0..9)
            .map(|unit| Section {
                title: format!("+K12.1.{:02} PX-AI8, its rail is isolated", unit + 3),
                rows: (0..unit).map(|n| row(100 * (unit + 1) + n)).collect(),
            })
            .collect(),
        scan: ScanLabel {
            title: "Slot +K12.1.02".to_owned(),
            human_line: human(&code(1)),
            symbol: symbol(&code(1)),
        },
    };
    for page in [PageSize::A4, PageSize::Letter] {
        let pages = text_by_page(&effects_sheet(&EffectsSheet { page, ..sheet.clone() }));
        assert!(pages.len() > 2);
        for (index, text) in pages.iter().enumerate() {
            assert!(text.contains(&format!("Page {} of {}", index + 1, pages.len())), "{text}");
            assert!(text.contains("Register at entry 4711"), "{text}");
        }
        let all = flat(&pages.concat());
        let order = [
            "Before any work",
            "Permit and isolation",
            "rail +K12.1 is isolated",
            "LIC-0000",
            "LIC-0013",
            "+K12.1.11 PX-AI8",
            "LIC-0907",
            "Control room, after work",
        ];
        in_order(&all, &order);
        assert_eq!(all.matches("SAFETY FUNCTION").count(), 1);
        assert_eq!(all.matches("No loop is recorded on it.").count(), 1);
    }
}

#[test]
fn pages_are_numbered_and_every_row_survives_the_page_break() {
    let mut sheet = swap();
    sheet.loops = (0..120)
        .map(|n| LoopEffect {
            tag: format!("LIC-{n:04}"),
            channel: format!("{n}"),
            effect: "Manual at the last value; operations hold the level by hand.".to_owned(),
        })
        .collect();
    // Higher than a page: such a row is broken, never cut off.
    sheet.loops[3].effect = (0..900).map(|n| format!("word{n} ")).collect();
    for page in [PageSize::A4, PageSize::Letter] {
        let pdf = swap_sheet(&SwapSheet { page, ..sheet.clone() });
        let pages = text_by_page(&pdf);
        assert!(pages.len() > 5);
        for (index, text) in pages.iter().enumerate() {
            assert!(text.contains(&format!("Page {} of {}", index + 1, pages.len())), "{text}");
            assert!(text.contains("swap at +K12.2.07"), "{text}");
            assert!(text.contains("Register: 1208 entries, 6ca855117447"), "{text}");
        }
        let all = flat(&pages.concat());
        for n in 0..120 {
            assert!(all.contains(&format!("LIC-{n:04}")), "loop {n}");
        }
        for n in 0..900 {
            assert!(all.contains(&format!("word{n} ")), "word {n}");
        }
        assert!(pages.iter().filter(|text| text.contains("Cleared by (sign)")).count() > 3);
    }
}

#[test]
fn the_symbols_of_a_swap_sheet_are_read_by_a_camera_one_at_a_time() {
    let pdf = swap_sheet(&swap());
    let page = &pages(&pdf, 300)[0];
    let half = page.width / 2;
    let left = page.crop((0, 0, half, page.height));
    let right = page.crop((half, 0, page.width - half, page.height));
    assert_eq!(decode(&[left]), [code(1)]);
    assert_eq!(decode(&[right]), [code(2)]);
}

pub fn swap() -> SwapSheet {
    let finding = |severity, text: &str, answer: &str| SwapFinding {
        severity,
        text: text.to_owned(),
        answer: answer.to_owned(),
    };
    let mut steps = vec![
        SwapStep {
            text: "Scan the label of slot +K12.2.07.".to_owned(),
            detail: "A wrong label stops the work here.".to_owned(),
            check: "Label: MPS-000-123-4".to_owned(),
            duration: "1 min".to_owned(),
        },
        SwapStep {
            text: "Have operations put 2 loops in manual or bypass.".to_owned(),
            detail: "Loops on this unit: LIC-4001, FIC-4002.".to_owned(),
            check: String::new(),
            duration: "10 min".to_owned(),
        },
    ];
    steps.extend((3..=16).map(|n| SwapStep {
        text: format!("Step number {n} of this swap."),
        detail: "Unlatched means switched off. Never pull a latched module.".to_owned(),
        check: if n == 7 { "Reading: ______________ V (20.4 to 28.8 V)" } else { "" }.to_owned(),
        duration: String::new(),
    }));
    let scan = |title: &str, n: usize| ScanLabel {
        title: title.to_owned(),
        human_line: human(&code(n)),
        symbol: symbol(&code(n)),
    };
    SwapSheet {
        page: PageSize::A4,
        site: "Marrow Point desalination works".to_owned(),
        printed_on: NaiveDate::from_ymd_opt(2026, 3, 2).unwrap(),
        reference: "0199-7c1e".to_owned(),
        revision: "1208 entries, 6ca855117447".to_owned(),
        duration: "All steps take about 35 min.".to_owned(),
        slot_address: "+K12.2.07".to_owned(),
        slot_detail: "compact base, key std BD".to_owned(),
        unit_out: "PX-DI16, MPU-AAA-BBB-C, serial 20117, fitted 2021-06-14".to_owned(),
        unit_in: "PX-DI16, MPU-4F7-Q2K-9, serial 20455, in ST1/A-03".to_owned(),
        verdict: "Stop: the key of the spare does not match the base.".to_owned(),
        findings: vec![
            finding(Severity::Pass, "The model is the one that the slot asks for.", ""),
            finding(
                Severity::Stop,
                "Slot +K12.2.07 is keyed BD, unit MPU-4F7-Q2K-9 is AE.",
                "Fetch a BD module, or correct the register if the base was re-keyed.",
            ),
            finding(
                Severity::Caution,
                "The spare has revision B, the slot had revision C.",
                "Check that the application needs nothing of revision C.",
            ),
        ],
        others: "26 other units are disturbed, with 142 loops: the list names them.".to_owned(),
        loops: ["LIC-4001", "FIC-4002"]
            .iter()
            .enumerate()
            .map(|(n, tag)| LoopEffect {
                tag: (*tag).to_owned(),
                channel: n.to_string(),
                effect: "Loses its measurement while the unit is out.".to_owned(),
            })
            .collect(),
        steps,
        scan: vec![scan("Slot +K12.2.07", 1), scan("Unit that goes in", 2)],
    }
}
