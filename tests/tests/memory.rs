//! What reading a photo takes of the computer's memory, as the system counts it.

#![cfg(target_os = "linux")]

use slotkeep_optics::{Grey, KnownLabels, PATIENCE, read_grey};
use slotkeep_tests::made_photos::{Scene, label};
use std::time::Instant;

/// Kilobytes of a line of `/proc/self/status`.
fn kilobytes(name: &str) -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap();
    let line = status.lines().find(|line| line.starts_with(name)).unwrap();
    line.split_whitespace().nth(1).unwrap().parse().unwrap()
}

/// `read_photo` promises at most 150 MB beside the image, for one of 12 megapixels full of
/// labels and for the largest that is let in.
#[test]
fn a_photo_takes_no_more_memory_than_is_promised() {
    let known = KnownLabels::new((0..50_000).map(label));
    for (width, height) in [(4_000, 3_000), (8_000, 8_000)] {
        let mut scene = Scene::frame(3, 2.4, 50_000);
        (scene.width, scene.height) = (1_920, 1_080);
        let photo = scene.draw();
        let frame = image::load_from_memory(&photo.jpeg).unwrap().into_luma8();
        // Labels all over: the same frame again and again.
        let pixel = |at: u32| frame.get_pixel(at % width % 1_920, at / width % 1_080).0[0];
        let grey = Grey { width, height, values: (0..width * height).map(pixel).collect() };
        // Sets the highest mark back to what is taken now.
        std::fs::write("/proc/self/clear_refs", "5").unwrap();
        let before = kilobytes("VmRSS:");
        let reading = read_grey(&grey, &known, Instant::now() + PATIENCE);
        let taken = kilobytes("VmHWM:").saturating_sub(before) / 1_024;
        assert!(reading.found.len() > 20, "{} labels were seen", reading.found.len());
        assert!(taken <= 150, "{taken} MB for {width} × {height} px");
        println!("{taken} MB for {width} × {height} px, {} symbols", reading.found.len());
    }
}
