//! How well and how fast labels are read, beside general readers on the same images.
//!
//! - Photos with known texts: `SLOTKEEP_BENCH_PHOTOS` names a folder of pictures, each with its
//!   texts beside it (`NAME.txt`); sub-folders count as sets.
//! - Made photos of rails with our own labels and a register of 50,000;
//!   `SLOTKEEP_BENCH_SEED` (1) and `SLOTKEEP_BENCH_FRAMES` (48) choose which.
//! - Foreign symbols against a register: `SLOTKEEP_BENCH_FOREIGN` (10 million) of them.
//! - General readers: zxing-cpp and zbar through Python, in a virtual environment that is made
//!   under the target folder where it can be.

#[path = "read/foreign.rs"]
mod foreign;
#[path = "read/peers.rs"]
mod peers;
#[path = "read/score.rs"]
mod score;

use peers::{Peers, Seen};
use score::{Picture, Table};
use slotkeep_optics::{
    KnownLabels, Limits, PATIENCE, Reader, Verdict, decode, read_frame, read_photo,
};
use slotkeep_tests::made_photos::{Dice, MadeLabel, Scene, label};
use slotkeep_tests::measure::number;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::Instant;

/// Labels in the register of the made photos.
const REGISTER: u32 = 50_000;

/// Px of a module in the made photos.
const SIZES: [f64; 9] = [1.3, 1.45, 1.6, 1.8, 2.0, 2.3, 2.6, 3.0, 4.0];

fn main() {
    let peers = Peers::find();
    let known = KnownLabels::new((0..REGISTER).map(label));
    match std::env::var_os("SLOTKEEP_BENCH_PHOTOS").map(PathBuf::from) {
        Some(folder) => known_texts(&folder, &known, &peers),
        None => println!("SLOTKEEP_BENCH_PHOTOS is not set: no photos with known texts are read"),
    }
    rails(&known, &peers);
    strangers(&known);
    many_megapixels(&known);
    foreign::run(number("SLOTKEEP_BENCH_FOREIGN", 10_000_000));
}

/// Each set of a folder, by every reader.
fn known_texts(folder: &Path, known: &KnownLabels, peers: &Peers) {
    let mut whole = Table::default();
    for (set, pictures) in score::sets(folder) {
        let mut table = Table::default();
        read_all(&pictures, known, peers, &mut table);
        table.print(&format!("{set}: {} pictures", pictures.len()));
        whole.add(table);
    }
    whole.print("all sets");
}

fn read_all(pictures: &[Picture], known: &KnownLabels, peers: &Peers, table: &mut Table) {
    for picture in pictures {
        let Ok(bytes) = std::fs::read(&picture.path) else { continue };
        let (frame, photo) = ours(&bytes, known);
        table.take("slotkeep, first pass", picture, &frame);
        table.take("slotkeep, photo", picture, &photo);
    }
    for (reader, seen) in peers.read(pictures.iter().map(|picture| picture.path.as_path())) {
        for picture in pictures {
            let none = Seen::default();
            table.take(&reader, picture, seen.get(&picture.path).unwrap_or(&none));
        }
    }
}

/// What the first pass and all passes read. The first is timed as the others are: an image in
/// memory; the second with its file.
fn ours(bytes: &[u8], known: &KnownLabels) -> (Seen, Seen) {
    let texts = |found: Vec<slotkeep_optics::Found>| {
        found.into_iter().filter(|f| f.verdict != Verdict::Damaged).map(|f| f.text).collect()
    };
    let mut frame = Seen::default();
    if let Ok(grey) = decode(bytes, &Limits::default()) {
        let start = Instant::now();
        let reading = read_frame(&grey);
        frame.ms = start.elapsed().as_secs_f64() * 1e3;
        frame.texts = texts(reading.found);
    }
    let mut photo = Seen::default();
    let start = Instant::now();
    if let Ok(reading) = read_photo(bytes, &Limits::default(), known, PATIENCE) {
        photo.ms = start.elapsed().as_secs_f64() * 1e3;
        photo.texts = texts(reading.found);
    }
    (frame, photo)
}

/// Made photos of rails, by every reader and by the size of a module.
fn rails(known: &KnownLabels, peers: &Peers) {
    let folder = tempfile::tempdir().expect("a folder");
    let (seed, frames) = (number("SLOTKEEP_BENCH_SEED", 1), number("SLOTKEEP_BENCH_FRAMES", 48));
    let mut dice = Dice(seed);
    let mut pictures = Vec::new();
    let mut made: Vec<Vec<MadeLabel>> = Vec::new();
    for at in 0..frames {
        let size = SIZES[(at % SIZES.len() as u64) as usize] * dice.between(0.97, 1.03);
        let photo = Scene::frame(dice.roll(), size, REGISTER).draw();
        let path = folder.path().join(format!("rail{at:04}.jpg"));
        std::fs::write(&path, &photo.jpeg).expect("a place for a picture");
        let lines = photo.labels.iter().map(|label| label.text.clone()).collect();
        pictures.push(Picture { path, lines });
        made.push(photo.labels);
    }
    let mut table = Table::default();
    read_all(&pictures, known, peers, &mut table);
    table.print(&format!("made rails, seed {seed}: {frames} frames, register of {REGISTER}"));
    by_size(&pictures, &made, &table);
}

fn by_size(pictures: &[Picture], made: &[Vec<MadeLabel>], table: &Table) {
    let best = table.best_of_others("slotkeep");
    let mut sizes: BTreeMap<u32, [usize; 4]> = BTreeMap::new();
    for (picture, labels) in pictures.iter().zip(made) {
        for label in labels {
            let row = sizes.entry((label.module_px.min(4.0) * 5.0) as u32).or_default();
            let read = |reader: &str| usize::from(table.has(reader, &picture.path, &label.text));
            let (own, other) = (read("slotkeep, photo"), best.as_deref().map_or(0, read));
            for (sum, one) in row.iter_mut().zip([1, own, other, usize::from(own > other)]) {
                *sum += one;
            }
        }
    }
    println!("  px a module   labels   read   best other ({})", best.as_deref().unwrap_or("none"));
    let mut from_two = [0; 4];
    let mut all = [0; 4];
    for (size, row) in sizes {
        let px = f64::from(size) / 5.0;
        println!("  {px:11.1} {:8} {:6} {:6}", row[0], row[1], row[2]);
        for at in 0..4 {
            all[at] += row[at];
            from_two[at] += if size >= 10 { row[at] } else { 0 };
        }
    }
    let share = |part: usize, whole: usize| 100.0 * part as f64 / whole.max(1) as f64;
    println!(
        "  from 2 px a module on: {} of {} read ({:.1} %); of the {} that the best other reader \
         does not read, {} are read ({:.1} %)\n",
        from_two[1],
        from_two[0],
        share(from_two[1], from_two[0]),
        all[0] - all[2],
        all[3],
        share(all[3], all[0] - all[2]),
    );
}

/// Made photos whose labels are in no register: none may be taken for a known one.
fn strangers(known: &KnownLabels) {
    let mut recognised = 0;
    let mut labels = 0;
    for seed in 0..number("SLOTKEEP_BENCH_FRAMES", 48) / 4 {
        let mut scene = Scene::frame(seed, SIZES[seed as usize % 4], REGISTER);
        scene.registered = false;
        let photo = scene.draw();
        labels += photo.labels.len();
        let reading = read_photo(&photo.jpeg, &Limits::default(), known, PATIENCE);
        let found = reading.map(|reading| reading.found).unwrap_or_default();
        recognised += found.iter().filter(|f| f.reader == Reader::Register).count();
    }
    println!("labels of no register, 1.3 to 1.8 px a module: {labels}, recognised {recognised}\n");
}

/// A photo of 12 megapixels of two rails with 60 labels.
fn many_megapixels(known: &KnownLabels) {
    let scene = Scene {
        width: 4000,
        height: 3000,
        rails: 2,
        most_on_rail: 30,
        ..Scene::frame(number("SLOTKEEP_BENCH_SEED", 1), 2.9, REGISTER)
    };
    let photo = scene.draw();
    let start = Instant::now();
    let reading = read_photo(&photo.jpeg, &Limits::default(), known, PATIENCE);
    let took = start.elapsed().as_secs_f64();
    let found = reading.map(|reading| reading.found).unwrap_or_default();
    let read = photo.labels.iter().filter(|l| found.iter().any(|f| f.text == l.text)).count();
    println!("12 megapixels: {read} of {} labels in {took:.2} s\n", photo.labels.len());
}
