use image::codecs::jpeg::JpegEncoder;
use image::metadata::Orientation;
use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader};
use std::io::Cursor;

/// An image in memory: one byte a pixel, row by row, 0 is black.
#[derive(Clone, PartialEq, Eq)]
pub struct Grey {
    pub width: u32,
    pub height: u32,
    pub values: Vec<u8>,
}

/// How large an image may be, decided before it is decoded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    pub max_bytes: usize,
    pub max_pixels: u64,
    /// Memory that a decoder may take, bytes.
    pub max_memory: u64,
}

impl Default for Limits {
    /// A photo of 64 megapixels in a file of 40 MB, decoded within 512 MB.
    fn default() -> Self {
        Self { max_bytes: 40_000_000, max_pixels: 64_000_000, max_memory: 512 << 20 }
    }
}

/// Why a file cannot be read as a photo, and what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PhotoRefusal {
    #[error("the file is empty: choose the photo again")]
    Empty,
    #[error("this file is no image ({0}): choose a JPEG, PNG, WebP, BMP, GIF or TIFF photo")]
    NotAnImage(String),
    #[error("this is a HEIC photo, which cannot be read here: set the camera to JPEG")]
    Heic,
    #[error("the image is damaged or cut short ({0}): take or send it again")]
    Damaged(String),
    #[error(
        "the image has {width} × {height} pixels, more than the {max} million that are safe to \
         open: take a smaller photo or crop it"
    )]
    TooLarge { width: u32, height: u32, max: u64 },
    #[error("the file has {bytes} bytes, more than {max}: take a smaller photo or crop it")]
    TooManyBytes { bytes: usize, max: usize },
}

/// Decodes a photo to grey values, upright as its orientation mark says.
///
/// The kind of image is told from its content, never from a name. Fails with a
/// [`PhotoRefusal`] before anything large is set aside in memory.
pub fn decode(bytes: &[u8], limits: &Limits) -> Result<Grey, PhotoRefusal> {
    let grey = picture(bytes, limits, |picture| DynamicImage::ImageLuma8(picture.into_luma8()))?
        .into_luma8();
    Ok(Grey { width: grey.width(), height: grey.height(), values: grey.into_raw() })
}

/// Decodes a photo, converts it and turns it upright.
fn picture(
    bytes: &[u8],
    limits: &Limits,
    convert: fn(DynamicImage) -> DynamicImage,
) -> Result<DynamicImage, PhotoRefusal> {
    if bytes.is_empty() {
        return Err(PhotoRefusal::Empty);
    }
    if bytes.len() > limits.max_bytes {
        return Err(PhotoRefusal::TooManyBytes { bytes: bytes.len(), max: limits.max_bytes });
    }
    if bytes.get(4..8) == Some(b"ftyp") {
        return Err(PhotoRefusal::Heic);
    }
    let format = image::guess_format(bytes).map_err(|_| no_image(bytes))?;
    let decoded = std::panic::catch_unwind(|| upright(bytes, format, limits, convert));
    decoded
        .unwrap_or_else(|_| Err(PhotoRefusal::Damaged("its content contradicts itself".to_owned())))
}

fn no_image(bytes: &[u8]) -> PhotoRefusal {
    let text = bytes.iter().take(256).all(|b| b.is_ascii_graphic() || b.is_ascii_whitespace());
    let what = match bytes {
        [b'%', b'P', b'D', b'F', ..] => "a PDF",
        [b'P', b'K', ..] => "a ZIP archive",
        _ if text => "text",
        _ => "unknown content",
    };
    PhotoRefusal::NotAnImage(what.to_owned())
}

fn upright(
    bytes: &[u8],
    format: ImageFormat,
    limits: &Limits,
    convert: fn(DynamicImage) -> DynamicImage,
) -> Result<DynamicImage, PhotoRefusal> {
    let damaged = |error: image::ImageError| PhotoRefusal::Damaged(error.to_string());
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format);
    let mut decoding = image::Limits::default();
    decoding.max_alloc = Some(limits.max_memory);
    reader.limits(decoding);
    let mut decoder = reader.into_decoder().map_err(damaged)?;
    let (width, height) = decoder.dimensions();
    if u64::from(width) * u64::from(height) > limits.max_pixels || width.max(height) > 32_000 {
        return Err(PhotoRefusal::TooLarge { width, height, max: limits.max_pixels / 1_000_000 });
    }
    let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let decoded = DynamicImage::from_decoder(decoder).map_err(damaged)?;
    let mut converted = convert(decoded);
    converted.apply_orientation(orientation);
    Ok(converted)
}

/// A photo as it may be kept for years.
#[derive(Clone, PartialEq, Eq)]
pub struct Keepable {
    pub width: u32,
    pub height: u32,
    /// JPEG that holds the picture and nothing else.
    pub jpeg: Vec<u8>,
}

/// Longer side of a kept photo, px: labels of a rail of 600 mm stay readable (a decision).
const KEPT_PX: u32 = 2400;

/// Quality of a kept JPEG, 1 to 100 (a decision).
const KEPT_QUALITY: u8 = 82;

/// Makes a photo small, upright and free of what a camera notes beside it, such as position, time
/// and device: the picture is encoded anew from its pixels.
///
/// Fails with a [`PhotoRefusal`] like [`decode`].
pub fn keepable(bytes: &[u8], limits: &Limits) -> Result<Keepable, PhotoRefusal> {
    let picture = picture(bytes, limits, |picture| DynamicImage::ImageRgb8(picture.into_rgb8()))?;
    let picture = if picture.width().max(picture.height()) > KEPT_PX {
        picture.resize(KEPT_PX, KEPT_PX, image::imageops::FilterType::CatmullRom)
    } else {
        picture
    };
    let mut jpeg = Vec::new();
    picture
        .write_with_encoder(JpegEncoder::new_with_quality(&mut jpeg, KEPT_QUALITY))
        .map_err(|error| PhotoRefusal::Damaged(error.to_string()))?;
    Ok(Keepable { width: picture.width(), height: picture.height(), jpeg })
}
