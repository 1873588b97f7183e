//! Pictures that are not what a camera usually gives: each has its own answer.

use image::{GrayImage, ImageEncoder, Luma, imageops};
use slotkeep_domain::label::{LabelCode, LabelKind, SitePrefix};
use slotkeep_optics::{
    KnownLabels, Level, Limits, PATIENCE, PhotoReading, PhotoRefusal, Reader, Verdict, decode,
    read_photo, symbol,
};
use slotkeep_tests::made_photos::{Scene, label};

fn tile(text: &str, px: u32) -> GrayImage {
    let made = symbol(text, Level::L).unwrap();
    let side = (made.size as u32 + 8) * px;
    GrayImage::from_fn(side, side, |x, y| {
        let (x, y) = ((x / px) as usize, (y / px) as usize);
        let dark = x >= 4 && y >= 4 && made.is_dark(x - 4, y - 4);
        Luma([if dark { 30 } else { 230 }])
    })
}

fn png(image: &GrayImage) -> Vec<u8> {
    let mut bytes = Vec::new();
    image::codecs::png::PngEncoder::new(&mut bytes)
        .write_image(image, image.width(), image.height(), image::ExtendedColorType::L8)
        .unwrap();
    bytes
}

fn read(bytes: &[u8]) -> Result<PhotoReading, PhotoRefusal> {
    read_photo(bytes, &Limits::default(), &KnownLabels::new((0..500).map(label)), PATIENCE)
}

#[test]
fn one_pixel_and_a_photo_without_codes_show_nothing() {
    for (width, height) in [(1, 1), (1, 3000), (3000, 2), (640, 480)] {
        let image = GrayImage::from_fn(width, height, |x, y| Luma([(x * 7 + y * 13) as u8]));
        let reading = read(&png(&image)).unwrap();
        assert!(reading.found.iter().all(|found| !found.is_read()), "{width} × {height}");
    }
}

#[test]
fn an_image_of_30_000_pixels_a_side_is_refused_unopened() {
    // A GIF says its size in its first bytes, and this one holds nothing else.
    let mut gif = b"GIF89a".to_vec();
    gif.extend_from_slice(&30_000_u16.to_le_bytes());
    gif.extend_from_slice(&30_000_u16.to_le_bytes());
    gif.extend_from_slice(&[0, 0, 0, 0x3B]);
    assert!(read(&gif).is_err());
    let mut bmp = b"BM".to_vec();
    bmp.extend_from_slice(&[0; 8]);
    bmp.extend_from_slice(&54_u32.to_le_bytes());
    bmp.extend_from_slice(&40_u32.to_le_bytes());
    bmp.extend_from_slice(&30_000_u32.to_le_bytes());
    bmp.extend_from_slice(&30_000_u32.to_le_bytes());
    bmp.extend_from_slice(&[1, 0, 24, 0]);
    bmp.extend_from_slice(&[0; 24]);
    let refusal = read(&bmp).unwrap_err();
    assert!(matches!(refusal, PhotoRefusal::TooLarge { width: 30_000, .. }), "{refusal}");
}

#[test]
fn sixteen_bits_a_pixel_are_read() {
    let scene = tile(label(3).as_str(), 4);
    let wide: Vec<u8> =
        scene.as_raw().iter().flat_map(|v| (u16::from(*v) * 257).to_be_bytes()).collect();
    let mut bytes = Vec::new();
    let native: Vec<u8> = wide
        .chunks_exact(2)
        .flat_map(|pair| u16::from_be_bytes([pair[0], pair[1]]).to_ne_bytes())
        .collect();
    image::codecs::png::PngEncoder::new(&mut bytes)
        .write_image(&native, scene.width(), scene.height(), image::ExtendedColorType::L16)
        .unwrap();
    assert_eq!(read(&bytes).unwrap().found[0].text, label(3).to_string());
}

#[test]
fn an_animation_is_read_by_its_first_picture() {
    let mut bytes = Vec::new();
    {
        let mut encoder = image::codecs::gif::GifEncoder::new(&mut bytes);
        for place in [4, 5] {
            let picture = image::DynamicImage::ImageLuma8(tile(label(place).as_str(), 4));
            encoder.encode_frame(image::Frame::new(picture.to_rgba8())).unwrap();
        }
    }
    let texts: Vec<String> = read(&bytes).unwrap().found.into_iter().map(|f| f.text).collect();
    assert_eq!(texts, [label(4).to_string()]);
}

/// A JPEG with an orientation mark 6 (turned a quarter clockwise to be upright; Exif 2.3, tag
/// 0x0112) is read upright.
#[test]
fn the_orientation_mark_is_honoured() {
    let mut scene = GrayImage::from_pixel(300, 160, Luma([170]));
    imageops::overlay(&mut scene, &tile(label(6).as_str(), 4), 10, 10);
    let mut jpeg = Vec::new();
    image::codecs::jpeg::JpegEncoder::new(&mut jpeg)
        .write_image(&scene, 300, 160, image::ExtendedColorType::L8)
        .unwrap();
    let exif = b"Exif\0\0MM\0\x2A\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0";
    let mut marked = jpeg[..2].to_vec();
    marked.extend_from_slice(&[0xFF, 0xE1]);
    marked.extend_from_slice(&(exif.len() as u16 + 2).to_be_bytes());
    marked.extend_from_slice(exif);
    marked.extend_from_slice(&jpeg[2..]);
    let reading = read(&marked).unwrap();
    assert_eq!((reading.width, reading.height), (160, 300));
    assert_eq!(reading.found[0].text, label(6).to_string());
}

/// Printers' colours: four channels, inverted as the marker of the file says.
#[test]
fn a_jpeg_in_printers_colours_is_read() {
    let mut scene = GrayImage::from_pixel(200, 160, Luma([200]));
    imageops::overlay(&mut scene, &tile(label(7).as_str(), 4), 20, 10);
    let inks: Vec<u8> = scene.pixels().flat_map(|Luma([v])| [0, 0, 0, 255 - v]).collect();
    for colours in [jpeg_encoder::ColorType::Cmyk, jpeg_encoder::ColorType::CmykAsYcck] {
        let mut jpeg = Vec::new();
        let encoder = jpeg_encoder::Encoder::new(&mut jpeg, 90);
        encoder.encode(&inks, 200, 160, colours).unwrap();
        let reading = read(&jpeg).unwrap();
        assert_eq!((reading.width, reading.height), (200, 160));
        assert_eq!(reading.found[0].text, label(7).to_string(), "{colours:?}");
    }
}

/// A header that promises more than the file holds is refused or shown as it is, in each format.
#[test]
fn a_lying_header_is_refused_or_harmless() {
    let mut scene = GrayImage::from_pixel(200, 160, Luma([200]));
    imageops::overlay(&mut scene, &tile(label(8).as_str(), 4), 20, 10);
    let image = image::DynamicImage::ImageLuma8(scene);
    use image::ImageFormat::{Bmp, Gif, Jpeg, Png, Tiff, WebP};
    for format in [Png, Jpeg, Bmp, Gif, Tiff, WebP] {
        let mut file = std::io::Cursor::new(Vec::new());
        let colour = image::DynamicImage::ImageRgb8(image.to_rgb8());
        colour.write_to(&mut file, format).unwrap();
        let file = file.into_inner();
        assert_eq!(read(&file).unwrap().found[0].text, label(8).to_string(), "{format:?}");
        // The height, wherever the format keeps it, becomes twelve times what it is.
        let (short, long) = (160_u16.to_be_bytes(), 1_920_u16.to_be_bytes());
        let little = |bytes: [u8; 2]| [bytes[1], bytes[0]];
        for (from, to) in [(short, long), (little(short), little(long))] {
            for at in 0..file.len().min(4_096) - 1 {
                if file[at..at + 2] != from {
                    continue;
                }
                let mut lying = file.clone();
                lying[at..at + 2].copy_from_slice(&to);
                match read(&lying) {
                    Ok(reading) => assert!(
                        u64::from(reading.width) * u64::from(reading.height) <= 64_000_000,
                        "{format:?} at {at}"
                    ),
                    Err(refusal) => assert!(
                        matches!(refusal, PhotoRefusal::Damaged(_) | PhotoRefusal::TooLarge { .. }),
                        "{format:?} at {at}: {refusal}"
                    ),
                }
            }
        }
        for kept in [file.len() / 2, 60, 20] {
            let cut = read(&file[..kept.min(file.len())]);
            assert!(
                matches!(cut, Err(PhotoRefusal::Damaged(_)) | Ok(_)),
                "{format:?} cut to {kept}: {cut:?}"
            );
        }
    }
}

#[test]
fn a_hundred_codes_are_all_read() {
    let mut scene = GrayImage::from_pixel(1300, 1300, Luma([180]));
    for at in 0..100 {
        let tile = tile(label(at).as_str(), 4);
        imageops::overlay(&mut scene, &tile, i64::from(at % 10) * 128, i64::from(at / 10) * 128);
    }
    let reading = read(&png(&scene)).unwrap();
    let read = |at: &u32| reading.found.iter().any(|f| f.text == label(*at).as_str());
    assert_eq!((0..100).filter(read).count(), 100);
    assert_eq!(
        reading.rails.iter().map(|rail| rail.order.len()).sum::<usize>(),
        reading.found.len()
    );
}

#[test]
fn long_texts_and_control_characters_are_foreign() {
    for text in ["A".repeat(3_000), "\u{1b}[2J\0\u{7}\r\nMPU".to_owned()] {
        let reading = read(&png(&tile(&text, 4))).unwrap();
        let found = reading.found.iter().find(|found| found.is_read()).expect("it is read");
        assert!(matches!(found.verdict, Verdict::Foreign(_)), "{:?}", found.verdict);
    }
}

/// The same number of another site, small and blurred, is never taken for the known label.
#[test]
fn a_look_alike_of_another_site_is_itself_or_nothing() {
    let known = KnownLabels::new((0..2_000).map(label));
    for at in 0..12 {
        let number = (at * 2_654_435_761_u64 % (1 << 32)) as u32 >> 2;
        let other = LabelCode::allocate(SitePrefix::parse("MR").unwrap(), LabelKind::Unit, number);
        let mut scene = GrayImage::from_pixel(160, 160, Luma([170]));
        imageops::overlay(&mut scene, &tile(other.as_str(), 2), 40, 40);
        let soft = imageops::blur(&scene, 0.8 + at as f32 * 0.1);
        let reading = read_photo(&png(&soft), &Limits::default(), &known, PATIENCE).unwrap();
        for found in reading.found {
            assert!(found.text.is_empty() || found.text == other.as_str(), "{found:?}");
            assert_ne!(found.reader, Reader::Register);
        }
    }
}

/// Labels too small for general readers are read, in order along their rail.
#[test]
fn a_rail_of_small_labels_is_read() {
    let mut scene = Scene::frame(5, 2.0, 500);
    (scene.width, scene.height, scene.most_on_rail, scene.rails) = (960, 360, 8, 1);
    let photo = scene.draw();
    let reading = read(&photo.jpeg).unwrap();
    let read = |text: &str| reading.found.iter().position(|f| f.text == text);
    let places: Vec<usize> = photo.labels.iter().filter_map(|l| read(&l.text)).collect();
    assert!(places.len() + 1 >= photo.labels.len(), "{} of {}", places.len(), photo.labels.len());
    let rail = reading.rails.iter().max_by_key(|rail| rail.order.len()).unwrap();
    let order: Vec<usize> = rail.order.iter().copied().filter(|at| places.contains(at)).collect();
    assert_eq!(order, places, "from the left");
    assert!(decode(&photo.jpeg, &Limits::default()).is_ok());
}
