use super::label::thing;
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::label::{Corner, FoundLabel, PhotoReading, Thing, ThingKind};
use slotkeep_optics::{Limits, Verdict, decode, read_frame, read_photo};
use slotkeep_store::Reader;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::look("label.read_photo", "Reads every label in a photo.", photo),
        table::look("label.read_frame", "Reads the labels in one frame of a camera, fast.", frame),
    ]
}

fn photo(ask: &Ask<'_>, bytes: &[u8]) -> Result<PhotoReading, Failure> {
    let reading = read_photo(bytes, &Limits::default())
        .map_err(|refusal| Failure::bad_input(refusal.to_string()))?;
    answer(ask, &reading)
}

fn frame(ask: &Ask<'_>, bytes: &[u8]) -> Result<PhotoReading, Failure> {
    let grey = decode(bytes, &Limits::default())
        .map_err(|refusal| Failure::bad_input(refusal.to_string()))?;
    answer(ask, &read_frame(&grey))
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
    Ok(PhotoReading { width_px: reading.width, height_px: reading.height, found, message })
}

fn in_photo(r: &Reader<'_>, found: &slotkeep_optics::Found) -> FoundLabel {
    let thing = match &found.verdict {
        Verdict::Ours(label) => thing(r, label.as_str()),
        Verdict::Foreign(_) => thing(r, &found.text),
        Verdict::Misread(why) => damaged(&found.text, why),
        Verdict::Damaged => damaged(
            "",
            "a symbol is here, but too much of it is dirty, hidden or blurred: clean it, take a \
             closer photo, or type the line beside it",
        ),
    };
    FoundLabel {
        corners: found.corners.iter().map(|&(x, y)| Corner { x, y }).collect(),
        symbology: found.symbology.clone(),
        reader: match found.reader {
            slotkeep_optics::Reader::First => "first",
            slotkeep_optics::Reader::Enlarged => "enlarged",
            slotkeep_optics::Reader::Second => "second",
        }
        .to_owned(),
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
