//! How well and how fast labels are read, beside each reader alone on the same images.
//!
//! `SLOTKEEP_BENCH_PHOTOS` names a folder of photos with their texts beside them (`NAME.txt`);
//! without it, scenes drawn here are read, and the bench says so.

use image::{GrayImage, ImageEncoder, imageops};
use slotkeep_optics::{Level, Limits, Verdict, decode, read_frame, read_photo, symbol};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

struct Photo {
    bytes: Vec<u8>,
    texts: Vec<String>,
}

fn main() {
    let photos = match std::env::var_os("SLOTKEEP_BENCH_PHOTOS").map(PathBuf::from) {
        Some(folder) => from_folder(&folder),
        None => {
            println!("SLOTKEEP_BENCH_PHOTOS is not set: scenes drawn by this bench are read");
            (0..20).map(drawn).collect()
        }
    };
    let wanted: usize = photos.iter().map(|photo| photo.texts.len()).sum();
    println!("{} photos with {wanted} known codes", photos.len());
    let all = measure(&photos, |bytes| {
        read_photo(bytes, &Limits::default())
            .map(|reading| reading.found.into_iter().filter(read).map(|f| f.text).collect())
            .unwrap_or_default()
    });
    let first = measure(&photos, |bytes| {
        decode(bytes, &Limits::default())
            .map(|grey| read_frame(&grey).found.into_iter().filter(read).map(|f| f.text).collect())
            .unwrap_or_default()
    });
    let report = |what: &str, (found, median): (usize, Duration)| {
        println!("{what}: {found} of {wanted}, median {:.1} ms", median.as_secs_f64() * 1e3);
    };
    report("photo (all passes)", all);
    report("frame (first pass only)", first);
    println!(
        "all passes read {:.2} times as many and take {:.1} times as long",
        all.0 as f64 / first.0.max(1) as f64,
        all.1.as_secs_f64() / first.1.as_secs_f64()
    );
}

fn read(found: &slotkeep_optics::Found) -> bool {
    found.verdict != Verdict::Damaged
}

/// How many of the known texts were read, and the median time of a photo.
fn measure(photos: &[Photo], read: impl Fn(&[u8]) -> Vec<String>) -> (usize, Duration) {
    let mut found = 0;
    let mut times = Vec::new();
    for photo in photos {
        let start = Instant::now();
        let mut texts = read(&photo.bytes);
        times.push(start.elapsed());
        for wanted in &photo.texts {
            if let Some(at) = texts.iter().position(|text| text == wanted) {
                texts.swap_remove(at);
                found += 1;
            }
        }
    }
    times.sort_unstable();
    (found, times[times.len() / 2])
}

fn from_folder(folder: &Path) -> Vec<Photo> {
    let entries = std::fs::read_dir(folder).expect("the folder of photos");
    let mut paths: Vec<PathBuf> = entries.filter_map(|entry| Some(entry.ok()?.path())).collect();
    paths.sort();
    paths
        .iter()
        .filter_map(|path| {
            let text = std::fs::read_to_string(path.with_extension("txt")).ok()?;
            let is_photo = path.extension().is_some_and(|e| e != "txt" && e != "json");
            let bytes = is_photo.then(|| std::fs::read(path).ok())??;
            let texts = text.lines().filter(|line| !line.is_empty()).map(str::to_owned).collect();
            Some(Photo { bytes, texts })
        })
        .collect()
}

/// A rail of small labels, slightly turned, blurred and noisy.
fn drawn(seed: u32) -> Photo {
    let mut scene = GrayImage::from_pixel(1280, 720, image::Luma([190]));
    let mut texts = Vec::new();
    for place in 0..12_u32 {
        let text = format!("MPU{:07}", (seed * 97 + place * 7_919) % 10_000_000);
        let made = symbol(&text, Level::M).expect("a symbol");
        let px = 2 + seed % 3;
        let side = (made.size as u32 + 8) * px;
        let tile = GrayImage::from_fn(side, side, |x, y| {
            let at = |v: u32| (v / px) as usize;
            let dark = at(x) >= 4 && at(y) >= 4 && made.is_dark(at(x) - 4, at(y) - 4);
            image::Luma([if dark { 45 } else { 225 }])
        });
        let (column, row) = (place % 6, place / 6);
        imageops::overlay(
            &mut scene,
            &tile,
            i64::from(20 + column * 205),
            i64::from(60 + row * 330),
        );
        texts.push(text);
    }
    let mut noise = seed.wrapping_mul(2_654_435_761).max(1);
    let mut blurred = imageops::blur(&scene, 0.5 + (seed % 4) as f32 * 0.25);
    for pixel in blurred.pixels_mut() {
        noise ^= noise << 13;
        noise ^= noise >> 17;
        noise ^= noise << 5;
        pixel.0[0] = pixel.0[0].saturating_add((noise % 13) as u8).saturating_sub(6);
    }
    let mut bytes = Vec::new();
    image::codecs::png::PngEncoder::new(&mut bytes)
        .write_image(&blurred, 1280, 720, image::ExtendedColorType::L8)
        .expect("a picture");
    Photo { bytes, texts }
}
