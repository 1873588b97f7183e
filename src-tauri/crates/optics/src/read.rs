use crate::{Limits, PhotoRefusal, decode};
use image::imageops::{self, FilterType};
use image::{GrayImage, ImageBuffer};
use slotkeep_domain::label::LabelCode;
use std::panic::AssertUnwindSafe;
use zxingcpp::{Barcode, BarcodeError, BarcodeFormat, ImageFormat, ImageView};

/// Photos below this many pixels are also looked at in twice their size.
const ENLARGED_BELOW: u64 = 5_000_000;

/// The second reader copies its image often, so it gets at most this many pixels.
const SECOND_READER_PIXELS: f64 = 2_500_000.0;

/// An image in memory: one byte a pixel, row by row, 0 is black.
#[derive(Clone, PartialEq, Eq)]
pub struct Grey {
    pub width: u32,
    pub height: u32,
    pub values: Vec<u8>,
}

/// Every symbol found in a photo, left to right.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoReading {
    pub width: u32,
    pub height: u32,
    pub found: Vec<Found>,
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
}

/// Which pass read it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reader {
    First,
    /// The first reader on the enlarged image.
    Enlarged,
    Second,
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

/// Reads every label in a photo.
///
/// The fast reader goes first; where it leaves room, it looks again at the enlarged image, and a
/// second reader looks for what both missed. Makers' own codes are read too and said to be
/// foreign.
///
/// Fails when the file is no safe, whole image.
pub fn read_photo(bytes: &[u8], limits: &Limits) -> Result<PhotoReading, PhotoRefusal> {
    let grey = decode(bytes, limits)?;
    let mut found = first_reader(&grey, 1.0, Reader::First);
    if u64::from(grey.width) * u64::from(grey.height) <= ENLARGED_BELOW {
        let enlarged = resized(&grey, 2.0);
        merge(&mut found, first_reader(&enlarged, 2.0, Reader::Enlarged));
    }
    merge(&mut found, second_reader(&grey));
    found.sort_by(|a, b| centre(a).0.total_cmp(&centre(b).0));
    Ok(PhotoReading { width: grey.width, height: grey.height, found })
}

/// Reads a camera frame: the first pass only, so that it keeps up.
pub fn read_frame(grey: &Grey) -> PhotoReading {
    let mut found = first_reader(grey, 1.0, Reader::First);
    found.sort_by(|a, b| centre(a).0.total_cmp(&centre(b).0));
    PhotoReading { width: grey.width, height: grey.height, found }
}

fn first_reader(grey: &Grey, scale: f32, reader: Reader) -> Vec<Found> {
    let formats = [BarcodeFormat::QRCode, BarcodeFormat::DataMatrix, BarcodeFormat::Code128];
    let options = zxingcpp::read()
        .formats(formats)
        .try_harder(true)
        .try_rotate(true)
        .try_downscale(true)
        .return_errors(true)
        .max_number_of_symbols(255);
    let view = ImageView::from_slice(&grey.values, grey.width, grey.height, ImageFormat::Lum);
    let Ok(codes) = view.and_then(|view| options.from(view)) else { return Vec::new() };
    codes.iter().filter_map(|code| from_first(code, scale, reader)).collect()
}

fn from_first(code: &Barcode, scale: f32, reader: Reader) -> Option<Found> {
    let place = code.position();
    let corner = |point: zxingcpp::PointI| (point.x as f32 / scale, point.y as f32 / scale);
    let corners = [
        corner(place.top_left),
        corner(place.top_right),
        corner(place.bottom_right),
        corner(place.bottom_left),
    ];
    let (text, verdict) = match code.error() {
        BarcodeError::None() => (code.text(), judge(&code.text())),
        // Stripes and textures look like broken linear codes; only square symbols count.
        _ if code.symbology() == BarcodeFormat::Code128 => return None,
        _ => (String::new(), Verdict::Damaged),
    };
    Some(Found { text, symbology: code.symbology().to_string(), corners, reader, verdict })
}

fn second_reader(grey: &Grey) -> Vec<Found> {
    let pixels = f64::from(grey.width) * f64::from(grey.height);
    let scale = (SECOND_READER_PIXELS / pixels).sqrt().min(1.0);
    let small = if scale < 1.0 { resized(grey, scale as f32) } else { grey.clone() };
    // This reader is known to fail an assertion on some photos; that costs its finds only.
    let read = std::panic::catch_unwind(AssertUnwindSafe(|| {
        let (width, height) = (small.width as usize, small.height as usize);
        let mut image = rqrr::PreparedImage::prepare_from_greyscale(width, height, |x, y| {
            small.values[y * width + x]
        });
        let grids = image.detect_grids();
        grids.iter().filter_map(|grid| from_second(grid, scale as f32)).collect::<Vec<_>>()
    }));
    read.unwrap_or_default()
}

fn from_second<G: rqrr::BitGrid>(grid: &rqrr::Grid<G>, scale: f32) -> Option<Found> {
    let (_, text) = grid.decode().ok()?;
    let corners = grid.bounds.map(|p| (p.x as f32 / scale, p.y as f32 / scale));
    let verdict = judge(&text);
    let symbology = BarcodeFormat::QRCode.to_string();
    Some(Found { text, symbology, corners, reader: Reader::Second, verdict })
}

fn judge(text: &str) -> Verdict {
    use slotkeep_domain::label::LabelRefusal::{Character, Check, Foreign, Kind, Length, Prefix};
    match LabelCode::parse_scan(text) {
        Ok(label) => Verdict::Ours(label),
        Err(refusal @ Check(_)) => Verdict::Misread(refusal.to_string()),
        Err(refusal @ (Foreign(_) | Length { .. } | Character { .. } | Kind(_) | Prefix(_))) => {
            Verdict::Foreign(refusal.to_string())
        }
    }
}

fn resized(grey: &Grey, factor: f32) -> Grey {
    let side = |side: u32| ((side as f32 * factor).round() as u32).max(1);
    let image: Option<GrayImage> =
        ImageBuffer::from_raw(grey.width, grey.height, grey.values.clone());
    let Some(image) = image else { return grey.clone() };
    let resized =
        imageops::resize(&image, side(grey.width), side(grey.height), FilterType::CatmullRom);
    Grey { width: resized.width(), height: resized.height(), values: resized.into_raw() }
}

/// Adds finds that are at places where nothing better was found before.
fn merge(found: &mut Vec<Found>, more: Vec<Found>) {
    for new in more {
        let twin = found.iter_mut().find(|old| same_place(old, &new));
        match twin {
            Some(old) if old.verdict == Verdict::Damaged => *old = new,
            Some(_) => {}
            None => found.push(new),
        }
    }
}

fn same_place(a: &Found, b: &Found) -> bool {
    let ((ax, ay), (bx, by)) = (centre(a), centre(b));
    let near = side(a).max(side(b)) / 2.0;
    (ax - bx).hypot(ay - by) < near.max(4.0)
}

fn centre(found: &Found) -> (f32, f32) {
    let sum = found.corners.iter().fold((0.0, 0.0), |sum, c| (sum.0 + c.0, sum.1 + c.1));
    (sum.0 / 4.0, sum.1 / 4.0)
}

fn side(found: &Found) -> f32 {
    let [a, b, ..] = found.corners;
    (a.0 - b.0).hypot(a.1 - b.1)
}
