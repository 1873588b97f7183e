//! Quality of printed labels in a photo, in plain words.

use super::label::thing;
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::label::Corner;
use crate::wire::label_quality::{LabelQuality, PhotoQuality, QualityParameter};
use slotkeep_domain::label::LabelCode;
use slotkeep_optics::{
    Found, Grade, Graded, Grey, Limits, PATIENCE, Quality, Surety, Verdict, decode, quality,
    read_photo,
};
use slotkeep_store::Reader;

pub(super) fn commands() -> Vec<Command> {
    vec![table::look(
        "label.quality",
        "Grades the print of every label in a photo or scan, and says what it means.",
        graded,
    )]
}

fn graded(ask: &Ask<'_>, bytes: &[u8]) -> Result<PhotoQuality, Failure> {
    let refused = |refusal: slotkeep_optics::PhotoRefusal| Failure::bad_input(refusal.to_string());
    let known = ask.known_labels()?;
    let reading = read_photo(bytes, &Limits::default(), &known, PATIENCE).map_err(refused)?;
    let grey = decode(bytes, &Limits::default()).map_err(refused)?;
    let labels = ask.read(|r| {
        let ours = reading.found.iter().filter_map(|found| match &found.verdict {
            Verdict::Ours(label) => Some(of_label(r, &grey, found, label)),
            _ => None,
        });
        Ok(ours.collect::<Vec<_>>())
    })?;
    let weak = labels.iter().filter(|label| label.grade.is_some_and(|grade| grade < 2)).count();
    let known = labels.iter().filter(|label| label.grade.is_some()).count();
    let message = match (labels.len(), known, weak) {
        (0, ..) => "no label of ours was read: go closer, hold still, avoid glare".to_owned(),
        (all, 0, _) => format!("{all} labels read, none large enough here to be graded: go closer"),
        (_, known, 0) => format!("{known} labels graded, none has to be printed again"),
        (_, known, weak) => format!("{known} labels graded, {weak} of them weak"),
    };
    Ok(PhotoQuality { width_px: reading.width, height_px: reading.height, labels, message })
}

fn of_label(r: &Reader<'_>, grey: &Grey, found: &Found, label: &LabelCode) -> LabelQuality {
    let known = thing(r, label.as_str());
    let name = if known.key.is_some() { known.message } else { String::new() };
    let graded = quality(grey, found.corners, &found.text);
    let corners = graded.as_ref().map_or(found.corners, |quality| quality.corners);
    let mut line = LabelQuality {
        label: label.to_string(),
        label_human: label.human(),
        name,
        corners: corners.iter().map(|&(x, y)| Corner { x, y }).collect(),
        grade: None,
        letter: None,
        version: None,
        level: None,
        module_px: None,
        growth_pct: None,
        parameters: Vec::new(),
        message: String::new(),
    };
    match graded {
        Err(refusal) => line.message = refusal.to_string(),
        Ok(quality) => {
            let decoded = found.surety == Surety::Corrected;
            let overall = if decoded { quality.overall } else { Grade(0) };
            line.grade = Some(overall.0);
            line.letter = Some(overall.letter().to_string());
            line.version = Some(quality.version);
            line.level = Some(format!("{:?}", quality.level));
            line.module_px = Some(quality.module_px);
            line.growth_pct = Some(quality.growth * 100.0);
            line.message = match decoded {
                true => meaning(&quality),
                false => "too poor to be decoded, only recognised among the labels of the \
                          register: compare the line beside it, and print it again where a sharper \
                          photo is no better"
                    .to_owned(),
            };
            line.parameters = parameters(&quality, decoded);
        }
    }
    line
}

fn parameters(quality: &Quality, decoded: bool) -> Vec<QualityParameter> {
    let line = |name: &str, title: &str, graded: Graded, value: String| QualityParameter {
        name: name.to_owned(),
        title: title.to_owned(),
        value,
        grade: graded.grade.0,
        letter: graded.grade.letter().to_string(),
    };
    let share = |graded: Graded| format!("{:.0} %", graded.value * 100.0);
    let (decode, said) = if decoded { (4, "read") } else { (0, "not read") };
    let decode = Graded { value: f64::from(u8::from(decoded)), grade: Grade(decode) };
    vec![
        line("decode", "Decode", decode, said.to_owned()),
        line("contrast", "Symbol contrast", quality.contrast, share(quality.contrast)),
        line("modulation", "Modulation", quality.modulation, share(quality.modulation)),
        line("margin", "Reflectance margin", quality.margin, share(quality.margin)),
        line(
            "unused_correction",
            "Unused error correction",
            quality.unused_correction,
            share(quality.unused_correction),
        ),
        line("axial", "Axial non-uniformity", quality.axial, share(quality.axial)),
        line(
            "grid",
            "Grid non-uniformity",
            quality.grid,
            format!("{:.2} modules", quality.grid.value),
        ),
        line(
            "fixed_patterns",
            "Fixed pattern damage",
            quality.fixed_patterns,
            format!("{:.0} modules", quality.fixed_patterns.value),
        ),
    ]
}

/// Says in plain words what the lowest grade comes from, and what to do.
fn meaning(quality: &Quality) -> String {
    let Grade(overall) = quality.overall;
    let when = match overall {
        4 => return "good in everything".to_owned(),
        3 => "good; a little",
        2 => "still read well, but",
        1 => "print it again soon:",
        _ => "print it again now:",
    };
    let causes = [
        (quality.contrast, "faded: dark parts have become light, or the paper dark"),
        (quality.fixed_patterns, "damaged in the patterns by which readers find it"),
        (quality.unused_correction, "dirty or damaged: clean it, and see whether the grade rises"),
        (
            quality.axial,
            "stretched one way: the printer's feed is off, or the photo was taken at a slant",
        ),
        (quality.grid, "bent or warped: it does not lie flat, or the paper slipped in the printer"),
        (
            quality.modulation,
            "uneven or not sharp: worn print head or ribbon, or a photo out of focus",
        ),
        (quality.margin, "dirty or worn in places"),
    ];
    let of_lowest = causes.iter().filter(|(graded, _)| graded.grade.0 == overall);
    let said: Vec<&str> = of_lowest.map(|(_, cause)| *cause).take(2).collect();
    // Blur moves modules across the threshold, which then count as damage: the photo comes first.
    let damaged = quality.fixed_patterns.grade.0.min(quality.unused_correction.grade.0) == overall;
    if damaged && quality.modulation.value < 0.1 {
        return "damaged, or the photo is not sharp: take a sharper photo, and print the label \
                again where that is no better"
            .to_owned();
    }
    format!("{when} {}", said.join("; "))
}
