//! All symbols of an image, fast first and then with patience.

use crate::known::KnownLabels;
use crate::photo::{Grey, Limits, PhotoRefusal, decode};
use crate::pose::Pose;
use crate::rail::{self, Rail};
use crate::{finder, first, recognise, second, sight};
use slotkeep_domain::in_parallel;
use slotkeep_domain::label::LabelCode;
use std::time::{Duration, Instant};

/// Every symbol found in a photo, left to right.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoReading {
    pub width: u32,
    pub height: u32,
    pub found: Vec<Found>,
    /// Rows of symbols, the uppermost first.
    pub rails: Vec<Rail>,
}

/// One symbol in an image.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// What it says; empty when it could not be decoded.
    pub text: String,
    /// E.g. `QR Code`.
    pub symbology: String,
    /// Corners in px, from the symbol's own top left, clockwise.
    pub corners: [(f32, f32); 4],
    pub reader: Reader,
    pub verdict: Verdict,
    pub surety: Surety,
}

/// Which pass read it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reader {
    First,
    /// The first reader on an enlarged part of the image.
    Enlarged,
    /// Our own look at small symbols, with blur and light taken out.
    Equalised,
    Second,
    /// Compared with the labels of the register, beyond what any correction mends.
    Register,
}

/// How sure a text is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Surety {
    /// The symbol's own error correction holds.
    Corrected,
    /// No correction holds, but one known label agrees. A foreign symbol would do so with a
    /// probability of at most 10 to this power, −9 or less.
    Recognised {
        log10_chance: f32,
    },
    Unread,
}

/// Whose it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    Ours(LabelCode),
    /// Read, but no label of ours; with the reason.
    Foreign(String),
    /// Looks like one of our labels, but its check character is wrong.
    Misread(String),
    /// A symbol is there, but too much of it is gone.
    Damaged,
}

/// The time for a photo unless another is asked for.
pub const PATIENCE: Duration = Duration::from_millis(1_600);

/// Reads every label in a photo.
///
/// The fast reader goes first. Then small and blurred symbols are looked at one by one, with
/// blur and light taken out; what the correction cannot mend is compared with the known labels;
/// places that a rail of labels leaves open are looked at too. Last, other damaged symbols are
/// enlarged and given to both readers. No pass begins after `patience`, and a pass that has begun
/// ends within about 0.2 s on two cores. Makers' own codes are read too and said to be foreign.
///
/// Memory beside the image: at most 150 MB, whatever its size.
///
/// Fails when the file is no safe, whole image.
pub fn read_photo(
    bytes: &[u8],
    limits: &Limits,
    known: &KnownLabels,
    patience: Duration,
) -> Result<PhotoReading, PhotoRefusal> {
    let until = Instant::now() + patience;
    let grey = decode(bytes, limits)?;
    Ok(read_grey(&grey, known, until))
}

/// Reads an image in memory as [`read_photo`] does.
pub fn read_grey(grey: &Grey, known: &KnownLabels, until: Instant) -> PhotoReading {
    let mut found = first::photo(grey);
    for tile in finder::tiles(grey) {
        if Instant::now() >= until {
            break;
        }
        let poses = finder::symbols(&tile.cut(grey));
        let poses = poses.iter().map(|pose| pose.reduced(-tile.left(), -tile.top(), 1.0)).collect();
        look_at(grey, known, &mut found, poses, until);
    }
    let damaged = found.iter().filter(|f| f.verdict == Verdict::Damaged);
    let places = damaged.filter_map(|f| Pose::of_corners(&f.corners)).map(|p| p.flat()).collect();
    look_at(grey, known, &mut found, places, until);
    let places = rail::open_places(grey, &found);
    look_at(grey, known, &mut found, places, until);
    second::damaged(grey, &mut found, until);
    reading(grey, found)
}

/// Reads a camera frame: the first pass only, so that it keeps up.
pub fn read_frame(grey: &Grey) -> PhotoReading {
    let found = first::frame(grey);
    reading(grey, found)
}

fn reading(grey: &Grey, mut found: Vec<Found>) -> PhotoReading {
    drop_shadows(&mut found);
    found.sort_by(|a, b| a.centre().0.total_cmp(&b.centre().0));
    let rails = rail::rails(&found);
    PhotoReading { width: grey.width, height: grey.height, found, rails }
}

/// Drops what looks like a damaged symbol but overlaps one that was read.
fn drop_shadows(found: &mut Vec<Found>) {
    let read: Vec<_> =
        found.iter().filter(|f| f.is_read()).map(|f| (f.centre(), f.side())).collect();
    let overlaps = |shadow: &Found| {
        let (x, y) = shadow.centre();
        read.iter().any(|((rx, ry), side)| (rx - x).hypot(ry - y) < *side)
    };
    found.retain(|one| one.is_read() || !overlaps(one));
}

/// Looks at places where nothing was read, while there is time.
fn look_at(
    grey: &Grey,
    known: &KnownLabels,
    found: &mut Vec<Found>,
    places: Vec<Pose>,
    until: Instant,
) {
    let open = |pose: &Pose| {
        let near = pose.module_px() * 10.0;
        let (x, y) = pose.centre();
        !found.iter().any(|f| {
            let (fx, fy) = f.centre();
            f.is_read() && (f64::from(fx) - x).hypot(f64::from(fy) - y) < near
        })
    };
    let places: Vec<Pose> = places.into_iter().filter(open).collect();
    let seen = in_parallel(&places, |pose| {
        if Instant::now() < until { symbol_at(grey, known, pose) } else { None }
    });
    merge(found, seen.into_iter().flatten().collect());
}

fn symbol_at(grey: &Grey, known: &KnownLabels, pose: &Pose) -> Option<Found> {
    let text = std::cell::OnceCell::new();
    let sight = sight::look(grey, pose, |sight| {
        recognise::decoded(sight).is_some_and(|read| text.set(read).is_ok())
    })?;
    let corners = sight.pose.corners();
    if let Some(text) = text.into_inner().or_else(|| recognise::decoded(&sight)) {
        return Some(Found::of_text(text, corners, Reader::Equalised));
    }
    if let Some(found) = recognise::known(&sight, known) {
        let surety = Surety::Recognised { log10_chance: found.log10_chance };
        let text = found.label.to_string();
        return Some(Found { surety, ..Found::of_text(text, corners, Reader::Register) });
    }
    sight.is_symbol().then(|| Found::damaged(corners, Reader::Equalised))
}

impl Found {
    pub(crate) fn of_text(text: String, corners: [(f32, f32); 4], reader: Reader) -> Self {
        Self {
            verdict: judge(&text),
            text,
            symbology: first::QR.to_owned(),
            corners,
            reader,
            surety: Surety::Corrected,
        }
    }

    pub(crate) fn damaged(corners: [(f32, f32); 4], reader: Reader) -> Self {
        Self {
            text: String::new(),
            symbology: first::QR.to_owned(),
            corners,
            reader,
            verdict: Verdict::Damaged,
            surety: Surety::Unread,
        }
    }

    pub fn is_read(&self) -> bool {
        self.verdict != Verdict::Damaged
    }

    pub(crate) fn centre(&self) -> (f32, f32) {
        let sum = self.corners.iter().fold((0.0, 0.0), |sum, c| (sum.0 + c.0, sum.1 + c.1));
        (sum.0 / 4.0, sum.1 / 4.0)
    }

    /// Length of the upper edge, px.
    pub(crate) fn side(&self) -> f32 {
        let [a, b, ..] = self.corners;
        (a.0 - b.0).hypot(a.1 - b.1)
    }
}

pub(crate) fn judge(text: &str) -> Verdict {
    use slotkeep_domain::label::LabelRefusal::{Character, Check, Foreign, Kind, Length, Prefix};
    match LabelCode::parse_scan(text) {
        Ok(label) => Verdict::Ours(label),
        Err(refusal @ Check(_)) => Verdict::Misread(refusal.to_string()),
        Err(refusal @ (Foreign(_) | Length { .. } | Character { .. } | Kind(_) | Prefix(_))) => {
            Verdict::Foreign(refusal.to_string())
        }
    }
}

/// Adds finds that are at places where nothing better was found before.
pub(crate) fn merge(found: &mut Vec<Found>, more: Vec<Found>) {
    for new in more {
        let twin = found.iter_mut().find(|old| same_place(old, &new));
        match twin {
            Some(old) if !old.is_read() => *old = new,
            Some(_) => {}
            None => found.push(new),
        }
    }
}

fn same_place(a: &Found, b: &Found) -> bool {
    let ((ax, ay), (bx, by)) = (a.centre(), b.centre());
    let near = a.side().max(b.side()) / 2.0;
    (ax - bx).hypot(ay - by) < near.max(4.0)
}
