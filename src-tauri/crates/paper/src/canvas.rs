//! One page to draw on: what it holds becomes the page's content stream.
//!
//! Measures are in mm from the upper left corner of the page, y downwards.

use crate::Symbol;
use crate::fonts::{Face, MM_PER_PT};
use crate::glyphs::Glyphs;
use std::io::Write;

/// How far the edges of a module stay inside its dots, as a share of a dot.
///
/// A printer paints each dot that a shape touches (ISO 32000-1, 10.7.4), and the product of
/// position and resolution is inexact: without this a rounding error adds a row of dots. The
/// texts are written as they stand: `.02` after a whole number, and `.96` for what is left.
const INSET_DOTS: (&str, &str) = (".02", ".96");

#[derive(Debug, Clone)]
pub(crate) struct Canvas {
    width_mm: f64,
    height_mm: f64,
    pieces: Vec<Piece>,
}

#[derive(Debug, Clone)]
enum Piece {
    /// Operators of a content stream (ISO 32000-1, annex A).
    Drawn(Vec<u8>),
    /// Text whose glyphs have numbers only when all texts of the document are known.
    Text { face: Face, size_pt: f64, x_pt: f64, y_pt: f64, text: String },
}

impl Canvas {
    pub(crate) fn new(width_mm: f64, height_mm: f64) -> Self {
        Self { width_mm, height_mm, pieces: Vec::new() }
    }

    /// Width and height in points.
    pub(crate) fn size_pt(&self) -> (f32, f32) {
        (pt(self.width_mm) as f32, pt(self.height_mm) as f32)
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
        if !text.is_empty() {
            let (x_pt, y_pt) = (pt(x_mm), pt(self.height_mm - baseline_mm));
            self.pieces.push(Piece::Text { face, size_pt, x_pt, y_pt, text: text.to_owned() });
        }
    }

    /// Fills a rectangle with a grey: 0 is black, 1 is white.
    pub(crate) fn fill(&mut self, x_mm: f64, y_mm: f64, width_mm: f64, height_mm: f64, grey: f32) {
        let rectangle = self.rectangle(x_mm, y_mm, width_mm, height_mm);
        self.draw(format_args!("{grey} g {rectangle} re f 0 g\n"));
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
        let rectangle = self.rectangle(x_mm, y_mm, width_mm, height_mm);
        self.draw(format_args!("{line_pt} w {rectangle} re S\n"));
    }

    /// Draws a level line in black, its upper edge at `y_mm`.
    pub(crate) fn rule(&mut self, x_mm: f64, y_mm: f64, width_mm: f64, line_pt: f64) {
        self.fill(x_mm, y_mm, width_mm, line_pt * MM_PER_PT, 0.0);
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
        let height_pt = self.size_pt().1;
        self.draw(format_args!("q {dot_pt} 0 0 -{dot_pt} 0 {height_pt} cm\n"));
        self.draw(format_args!("1 0 0 1 {x_dots} {y_dots} cm\n"));
        let (begin, end) = INSET_DOTS;
        for r in symbol.dark_rects() {
            let dots = |modules: usize| modules as i64 * module_dots;
            let (left, top) = (dots(r.column), dots(r.row));
            let (width, height) = (dots(r.columns) - 1, dots(r.rows) - 1);
            self.draw(format_args!("{left}{begin} {top}{begin} {width}{end} {height}{end} re\n"));
        }
        self.draw(format_args!("f Q\n"));
    }

    /// The texts of the page with their faces.
    pub(crate) fn texts(&self) -> impl Iterator<Item = (Face, &str)> {
        self.pieces.iter().filter_map(|piece| match piece {
            Piece::Text { face, text, .. } => Some((*face, text.as_str())),
            Piece::Drawn(_) => None,
        })
    }

    /// The content stream of the page.
    pub(crate) fn content(&self, glyphs: &Glyphs) -> Vec<u8> {
        let mut content = Vec::new();
        for piece in &self.pieces {
            match piece {
                Piece::Drawn(operators) => content.extend_from_slice(operators),
                Piece::Text { face, size_pt, x_pt, y_pt, text } => {
                    let (font, glyphs) = (face.resource(), glyphs.of(*face, text));
                    let place = format!("{x_pt:.3} {y_pt:.3}");
                    put(&mut content, format_args!("BT /{font} {size_pt} Tf {place} Td <"));
                    glyphs.for_each(|glyph| put(&mut content, format_args!("{glyph:04X}")));
                    content.extend_from_slice(b"> Tj ET\n");
                }
            }
        }
        content
    }

    fn rectangle(&self, x_mm: f64, y_mm: f64, width_mm: f64, height_mm: f64) -> String {
        let bottom_pt = pt(self.height_mm - y_mm - height_mm);
        format!("{:.3} {bottom_pt:.3} {:.3} {:.3}", pt(x_mm), pt(width_mm), pt(height_mm))
    }

    fn draw(&mut self, operators: std::fmt::Arguments<'_>) {
        if !matches!(self.pieces.last(), Some(Piece::Drawn(_))) {
            self.pieces.push(Piece::Drawn(Vec::new()));
        }
        if let Some(Piece::Drawn(drawn)) = self.pieces.last_mut() {
            put(drawn, operators);
        }
    }
}

fn put(bytes: &mut Vec<u8>, text: std::fmt::Arguments<'_>) {
    bytes.write_fmt(text).expect("writing to memory does not fail");
}

fn pt(mm: f64) -> f64 {
    mm / MM_PER_PT
}
