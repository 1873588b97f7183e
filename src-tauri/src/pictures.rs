//! Pictures that are pasted into the window or dropped on it, read by the program itself:
//! WebKitGTK gives its pages the text of a clipboard and the address of a dropped file only.

use std::io::Cursor;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use arboard::Error::ContentNotAvailable;
use image::{ImageFormat, RgbaImage};
use slotkeep_door::{Picture, Pictures};

/// What the person at this computer hands over.
#[derive(Default)]
pub struct Handed {
    dropped: Mutex<Option<PathBuf>>,
}

impl Handed {
    /// Keeps a file that was dropped on the window until the page asks for it.
    pub fn keep(&self, file: PathBuf) {
        *self.dropped.lock().unwrap_or_else(PoisonError::into_inner) = Some(file);
    }
}

/// The largest file that is taken for a photo, bytes.
const MAX_FILE_BYTES: u64 = 64 << 20;

impl Pictures for Handed {
    fn copied(&self) -> Picture {
        let mut clipboard = arboard::Clipboard::new().map_err(unread)?;
        // A file that was copied also offers a drawing of its icon, so files come first. Programs
        // that have none answer this question in many ways.
        let files = clipboard.get().file_list().unwrap_or_default();
        if let Some(file) = files.first() {
            return read(file).map(Some);
        }
        match clipboard.get_image() {
            Ok(copied) => png(copied).map(Some),
            Err(ContentNotAvailable) => Ok(None),
            Err(error) => Err(unread(error)),
        }
    }

    fn dropped(&self) -> Picture {
        let file = self.dropped.lock().unwrap_or_else(PoisonError::into_inner).take();
        file.as_deref().map(read).transpose()
    }
}

fn unread(error: arboard::Error) -> String {
    format!("The clipboard cannot be read: {error}. Choose the picture's file instead.")
}

fn read(file: &Path) -> Result<Vec<u8>, String> {
    let name = file.display();
    let unreadable = |error| format!("{name} cannot be read: {error}. Choose the file instead.");
    let size_bytes = std::fs::metadata(file).map_err(unreadable)?.len();
    if size_bytes > MAX_FILE_BYTES {
        return Err(format!(
            "{name} has more than {} MB. Save a smaller picture and take that.",
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
    let picture =
        RgbaImage::from_raw(width_px, height_px, copied.bytes.into_owned()).ok_or_else(broken)?;
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
    fn a_file_that_was_dropped_is_given_once_and_named_when_it_is_gone() {
        let handed = Handed::default();
        assert_eq!(handed.dropped(), Ok(None));
        handed.keep(PathBuf::from("/no/such/rail.jpg"));
        let said = handed.dropped().expect_err("no file");
        assert!(said.contains("/no/such/rail.jpg"), "{said}");
        assert_eq!(handed.dropped(), Ok(None));
    }
}
