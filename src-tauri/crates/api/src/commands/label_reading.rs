use super::label::thing;
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::label::{
    self as wire, Corner, FoundLabel, FoundRail, MergeInput, MergedRails, PhotoReading, Thing,
    ThingKind,
};
use slotkeep_optics::{
    Limits, PATIENCE, SeenLabel, Surety, Verdict, decode, merged, read_frame, read_photo,
};
use slotkeep_store::Reader;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::look("label.read_photo", "Reads every label in a photo.", photo),
        table::ask(
            "label.merge_rails",
            "Puts the rails of several overlapping photos together.",
            merge_rails,
        ),
        table::look("label.read_frame", "Reads the labels in one frame of a camera, fast.", frame),
    ]
}

fn photo(ask: &Ask<'_>, bytes: &[u8]) -> Result<PhotoReading, Failure> {
    let known = ask.known_labels()?;
    let reading = read_photo(bytes, &Limits::default(), &known, PATIENCE)
        .map_err(|refusal| Failure::bad_input(refusal.to_string()))?;
    answer(ask, &reading)
}

fn frame(ask: &Ask<'_>, bytes: &[u8]) -> Result<PhotoReading, Failure> {
    let grey = decode(bytes, &Limits::default())
        .map_err(|refusal| Failure::bad_input(refusal.to_string()))?;
    answer(ask, &read_frame(&grey))
}

/// More labels than any rail holds; longer lists are no rails.
const MOST_LABELS: usize = 10_000;

fn merge_rails(ask: &Ask<'_>, input: MergeInput) -> Result<MergedRails, Failure> {
    let count = input.photos.iter().flatten().flatten().count();
    if count > MOST_LABELS {
        return Err(Failure::bad_input(format!(
            "{count} labels were sent, at most {MOST_LABELS} are put together: send the photos of \
             one cabinet"
        )));
    }
    let seen = |label: wire::SeenLabel| SeenLabel { text: label.text, confirm: label.confirm };
    let rail = |rail: Vec<wire::SeenLabel>| rail.into_iter().map(seen).collect::<Vec<_>>();
    let photos: Vec<Vec<Vec<SeenLabel>>> =
        input.photos.into_iter().map(|rails| rails.into_iter().map(rail).collect()).collect();
    let rails = merged(&photos);
    let labels: usize = rails.iter().map(|rail| rail.labels.len()).sum();
    let moved: usize = rails.iter().map(|rail| rail.contradictions.len()).sum();
    let mut message =
        format!("{labels} labels on {} rails from {} photos", rails.len(), photos.len());
    if moved > 0 {
        message += &format!(
            "; the photos disagree about the place of {moved}: look there, or take the photos again"
        );
    }
    let rails = ask.read(|r| Ok(rails.into_iter().map(|rail| in_rail(r, rail)).collect()))?;
    Ok(MergedRails { rails, message })
}

fn in_rail(r: &Reader<'_>, rail: slotkeep_optics::MergedRail) -> wire::MergedRail {
    let label = |label: slotkeep_optics::MergedLabel| wire::MergedLabel {
        photos: label.photos as u32,
        confirm: label.confirm,
        thing: thing(r, &label.text),
    };
    wire::MergedRail {
        labels: rail.labels.into_iter().map(label).collect(),
        contradictions: rail.contradictions,
    }
}

fn answer(ask: &Ask<'_>, reading: &slotkeep_optics::PhotoReading) -> Result<PhotoReading, Failure> {
    let found =
        ask.read(|r| Ok(reading.found.iter().map(|found| in_photo(r, found)).collect::<Vec<_>>()))?;
    let own = found.iter().filter(|found| found.thing.key.is_some()).count();
    let message = match (found.len(), own) {
        (0, _) => "no label was found: go closer, hold still, avoid glare".to_owned(),
        (all, own) if all == own => format!("{own} labels read"),
        (all, own) => format!("{all} symbols found, {own} of them labels in the register"),
    };
    let rails = reading.rails.iter().map(|rail| FoundRail {
        order: rail.order.iter().map(|at| *at as u32).collect(),
        pitch_px: rail.pitch_px,
    });
    Ok(PhotoReading {
        width_px: reading.width,
        height_px: reading.height,
        found,
        rails: rails.collect(),
        message,
    })
}

fn in_photo(r: &Reader<'_>, found: &slotkeep_optics::Found) -> FoundLabel {
    let mut thing = match &found.verdict {
        Verdict::Ours(label) => thing(r, label.as_str()),
        Verdict::Foreign(_) => thing(r, &found.text),
        Verdict::Misread(why) => damaged(&found.text, why),
        Verdict::Damaged => damaged(
            "",
            "a symbol is here, but too much of it is dirty, hidden or blurred: clean it, take a \
             closer photo, or type the line beside it",
        ),
    };
    if let Surety::Recognised { .. } = found.surety {
        thing.message = format!(
            "recognised, confirm: {}; the symbol is too poor to prove it, so compare the line \
             printed beside it or take another photo",
            thing.message
        );
    }
    FoundLabel {
        corners: found.corners.iter().map(|&(x, y)| Corner { x, y }).collect(),
        symbology: found.symbology.clone(),
        reader: match found.reader {
            slotkeep_optics::Reader::First => "first",
            slotkeep_optics::Reader::Enlarged => "enlarged",
            slotkeep_optics::Reader::Equalised => "equalised",
            slotkeep_optics::Reader::Second => "second",
            slotkeep_optics::Reader::Register => "register",
        }
        .to_owned(),
        surety: match found.surety {
            Surety::Corrected => "corrected",
            Surety::Recognised { .. } => "recognised",
            Surety::Unread => "unread",
        }
        .to_owned(),
        confirm: matches!(found.surety, Surety::Recognised { .. }),
        thing,
    }
}

fn damaged(text: &str, why: &str) -> Thing {
    Thing {
        kind: ThingKind::Damaged,
        text: text.chars().take(60).collect(),
        label: None,
        label_human: None,
        key: None,
        scrapped: false,
        message: why.to_owned(),
    }
}
