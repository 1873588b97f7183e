//! The fast reader.

use crate::photo::Grey;
use crate::read::{Found, Reader, Surety, Verdict, judge};
use zxingcpp::{Barcode, BarcodeError, BarcodeFormat, BarcodeReader, ImageFormat, ImageView};

/// What this reader calls a QR symbol.
pub const QR: &str = "QR Code";

/// Symbols that are taken from one image at most.
const MOST: i32 = 255;

/// Reads QR symbols only: the codes that makers print take three times as long, and a frame that
/// shows none of our labels is one of many.
pub fn frame(grey: &Grey) -> Vec<Found> {
    read(grey, &options(&[BarcodeFormat::QRCode]))
}

/// Reads QR symbols and makers' codes, damaged ones too.
pub fn photo(grey: &Grey) -> Vec<Found> {
    let formats = [BarcodeFormat::QRCode, BarcodeFormat::DataMatrix, BarcodeFormat::Code128];
    read(grey, &options(&formats))
}

/// Reads QR symbols in a part of an image that begins at (`left`, `top`), enlarged by `scale`.
pub fn part(grey: &Grey, left: f32, top: f32, scale: f32) -> Vec<Found> {
    let mut found = read(grey, &options(&[BarcodeFormat::QRCode]));
    for one in &mut found {
        one.reader = Reader::Enlarged;
        one.corners = one.corners.map(|(x, y)| (left + x / scale, top + y / scale));
    }
    found
}

fn options(formats: &[BarcodeFormat]) -> BarcodeReader {
    zxingcpp::read()
        .formats(formats)
        .try_harder(true)
        .try_rotate(true)
        .try_downscale(true)
        .return_errors(true)
        .max_number_of_symbols(MOST)
}

fn read(grey: &Grey, options: &BarcodeReader) -> Vec<Found> {
    let view = ImageView::from_slice(&grey.values, grey.width, grey.height, ImageFormat::Lum);
    let Ok(codes) = view.and_then(|view| options.from(view)) else { return Vec::new() };
    codes.iter().filter_map(found).collect()
}

fn found(code: &Barcode) -> Option<Found> {
    let place = code.position();
    let corner = |point: zxingcpp::PointI| (point.x as f32, point.y as f32);
    let corners = [
        corner(place.top_left),
        corner(place.top_right),
        corner(place.bottom_right),
        corner(place.bottom_left),
    ];
    let (text, verdict, surety) = match code.error() {
        BarcodeError::None() => (code.text(), judge(&code.text()), Surety::Corrected),
        // Stripes and textures look like broken linear codes; only square symbols count.
        _ if code.symbology() == BarcodeFormat::Code128 => return None,
        _ => (String::new(), Verdict::Damaged, Surety::Unread),
    };
    let symbology = code.symbology().to_string();
    Some(Found { text, symbology, corners, reader: Reader::First, verdict, surety })
}
