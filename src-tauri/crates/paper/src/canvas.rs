//! One page to draw on, and the document made of such pages.
//!
//! Measures are in mm from the upper left corner of the page, y downwards.

use crate::Symbol;
use crate::fonts::{Face, MM_PER_PT};
use lopdf::{Object, StringFormat};
use printpdf::{
    Color, CurTransMat, DictItem, FontId, Greyscale, Op, PaintMode, PdfDocument, PdfFont,
    PdfFontHandle, PdfPage, PdfSaveOptions, Point, Pt, Rect, TextItem,
};

/// How far the edges of a module stay inside its dots, as a share of a dot.
///
/// A printer paints each dot that a shape touches (ISO 32000-1, 10.7.4), and the product of
/// position and resolution is inexact: without this a rounding error adds a row of dots.
const INSET_DOTS: f64 = 1.0 / 64.0;

#[derive(Debug, Clone)]
pub(crate) struct Canvas {
    width_mm: f64,
    height_mm: f64,
    ops: Vec<Op>,
}

impl Canvas {
    pub(crate) fn new(width_mm: f64, height_mm: f64) -> Self {
        Self { width_mm, height_mm, ops: Vec::new() }
    }

    /// Writes one line; `baseline_mm` is where the letters stand. The text must be printable.
    pub(crate) fn text(
        &mut self,
        face: Face,
        size_pt: f64,
        x_mm: f64,
        baseline_mm: f64,
        text: &str,
    ) {
        if text.is_empty() {
            return;
        }
        let font = PdfFontHandle::External(FontId(face.resource().to_owned()));
        let pos = Point { x: pt(x_mm), y: pt(self.height_mm - baseline_mm) };
        self.ops.extend([
            Op::StartTextSection,
            Op::SetFont { font, size: Pt(size_pt as f32) },
            Op::SetTextCursor { pos },
            Op::ShowText { items: vec![TextItem::Text(text.to_owned())] },
            Op::EndTextSection,
        ]);
    }

    /// Fills a rectangle with a grey: 0 is black, 1 is white.
    pub(crate) fn fill(&mut self, x_mm: f64, y_mm: f64, width_mm: f64, height_mm: f64, grey: f32) {
        self.grey(grey);
        self.rect(x_mm, y_mm, width_mm, height_mm, PaintMode::Fill);
        self.grey(0.0);
    }

    /// Draws the outline of a rectangle in black.
    pub(crate) fn frame(
        &mut self,
        x_mm: f64,
        y_mm: f64,
        width_mm: f64,
        height_mm: f64,
        line_pt: f32,
    ) {
        self.ops.push(Op::SetOutlineThickness { pt: Pt(line_pt) });
        self.rect(x_mm, y_mm, width_mm, height_mm, PaintMode::Stroke);
    }

    /// Draws a level line in black, its upper edge at `y_mm`.
    pub(crate) fn rule(&mut self, x_mm: f64, y_mm: f64, width_mm: f64, line_pt: f64) {
        self.rect(x_mm, y_mm, width_mm, line_pt * MM_PER_PT, PaintMode::Fill);
    }

    /// Draws a symbol, each module `module_dots` x `module_dots` whole dots of the printer.
    ///
    /// `x_dots` and `y_dots` are the upper left corner of the first module, from the upper
    /// left corner of the page.
    pub(crate) fn symbol(
        &mut self,
        symbol: &Symbol,
        x_dots: i64,
        y_dots: i64,
        module_dots: i64,
        dpi: u16,
    ) {
        let dot_pt = (72.0 / f64::from(dpi)) as f32;
        let height_pt = pt(self.height_mm).0;
        let to_dots = CurTransMat::Raw([dot_pt, 0.0, 0.0, -dot_pt, 0.0, height_pt]);
        self.ops.push(Op::SaveGraphicsState);
        self.ops.push(Op::SetTransformationMatrix { matrix: to_dots });
        let module = module_dots as f64;
        for r in symbol.dark_rects() {
            let left = x_dots as f64 + r.column as f64 * module + INSET_DOTS;
            let top = y_dots as f64 + r.row as f64 * module + INSET_DOTS;
            let width = r.columns as f64 * module - 2.0 * INSET_DOTS;
            let height = r.rows as f64 * module - 2.0 * INSET_DOTS;
            let real = |value: f64| DictItem::Real(value as f32);
            let value = vec![real(left), real(top), real(width), real(height)];
            self.ops.push(Op::Unknown { key: "re".to_owned(), value });
        }
        self.ops.push(Op::Unknown { key: "f".to_owned(), value: Vec::new() });
        self.ops.push(Op::RestoreGraphicsState);
    }

    fn grey(&mut self, percent: f32) {
        let col = Color::Greyscale(Greyscale { percent, icc_profile: None });
        self.ops.push(Op::SetFillColor { col });
    }

    fn rect(&mut self, x_mm: f64, y_mm: f64, width_mm: f64, height_mm: f64, mode: PaintMode) {
        let bottom = pt(self.height_mm - y_mm - height_mm);
        let mut rectangle = Rect::from_xywh(pt(x_mm), bottom, pt(width_mm), pt(height_mm));
        rectangle.mode = Some(mode);
        self.ops.push(Op::DrawRectangle { rectangle });
    }

    fn page(self) -> PdfPage {
        let media_box = Rect::from_wh(pt(self.width_mm), pt(self.height_mm));
        let (trim_box, crop_box) = (media_box.clone(), media_box.clone());
        PdfPage { media_box, trim_box, crop_box, ops: self.ops }
    }
}

/// Makes the bytes of a document. Equal pages give equal bytes.
pub(crate) fn document(title: &str, pages: Vec<Canvas>) -> Vec<u8> {
    let mut document = PdfDocument::new(title);
    document.metadata.info.creator = "Slotkeep".to_owned();
    for face in Face::ALL {
        let id = FontId(face.resource().to_owned());
        document.resources.fonts.map.insert(id, PdfFont::new(face.font().clone()));
    }
    document.pages = pages.into_iter().map(Canvas::page).collect();
    // `secure` would drop the path operators that draw a symbol as one shape.
    let options = PdfSaveOptions { secure: false, ..PdfSaveOptions::default() };
    let mut file = document.to_lopdf_document(&options, &mut Vec::new());
    // The writer makes up an identity and a date for each run; equal input must give equal bytes.
    let identity = Object::String(b"slotkeep".to_vec(), StringFormat::Literal);
    file.trailer.set("ID", Object::Array(vec![identity.clone(), identity]));
    if let Ok(info) = file.trailer.get(b"Info").and_then(Object::as_reference)
        && let Ok(info) = file.get_object_mut(info).and_then(Object::as_dict_mut)
    {
        info.remove(b"CreationDate");
        info.remove(b"ModDate");
    }
    file.compress();
    let mut bytes = Vec::new();
    file.save_to(&mut bytes).expect("writing to memory does not fail");
    bytes
}

fn pt(mm: f64) -> Pt {
    Pt((mm / MM_PER_PT) as f32)
}
