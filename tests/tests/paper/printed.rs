//! Labels to print, and what a printed page shows to programs that are not ours.

use slotkeep_paper::{SheetLabel, Symbol};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

pub fn code(n: usize) -> String {
    const ALPHABET: &[u8] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
    let digit = |shift: usize| ALPHABET[n.wrapping_mul(40_503) >> shift & 31] as char;
    format!("MPU{}{}{}{}{}{}Q", digit(0), digit(5), digit(10), digit(3), digit(8), digit(1))
}

pub fn human(code: &str) -> String {
    format!("{}-{}-{}-{}", &code[..3], &code[3..6], &code[6..9], &code[9..])
}

pub fn symbol(text: &str) -> Symbol {
    let qr = fast_qr::QRBuilder::new(text).ecl(fast_qr::ECL::M).build().unwrap();
    let modules = (0..qr.size * qr.size).map(|at| qr.data[at].value()).collect();
    Symbol::new(qr.size, modules).unwrap()
}

pub fn label(text: &str, second_line: &str) -> SheetLabel {
    SheetLabel {
        text: text.to_owned(),
        symbol: symbol(text),
        human_line: human(text),
        second_line: second_line.to_owned(),
    }
}

/// A grey picture of a page, or a part of one.
pub struct Picture {
    pub width: usize,
    pub height: usize,
    pub pixels: Vec<u8>,
}

impl Picture {
    /// Reads a binary portable grey map as `pdftoppm` writes it.
    pub fn read(path: &Path) -> Self {
        let bytes = fs::read(path).unwrap();
        let mut fields = Vec::new();
        let mut at = 0;
        while fields.len() < 4 {
            let end = at + bytes[at..].iter().position(u8::is_ascii_whitespace).unwrap();
            fields.push(String::from_utf8(bytes[at..end].to_vec()).unwrap());
            at = end + 1;
        }
        assert_eq!((fields[0].as_str(), fields[3].as_str()), ("P5", "255"));
        let (width, height) = (fields[1].parse().unwrap(), fields[2].parse().unwrap());
        Self { width, height, pixels: bytes[at..at + width * height].to_vec() }
    }

    /// Writes the picture with each pixel as a block of `times` x `times`, as a camera sees it.
    pub fn write_enlarged(&self, path: &Path, times: usize) {
        let (width, height) = (self.width * times, self.height * times);
        let mut bytes = format!("P5\n{width} {height}\n255\n").into_bytes();
        for row in self.pixels.chunks(self.width) {
            let wide: Vec<u8> =
                row.iter().flat_map(|&pixel| std::iter::repeat_n(pixel, times)).collect();
            bytes.extend(wide.repeat(times));
        }
        fs::write(path, bytes).unwrap();
    }

    pub fn at(&self, x: usize, y: usize) -> u8 {
        self.pixels[y * self.width + x]
    }

    pub fn crop(&self, (left, top, width, height): (usize, usize, usize, usize)) -> Self {
        let (right, bottom) = ((left + width).min(self.width), (top + height).min(self.height));
        let mut pixels = Vec::with_capacity((right - left) * (bottom - top));
        for y in top..bottom {
            pixels.extend_from_slice(&self.pixels[y * self.width + left..y * self.width + right]);
        }
        Self { width: right - left, height: bottom - top, pixels }
    }

    /// Returns the uppermost pixel of the leftmost column that is not white.
    pub fn first_dark(&self) -> Option<(usize, usize)> {
        (0..self.width)
            .find_map(|x| (0..self.height).find(|&y| self.at(x, y) < 255).map(|y| (x, y)))
    }

    /// Returns the upper left corner of a symbol and how many dots of its first row are dark.
    ///
    /// The symbol stands at the left of the text or above it, and its finder pattern begins with
    /// seven dark modules: more dots than any stroke of a letter.
    pub fn finder(&self) -> Option<(usize, usize, usize)> {
        let upper = (0..self.height)
            .find_map(|y| (0..self.width).find(|&x| self.at(x, y) < 255).map(|x| (x, y)));
        [self.first_dark(), upper]
            .into_iter()
            .flatten()
            .map(|(x, y)| (x, y, (x..self.width).take_while(|&x| self.at(x, y) < 255).count()))
            .max_by_key(|(_, _, run)| *run)
    }
}

/// Reads pictures with one symbol each.
pub fn decode(pictures: &[Picture]) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let paths: Vec<PathBuf> =
        (0..pictures.len()).map(|n| folder.path().join(format!("{n:04}.pgm"))).collect();
    for (picture, path) in pictures.iter().zip(&paths) {
        // A reader wants a few pixels a module; a module has as few as two dots.
        picture.write_enlarged(path, if picture.width < 1000 { 3 } else { 1 });
    }
    let read = run(Command::new("zbarimg").args(["--quiet", "--raw"]).args(&paths));
    read.lines().map(str::to_owned).collect()
}

pub fn pages(pdf: &[u8], dpi: u16) -> Vec<Picture> {
    let folder = tempfile::tempdir().unwrap();
    let path = write(folder.path(), "sheet.pdf", pdf);
    let dpi = dpi.to_string();
    run(Command::new("pdftoppm")
        .args(["-gray", "-r", &dpi])
        .arg(path)
        .arg(folder.path().join("p")));
    let mut files: Vec<_> = fs::read_dir(folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "pgm"))
        .collect();
    files.sort();
    files.iter().map(|file| Picture::read(file)).collect()
}

pub fn text_by_page(pdf: &[u8]) -> Vec<String> {
    let text = pdf_text(pdf);
    text.split('\u{C}').filter(|page| !page.is_empty()).map(str::to_owned).collect()
}

pub fn pdf_text(pdf: &[u8]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let path = write(folder.path(), "sheet.pdf", pdf);
    run(Command::new("pdftotext").arg("-raw").arg(path).arg("-"))
}

pub fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

pub fn write(folder: &Path, name: &str, bytes: &[u8]) -> PathBuf {
    let path = folder.join(name);
    fs::write(&path, bytes).unwrap();
    path
}

pub fn run(command: &mut Command) -> String {
    let program = command.get_program().to_string_lossy().into_owned();
    let output = command.output().unwrap_or_else(|error| {
        panic!("{program} cannot be started ({error}): run `cargo xtask test`, which installs it")
    });
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{program} failed: {said}");
    String::from_utf8(output.stdout).unwrap()
}

/// Fails where a text does not hold all of these, one after the other.
pub fn in_order(text: &str, parts: &[&str]) {
    let mut from = 0;
    for part in parts {
        match text[from..].find(part) {
            Some(at) => from += at + part.len(),
            None => panic!("“{part}” is missing or out of order in:\n{text}"),
        }
    }
}
