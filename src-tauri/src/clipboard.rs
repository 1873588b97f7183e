//! The clipboard of the desktop, read by the program itself: WebKitGTK gives its pages text only.

use std::io::Cursor;
use std::path::Path;

use arboard::Error::ContentNotAvailable;
use image::{ImageFormat, RgbaImage};
use slotkeep_door::Clipboard;

/// The clipboard of the person at this computer.
pub struct Desktop;

/// The largest copied file that is taken for a photo, bytes.
const MAX_FILE_BYTES: u64 = 64 << 20;

impl Clipboard for Desktop {
    fn picture(&self) -> Result<Option<Vec<u8>>, String> {
        let mut clipboard = arboard::Clipboard::new().map_err(unread)?;
        // A file that was copied also offers a drawing of its icon, so files come first.
        match clipboard.get().file_list() {
            Ok(files) => return files.first().map(|file| read(file)).transpose(),
            Err(ContentNotAvailable) => {}
            Err(error) => return Err(unread(error)),
        }
        match clipboard.get_image() {
            Ok(copied) => png(copied).map(Some),
            Err(ContentNotAvailable) => Ok(None),
            Err(error) => Err(unread(error)),
        }
    }
}

fn unread(error: arboard::Error) -> String {
    format!("The clipboard cannot be read: {error}. Choose the picture's file instead.")
}

fn read(file: &Path) -> Result<Vec<u8>, String> {
    let name = file.display();
    let unreadable = |error| format!("{name} was copied and cannot be read: {error}.");
    let size_bytes = std::fs::metadata(file).map_err(unreadable)?.len();
    if size_bytes > MAX_FILE_BYTES {
        return Err(format!(
            "{name} has more than {} MB. Save a smaller picture and copy that.",
            MAX_FILE_BYTES >> 20
        ));
    }
    std::fs::read(file).map_err(unreadable)
}

fn png(copied: arboard::ImageData<'_>) -> Result<Vec<u8>, String> {
    let broken = || "The picture on the clipboard is not whole. Copy it again.".to_owned();
    let (width_px, height_px) = (copied.width, copied.height);
    let width_px = u32::try_from(width_px).map_err(|_| broken())?;
    let height_px = u32::try_from(height_px).map_err(|_| broken())?;
    let picture = RgbaImage::from_raw(width_px, height_px, copied.bytes.into_owned())
        .ok_or_else(broken)?;
    let mut file = Cursor::new(Vec::new());
    picture.write_to(&mut file, ImageFormat::Png).map_err(|_| broken())?;
    Ok(file.into_inner())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::borrow::Cow;

    #[test]
    fn a_copied_picture_becomes_a_file_and_a_broken_one_a_sentence() {
        let copied = |width| arboard::ImageData {
            width,
            height: 1,
            bytes: Cow::Borrowed(&[0, 0, 0, 255, 255, 255, 255, 255]),
        };
        let file = png(copied(2)).expect("a picture");
        let back = image::load_from_memory(&file).expect("a PNG file").into_rgba8();
        assert_eq!(back.into_raw(), [0, 0, 0, 255, 255, 255, 255, 255]);
        assert!(png(copied(3)).expect_err("too few bytes").contains("Copy it again"));
    }

    #[test]
    fn a_copied_file_that_is_gone_is_named() {
        let said = read(Path::new("/no/such/rail.jpg")).expect_err("no file");
        assert!(said.contains("/no/such/rail.jpg"), "{said}");
    }
}
