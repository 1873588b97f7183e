//! Video4Linux cameras.

use image::codecs::jpeg::JpegEncoder;
use linuxvideo::format::{PixFormat, PixelFormat};
use linuxvideo::stream::ReadStream;
use linuxvideo::{BufType, CapabilityFlags, Device};
use slotkeep_door::Camera;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::time::Duration;

/// The size that is asked for, px; a camera gives the nearest that it has.
const WIDTH_PX: u32 = 1280;
const HEIGHT_PX: u32 = 720;

/// How long a frame may take before the camera counts as gone.
const PATIENCE: Duration = Duration::from_secs(3);

/// Opens the first camera that gives pictures.
pub fn open() -> Result<Box<dyn Camera>, String> {
    let devices = linuxvideo::list().map_err(|why| none(&format!(" ({why})")))?;
    let mut refused = None;
    for device in devices {
        match device.and_then(stream) {
            Ok(Some((stream, format))) => return Ok(Box::new(Newest::of(stream, format))),
            Ok(None) => {}
            Err(why) => refused = Some(why),
        }
    }
    match refused {
        Some(why) => Err(format!(
            "A camera is connected but cannot be opened ({why}). Close the program that uses it, \
             or let this user read it (group video)."
        )),
        None => Err(none("")),
    }
}

fn none(why: &str) -> String {
    format!(
        "No camera is connected to this computer{why}. Connect one, or choose, paste or drop a \
         picture instead."
    )
}

/// How frames arrive.
#[derive(Clone, Copy)]
enum Format {
    Jpeg,
    /// Two pixels in four bytes, every other one is brightness.
    Yuyv {
        width: u32,
        height: u32,
        line: usize,
    },
}

/// Starts a device; nothing where it gives no pictures in a form that is known here.
fn stream(device: Device) -> std::io::Result<Option<(ReadStream, Format)>> {
    let can = device.capabilities()?.device_capabilities();
    if !can.contains(CapabilityFlags::VIDEO_CAPTURE) {
        return Ok(None);
    }
    let formats: Vec<PixelFormat> = device
        .formats(BufType::VIDEO_CAPTURE)
        .filter_map(|format| Some(format.ok()?.pixel_format()))
        .collect();
    let known = [PixelFormat::MJPG, PixelFormat::JPEG, PixelFormat::YUYV];
    let Some(wanted) = known.into_iter().find(|known| formats.contains(known)) else {
        return Ok(None);
    };
    let capture = device.video_capture(PixFormat::new(WIDTH_PX, HEIGHT_PX, wanted))?;
    let got = capture.format();
    let format = match got.pixel_format() {
        PixelFormat::YUYV => Format::Yuyv {
            width: got.width(),
            height: got.height(),
            line: got.bytes_per_line() as usize,
        },
        _ => Format::Jpeg,
    };
    Ok(Some((capture.into_stream()?, format)))
}

/// Keeps the newest frame, so that a slow reader never sees the past.
struct Newest {
    shared: Arc<Shared>,
    format: Format,
    given: u64,
}

struct Shared {
    /// How many came, and the last of them.
    latest: Mutex<(u64, Result<Vec<u8>, String>)>,
    came: Condvar,
    closed: AtomicBool,
}

impl Newest {
    fn waiting(format: Format) -> Self {
        let shared = Shared {
            latest: Mutex::new((0, Ok(Vec::new()))),
            came: Condvar::new(),
            closed: AtomicBool::new(false),
        };
        Self { shared: Arc::new(shared), format, given: 0 }
    }

    fn of(mut stream: ReadStream, format: Format) -> Self {
        let newest = Self::waiting(format);
        let shared = newest.shared.clone();
        std::thread::spawn(move || {
            while !shared.closed.load(Ordering::Relaxed) {
                let frame = stream.dequeue(|buffer| Ok(buffer.to_vec()));
                let frame = frame.map_err(|why| format!("The camera gives no pictures: {why}."));
                let ended = frame.is_err();
                shared.put(frame);
                if ended {
                    return;
                }
            }
        });
        newest
    }
}

impl Shared {
    fn put(&self, frame: Result<Vec<u8>, String>) {
        let mut latest = self.latest.lock().unwrap_or_else(PoisonError::into_inner);
        *latest = (latest.0 + 1, frame);
        self.came.notify_all();
    }
}

impl Camera for Newest {
    fn frame(&mut self) -> Result<Vec<u8>, String> {
        let latest = self.shared.latest.lock().unwrap_or_else(PoisonError::into_inner);
        let waited = self.shared.came.wait_timeout_while(latest, PATIENCE, |l| l.0 == self.given);
        let (latest, time) = waited.unwrap_or_else(PoisonError::into_inner);
        if time.timed_out() {
            return Err("The camera gives no pictures any more: connect it again.".to_owned());
        }
        self.given = latest.0;
        let frame = latest.1.clone()?;
        drop(latest);
        match self.format {
            Format::Jpeg => Ok(frame),
            Format::Yuyv { width, height, line } => jpeg_of_yuyv(&frame, width, height, line),
        }
    }
}

impl Drop for Newest {
    fn drop(&mut self) {
        self.shared.closed.store(true, Ordering::Relaxed);
    }
}

/// Makes a grey JPEG of the brightness alone: labels have no colour.
fn jpeg_of_yuyv(frame: &[u8], width: u32, height: u32, line: usize) -> Result<Vec<u8>, String> {
    let pixels = width as usize * 2;
    let rows = frame.chunks(line.max(pixels)).take(height as usize);
    let grey: Vec<u8> = rows.flat_map(|row| row.iter().take(pixels).step_by(2).copied()).collect();
    if grey.len() != (width * height) as usize {
        return Err("The camera gave a part of a picture: start it again.".to_owned());
    }
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, 85)
        .encode(&grey, width, height, image::ExtendedColorType::L8)
        .map_err(|why| format!("The camera's picture cannot be used: {why}."))?;
    Ok(jpeg)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_newest_frame_is_given_and_none_twice() {
        let mut camera = Newest::waiting(Format::Jpeg);
        let shared = camera.shared.clone();
        shared.put(Ok(vec![1]));
        shared.put(Ok(vec![2]));
        assert_eq!(camera.frame(), Ok(vec![2]));
        let later = std::thread::spawn(move || shared.put(Ok(vec![3])));
        assert_eq!(camera.frame(), Ok(vec![3]));
        later.join().unwrap();
    }

    #[test]
    fn a_camera_that_is_pulled_says_so() {
        let mut camera = Newest::waiting(Format::Jpeg);
        camera.shared.put(Err("The camera gives no pictures: no such device.".to_owned()));
        assert!(camera.frame().unwrap_err().contains("no such device"));
    }

    #[test]
    fn brightness_becomes_a_picture_whatever_lies_beside_it() {
        // Two rows of four pixels: dark left, light right; two bytes of padding on each row.
        let row = [16, 0, 16, 0, 235, 255, 235, 255, 9, 9];
        let jpeg = jpeg_of_yuyv(&[row, row].concat(), 4, 2, 10).unwrap();
        let read = image::load_from_memory(&jpeg).unwrap().into_luma8();
        assert_eq!(read.dimensions(), (4, 2));
        assert!(read.get_pixel(0, 0).0[0] < 80 && read.get_pixel(3, 1).0[0] > 170, "{read:?}");
        assert!(jpeg_of_yuyv(&row, 4, 2, 10).is_err());
    }
}
