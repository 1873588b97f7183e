//! The glyphs of the texts of a document, embedded as subsets of the two faces.

use crate::canvas::Canvas;
use crate::fonts::Face;
use lopdf::content::Content;
use lopdf::{Document, Object};
use printpdf::{
    FontId, Op, PdfDocument, PdfFont, PdfFontHandle, PdfPage, PdfSaveOptions, Point, Pt, Rect,
    TextItem,
};
use std::collections::{BTreeSet, HashMap};

/// The number of each character's glyph in the embedded subset of its face.
pub(crate) struct Glyphs([HashMap<char, u16>; Face::ALL.len()]);

impl Glyphs {
    /// Makes a document of one page that shows every character of `pages` once, and reads off
    /// that page which number each glyph was given.
    pub(crate) fn embedded(title: &str, pages: &[Canvas]) -> (Document, Self) {
        let mut used = Face::ALL.map(|_| BTreeSet::new());
        for (face, text) in pages.iter().flat_map(Canvas::texts) {
            used[face as usize].extend(text.chars());
        }
        let document = specimen(title, &used);
        let mut numbers = Face::ALL.map(|_| HashMap::new());
        for (face, glyphs) in shown(&document) {
            numbers[face as usize] = used[face as usize].iter().copied().zip(glyphs).collect();
        }
        (document, Self(numbers))
    }

    /// The glyphs of a text; 0, the empty box, for a character that is not embedded.
    pub(crate) fn of<'a>(&'a self, face: Face, text: &'a str) -> impl Iterator<Item = u16> + 'a {
        text.chars().map(move |c| self.0[face as usize].get(&c).copied().unwrap_or(0))
    }
}

fn specimen(title: &str, used: &[BTreeSet<char>; Face::ALL.len()]) -> Document {
    let mut document = PdfDocument::new(title);
    document.metadata.info.creator = "Slotkeep".to_owned();
    let mut ops = Vec::new();
    for face in Face::ALL {
        let id = FontId(face.resource().to_owned());
        document.resources.fonts.map.insert(id.clone(), PdfFont::new(face.font().clone()));
        let text: String = used[face as usize].iter().collect();
        ops.extend([
            Op::StartTextSection,
            Op::SetFont { font: PdfFontHandle::External(id), size: Pt(1.0) },
            Op::SetTextCursor { pos: Point { x: Pt(0.0), y: Pt(0.0) } },
            Op::ShowText { items: vec![TextItem::Text(text)] },
            Op::EndTextSection,
        ]);
    }
    let media_box = Rect::from_wh(Pt(1.0), Pt(1.0));
    let (trim_box, crop_box) = (media_box.clone(), media_box.clone());
    document.pages = vec![PdfPage { media_box, trim_box, crop_box, ops }];
    document.to_lopdf_document(&PdfSaveOptions::default(), &mut Vec::new())
}

/// Glyph numbers as the page of a specimen shows them, face by face.
fn shown(document: &Document) -> Vec<(Face, Vec<u16>)> {
    let page = document.get_pages().into_values().next().unwrap_or_default();
    let content = document.get_page_content(page);
    let content = Content::decode(&content).expect("the content was just written");
    let mut shown: Vec<(Face, Vec<u16>)> = Vec::new();
    for operation in content.operations {
        if operation.operator == "Tf" {
            let name = operation.operands.first().and_then(|name| name.as_name().ok());
            let face = Face::ALL.iter().find(|face| Some(face.resource().as_bytes()) == name);
            shown.extend(face.map(|face| (*face, Vec::new())));
        }
        let mut strings = operation.operands.iter().collect::<Vec<_>>();
        if operation.operator == "TJ" {
            strings = strings.into_iter().flat_map(|one| one.as_array().ok()).flatten().collect();
        }
        if let ("Tj" | "TJ", Some((_, glyphs))) = (operation.operator.as_str(), shown.last_mut()) {
            for string in strings {
                let Object::String(bytes, _) = string else { continue };
                glyphs
                    .extend(bytes.chunks_exact(2).map(|two| u16::from_be_bytes([two[0], two[1]])));
            }
        }
    }
    shown
}
