use super::*;
use crate::symbol;
use image::imageops::{self, FilterType};
use image::{GrayImage, Luma};

const TEXT: &str = "MPU4F7Q2K9";
const PX: u32 = 10;

/// A clean print of a symbol, straight from above.
fn print(text: &str, dark: u8, light: u8) -> GrayImage {
    let made = symbol(text, Level::M).unwrap();
    let side = (made.size as u32 + 8) * PX;
    GrayImage::from_fn(side, side, |x, y| {
        let at = |v: u32| (v / PX).checked_sub(4).map_or(usize::MAX, |v| v as usize);
        Luma([if made.is_dark(at(x), at(y)) { dark } else { light }])
    })
}

/// Grades a picture whose symbol begins four modules inside, with corners as a reader gives them:
/// near, not exact.
fn grade(image: &GrayImage, text: &str) -> Quality {
    let grey =
        Grey { width: image.width(), height: image.height(), values: image.as_raw().clone() };
    let size = symbol(text, Level::M).unwrap().size as f32;
    let (sx, sy) = (image.width() as f32 / (size + 8.0), image.height() as f32 / (size + 8.0));
    let corner = |u: f32, v: f32| (u * sx, v * sy);
    let far = 4.0 + size;
    let corners =
        [corner(4.2, 3.8), corner(far - 0.3, 4.2), corner(far + 0.2, far + 0.3), corner(3.9, far)];
    quality(&grey, corners, text).unwrap()
}

/// Contrast, modulation, margin, unused correction, axial, grid, fixed patterns.
fn grades(quality: &Quality) -> [u8; 7] {
    quality.parameters().map(|one| one.grade.0)
}

#[test]
fn a_clean_print_has_the_best_grade_in_everything() {
    for text in [TEXT, "HTTPS://STORES-7.MARROW-POINT.EXAMPLE:8443/L/MPU4F7Q2K9"] {
        let clean = grade(&print(text, 30, 240), text);
        assert_eq!(grades(&clean), [4; 7], "{clean:?}");
        assert_eq!(clean.overall.letter(), 'A');
        assert!(clean.unused_correction.value == 1.0 && clean.grid.value < 0.05, "{clean:?}");
        assert!((clean.module_px - f64::from(PX)).abs() < 0.05, "{}", clean.module_px);
        assert!(clean.axial.value < 0.005 && clean.growth.abs() < 0.03, "{clean:?}");
    }
}

/// Grey 130 on 240 reflects 0.223 of 0.871 (sRGB): a contrast of 0.744; 165 on 240 of 0.57.
#[test]
fn fading_lowers_contrast_alone() {
    for (dark, contrast, grade_of) in
        [(130, 0.744, 4), (165, 0.571, 3), (190, 0.414, 2), (215, 0.224, 1)]
    {
        let faded = grade(&print(TEXT, dark, 240), TEXT);
        assert!(
            (faded.contrast.value - contrast).abs() < 0.005,
            "{dark}: {}",
            faded.contrast.value
        );
        assert_eq!(grades(&faded), [grade_of, 4, 4, 4, 4, 4, 4], "{dark}");
        assert_eq!(faded.overall.0, grade_of);
    }
}

#[test]
fn blur_lowers_modulation() {
    // A lens blurs light, not the grey values that stand for it (sRGB, as in the grader).
    let grey = print(TEXT, 30, 240);
    let light =
        image::ImageBuffer::<Luma<f32>, Vec<f32>>::from_fn(grey.width(), grey.height(), |x, y| {
            let coded = f32::from(grey.get_pixel(x, y).0[0]) / 255.0;
            Luma([((coded + 0.055) / 1.055).powf(2.4)])
        });
    let light = imageops::blur(&light, 4.2);
    let blurred = GrayImage::from_fn(grey.width(), grey.height(), |x, y| {
        let coded = 1.055 * light.get_pixel(x, y).0[0].powf(1.0 / 2.4) - 0.055;
        Luma([(coded * 255.0).round() as u8])
    });
    let quality = grade(&blurred, TEXT);
    let [contrast, modulation, margin, unused, axial, grid, fixed] = grades(&quality);
    assert!(modulation < 3 && margin == modulation, "{quality:?}");
    assert_eq!([contrast, unused, axial, grid, fixed], [4; 5], "{quality:?}");
}

#[test]
fn stretching_lowers_axial_uniformity_alone() {
    let clean = print(TEXT, 30, 240);
    for (factor, grade_of) in [(1.05, 4), (1.072, 3), (1.095, 2), (1.115, 1), (1.16, 0)] {
        let width = (f64::from(clean.width()) * factor).round() as u32;
        let stretched = imageops::resize(&clean, width, clean.height(), FilterType::Triangle);
        let quality = grade(&stretched, TEXT);
        let expected = 2.0 * (factor - 1.0) / (factor + 1.0);
        assert!((quality.axial.value - expected).abs() < 0.004, "{}", quality.axial.value);
        assert_eq!(grades(&quality), [4, 4, 4, 4, grade_of, 4, 4], "{factor}");
    }
}

#[test]
fn a_wave_in_the_paper_lowers_grid_uniformity() {
    let clean = print(TEXT, 30, 240);
    // Rows move sideways in a wave one and a half symbols long, by half a module at most.
    let waved = GrayImage::from_fn(clean.width(), clean.height(), |x, y| {
        let angle = f64::from(y) / f64::from(PX) / 13.0 * std::f64::consts::TAU;
        let from = f64::from(x) + angle.sin() * 0.55 * f64::from(PX);
        let from = (from.round().max(0.0) as u32).min(clean.width() - 1);
        *clean.get_pixel(from, y)
    });
    let quality = grade(&waved, TEXT);
    assert!(quality.grid.value > 0.38 && quality.grid.grade.0 < 4, "{quality:?}");
    assert_eq!([quality.contrast.grade.0, quality.axial.grade.0], [4, 4], "{quality:?}");
}

fn blot(image: &mut GrayImage, (column, row): (u32, u32), (columns, rows): (u32, u32), value: u8) {
    for y in (row + 4) * PX..(row + 4 + rows) * PX {
        for x in (column + 4) * PX..(column + 4 + columns) * PX {
            image.put_pixel(x, y, Luma([value]));
        }
    }
}

#[test]
fn ink_on_a_finder_damages_the_fixed_pattern_alone() {
    // The light ring of the upper left finder: one module, then two, then four.
    for (modules, grade_of) in [(1, 3), (2, 2), (3, 1), (5, 0)] {
        let mut spoilt = print(TEXT, 30, 240);
        blot(&mut spoilt, (1, 1), (modules, 1), 30);
        let quality = grade(&spoilt, TEXT);
        assert_eq!(grades(&quality), [4, 4, 4, 4, 4, 4, grade_of], "{modules}: {quality:?}");
        assert_eq!(quality.fixed_patterns.value, f64::from(modules));
    }
}

/// A wrong codeword of the 17 that correct in version 1-H (one of them protects) takes an eighth.
#[test]
fn spots_on_data_use_error_correction_up() {
    let mut spoilt = print(TEXT, 30, 240);
    // A corner of data: light paint over 7 × 7 modules at the lower right.
    blot(&mut spoilt, (14, 14), (7, 7), 240);
    let quality = grade(&spoilt, TEXT);
    assert_eq!(quality.level, Level::H);
    let used = 1.0 - quality.unused_correction.value;
    let codewords = used / 0.125;
    assert!(codewords >= 2.0 && (codewords - codewords.round()).abs() < 1e-9, "{quality:?}");
    assert_eq!(quality.margin.grade, quality.unused_correction.grade);
    let [contrast, modulation, _, unused, axial, grid, fixed] = grades(&quality);
    assert!(unused < 4, "{quality:?}");
    assert_eq!([contrast, modulation, axial, grid, fixed], [4; 5], "{quality:?}");
}

#[test]
fn spread_ink_is_told_apart_from_everything_else() {
    let clean = print(TEXT, 30, 240);
    // Each pixel is as dark as the darkest within one pixel: every edge is 0.1 modules out.
    let heavy = GrayImage::from_fn(clean.width(), clean.height(), |x, y| {
        let near = |v: u32, last: u32| v.saturating_sub(1)..=(v + 1).min(last - 1);
        let around = near(y, clean.height())
            .flat_map(|y| near(x, clean.width()).map(move |x| (x, y)))
            .map(|(x, y)| clean.get_pixel(x, y).0[0]);
        Luma([around.min().unwrap()])
    });
    let quality = grade(&heavy, TEXT);
    assert!((quality.growth - 0.1).abs() < 0.03, "{}", quality.growth);
    assert_eq!(grades(&quality), [4; 7], "{quality:?}");
}

#[test]
fn a_turned_symbol_is_graded_as_a_straight_one() {
    let clean = print(TEXT, 30, 240);
    let (sin, cos) = 12_f32.to_radians().sin_cos();
    let middle = clean.width() as f32 / 2.0;
    let turned = GrayImage::from_fn(clean.width(), clean.height(), |x, y| {
        let (u, v) = (x as f32 + 0.5 - middle, y as f32 + 0.5 - middle);
        let (fx, fy) = (u * cos + v * sin + middle, v * cos - u * sin + middle);
        let inside = fx >= 0.0 && fy >= 0.0 && fx < clean.width() as f32 && fy < middle * 2.0;
        if inside { *clean.get_pixel(fx as u32, fy as u32) } else { Luma([240]) }
    });
    let half = 10.5 * PX as f32;
    let corners = [(-half, -half), (half, -half), (half, half), (-half, half)]
        .map(|(u, v)| (u * cos - v * sin + middle, u * sin + v * cos + middle));
    let grey = Grey { width: turned.width(), height: turned.height(), values: turned.into_raw() };
    let quality = quality(&grey, corners, TEXT).unwrap();
    assert_eq!(grades(&quality), [4; 7], "{quality:?}");
}

#[test]
fn what_cannot_be_graded_is_refused_with_what_to_do() {
    let clean = print(TEXT, 30, 240);
    let small = imageops::resize(&clean, 29 * 3, 29 * 3, FilterType::Triangle);
    let grey = Grey { width: 87, height: 87, values: small.into_raw() };
    let corners = [(12.0, 12.0), (75.0, 12.0), (75.0, 75.0), (12.0, 75.0)];
    let refusal = quality(&grey, corners, TEXT).unwrap_err();
    assert!(matches!(refusal, QualityRefusal::TooSmall { .. }), "{refusal}");
    assert!(refusal.to_string().contains("closer"), "{refusal}");
    let grey = Grey { width: 290, height: 290, values: clean.into_raw() };
    let corners = [(40.0, 40.0), (250.0, 40.0), (250.0, 250.0), (40.0, 250.0)];
    assert_eq!(quality(&grey, corners, "MPU0000001"), Err(QualityRefusal::NoMatch));
    for corners in [[(0.0, 0.0); 4], [(f32::NAN, 0.0); 4], [(-1e9, 1e9); 4]] {
        assert!(quality(&grey, corners, TEXT).is_err());
    }
    let blank = Grey { width: 290, height: 290, values: vec![200; 290 * 290] };
    assert!(
        quality(&blank, [(40.0, 40.0), (250.0, 40.0), (250.0, 250.0), (40.0, 250.0)], TEXT)
            .is_err()
    );
}
