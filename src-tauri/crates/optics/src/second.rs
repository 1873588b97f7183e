//! Damaged symbols of any size, enlarged one by one and given to both readers.

use crate::first;
use crate::photo::Grey;
use crate::read::{Found, Reader, Verdict, merge};
use image::GrayImage;
use image::imageops::{self, FilterType};
use std::panic::AssertUnwindSafe;
use std::time::Instant;

/// Parts of an image are at most this many px a side after enlarging.
const MOST_PX: f32 = 700.0;

/// Looks again at each damaged symbol, until the time is over.
pub fn damaged(grey: &Grey, found: &mut Vec<Found>, until: Instant) {
    let places: Vec<Found> =
        found.iter().filter(|f| f.verdict == Verdict::Damaged).cloned().collect();
    for place in places {
        if Instant::now() >= until {
            return;
        }
        let Some((part, left, top, scale)) = cut(grey, &place) else { continue };
        let sharp = sharpened(&part);
        let mut more = first::part(&part, left, top, scale);
        if !more.iter().any(Found::is_read) {
            more.extend(first::part(&sharp, left, top, scale));
        }
        if !more.iter().any(Found::is_read) {
            more.extend(by_second(&sharp, left, top, scale));
        }
        more.retain(Found::is_read);
        merge(found, more);
    }
}

/// The surroundings of a symbol in about twice their size.
fn cut(grey: &Grey, place: &Found) -> Option<(Grey, f32, f32, f32)> {
    let side = place.side().max(20.0);
    let (x, y) = place.centre();
    let edge = |at: f32, most: u32| (at.max(0.0) as u32).min(most);
    let (left, right) = (edge(x - side * 1.1, grey.width), edge(x + side * 1.1, grey.width));
    let (top, bottom) = (edge(y - side * 1.1, grey.height), edge(y + side * 1.1, grey.height));
    let (width, height) = (right.checked_sub(left)?, bottom.checked_sub(top)?);
    if width < 20 || height < 20 {
        return None;
    }
    let part = GrayImage::from_fn(width, height, |x, y| {
        image::Luma([grey.values[((top + y) * grey.width + left + x) as usize]])
    });
    let scale = (MOST_PX / width.max(height) as f32).min(2.0);
    let to = |side: u32| (side as f32 * scale).round().max(1.0) as u32;
    let large = imageops::resize(&part, to(width), to(height), FilterType::CatmullRom);
    let part = Grey { width: large.width(), height: large.height(), values: large.into_raw() };
    Some((part, left as f32, top as f32, scale))
}

/// Each pixel moved away from the mean around it (unsharp mask of 4 px, three times).
fn sharpened(part: &Grey) -> Grey {
    let Some(image) = GrayImage::from_raw(part.width, part.height, part.values.clone()) else {
        return part.clone();
    };
    let soft = imageops::blur(&image, 2.0);
    let sharp = |(value, mean): (&u8, &u8)| {
        (f32::from(*value) + 3.0 * (f32::from(*value) - f32::from(*mean))).clamp(0.0, 255.0) as u8
    };
    let values = part.values.iter().zip(soft.as_raw()).map(sharp).collect();
    Grey { values, ..*part }
}

/// Reads with the second reader, black and white by the mean around each pixel.
fn by_second(part: &Grey, left: f32, top: f32, scale: f32) -> Vec<Found> {
    let Some(image) = GrayImage::from_raw(part.width, part.height, part.values.clone()) else {
        return Vec::new();
    };
    let mean = imageops::blur(&image, 12.0);
    // This reader is known to fail an assertion on some photos; that costs its finds only.
    let read = std::panic::catch_unwind(AssertUnwindSafe(|| {
        let mut image = rqrr::PreparedImage::prepare_from_bitmap(
            part.width as usize,
            part.height as usize,
            |x, y| {
                let at = y * part.width as usize + x;
                f32::from(part.values[at]) < f32::from(mean.as_raw()[at]) - 2.0
            },
        );
        let grids = image.detect_grids();
        let texts = grids.iter().filter_map(|grid| {
            let (_, text) = grid.decode().ok()?;
            let corner = |p: rqrr::Point| (left + p.x as f32 / scale, top + p.y as f32 / scale);
            Some(Found::of_text(text, grid.bounds.map(corner), Reader::Second))
        });
        texts.collect::<Vec<_>>()
    }));
    read.unwrap_or_default()
}
