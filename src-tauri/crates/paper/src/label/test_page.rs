//! A page of crosses and rulers that shows how far a printer is off, and what follows from it.

use super::Printing;
use crate::canvas::Canvas;
use crate::document::document;
use crate::flow::Style;
use crate::fonts::{Face, wrap};
use crate::{PaperRefusal, SheetFormat};

/// What a person measured on a printed test page (mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// From the left edge of the paper to the middle of cross A; 20 where nothing is off.
    pub left_mm: f64,
    /// From the top edge of the paper to the middle of cross A; 20 where nothing is off.
    pub top_mm: f64,
    /// From cross A to cross B.
    pub across_mm: f64,
    /// From cross A to cross C.
    pub down_mm: f64,
}

/// Distances of cross A from the edges, and between the crosses (mm).
pub(super) struct Crosses {
    pub across_mm: f64,
    pub down_mm: f64,
}

impl Crosses {
    pub(super) fn of(format: &SheetFormat) -> Result<Self, PaperRefusal> {
        if format.is_roll() {
            return Err(PaperRefusal::RollTestPage { format: format.name.to_owned() });
        }
        // Whole centimetres, so that they are quickly compared with a ruler.
        let whole = |side_mm: f64| ((side_mm - 2.0 * CROSS_MM) / 10.0).floor() * 10.0;
        Ok(Self { across_mm: whole(format.page_width_mm), down_mm: whole(format.page_height_mm) })
    }
}

impl Printing {
    /// Returns offset and scale that undo what was measured on an uncorrected test page.
    ///
    /// A printer puts a point at `p` to `f × p + t`. The scale is `1/f`, the wanted distance of two
    /// crosses over the measured one; the offset is `20 mm - measured × scale`.
    ///
    /// Fails for rolls and when a measure is more than a tenth or 20 mm away from what is printed.
    pub fn corrected_by(self, format: &SheetFormat, seen: &Measured) -> Result<Self, PaperRefusal> {
        let crosses = Crosses::of(format)?;
        let plausible = |what, value: f64, wanted: f64, off: f64| {
            let near = (wanted - off..=wanted + off).contains(&value);
            near.then_some(value).ok_or(PaperRefusal::Measure { what, value, wanted })
        };
        let a_tenth = |wanted: f64| wanted * 0.09;
        let across = crosses.across_mm;
        let scale_x =
            across / plausible("distance from A to B", seen.across_mm, across, a_tenth(across))?;
        let down = crosses.down_mm;
        let scale_y = down / plausible("distance from A to C", seen.down_mm, down, a_tenth(down))?;
        let left = plausible("distance from the left edge", seen.left_mm, CROSS_MM, 17.0)?;
        let top = plausible("distance from the top edge", seen.top_mm, CROSS_MM, 17.0)?;
        let corrected = Self {
            offset_x_mm: CROSS_MM - left * scale_x,
            offset_y_mm: CROSS_MM - top * scale_y,
            scale_x,
            scale_y,
            ..self
        };
        corrected.check_correction()?;
        Ok(corrected)
    }
}

/// Makes a page with crosses and rulers at known places, and the outlines of the labels of a
/// format, to be printed on plain paper.
///
/// Printed with a correction it shows whether the correction is right: everything then stands
/// where the page says.
///
/// Fails for rolls and when a correction is out of range.
pub fn test_page(format: &SheetFormat, printing: &Printing) -> Result<Vec<u8>, PaperRefusal> {
    let crosses = Crosses::of(format)?;
    printing.check_correction()?;
    let mut page = Canvas::new(format.page_width_mm, format.page_height_mm);
    outlines(&mut page, format, printing);
    instructions(&mut page, format, printing, &crosses);
    let (right_mm, low_mm) = (CROSS_MM + crosses.across_mm, CROSS_MM + crosses.down_mm);
    let (a, b, c) = ((CROSS_MM, CROSS_MM), (right_mm, CROSS_MM), (CROSS_MM, low_mm));
    for (name, at) in [("A", a), ("B", b), ("C", c)] {
        cross(&mut page, name, printing.corrected(at));
    }
    rulers(&mut page, printing, &crosses);
    Ok(document("Test page", vec![page]))
}

fn outlines(page: &mut Canvas, format: &SheetFormat, printing: &Printing) {
    for place in 0..format.places() {
        let (x_mm, y_mm) = printing.corrected(format.corner_mm(place));
        let (width_mm, height_mm) = (format.label_width_mm, format.label_height_mm);
        for y_mm in [y_mm, y_mm + height_mm] {
            page.fill(x_mm, y_mm - 0.05, width_mm, 0.1, 0.7);
        }
        for x_mm in [x_mm, x_mm + width_mm] {
            page.fill(x_mm - 0.05, y_mm, 0.1, height_mm, 0.7);
        }
    }
}

/// A cross whose middle is the measured point, with its letter beside it.
fn cross(page: &mut Canvas, name: &str, (x_mm, y_mm): (f64, f64)) {
    page.fill(x_mm - 7.0, y_mm - 0.1, 14.0, 0.2, 0.0);
    page.fill(x_mm - 0.1, y_mm - 7.0, 0.2, 14.0, 0.0);
    let (face, size_pt) = (Face::Bold, 13.0);
    page.text(face, size_pt, x_mm - 5.5, y_mm - 2.0, name);
}

/// Ticks at each mm between the crosses, at right angles to the way they measure.
fn rulers(page: &mut Canvas, printing: &Printing, crosses: &Crosses) {
    let mut ruler = |length_mm: f64, point: &dyn Fn(f64) -> (f64, f64), level: bool| {
        for mm in 0..=length_mm as usize {
            let (x_mm, y_mm) = printing.corrected(point(mm as f64));
            let tick_mm = if mm % 10 == 0 {
                4.0
            } else if mm % 5 == 0 {
                2.8
            } else {
                1.8
            };
            if level {
                page.fill(x_mm - 0.05, y_mm, 0.1, tick_mm, 0.0);
            } else {
                page.fill(x_mm, y_mm - 0.05, tick_mm, 0.1, 0.0);
            }
            if mm % 10 == 0 && mm > 0 {
                let text = mm.to_string();
                let (x_mm, y_mm) = if level {
                    let half_mm = Face::Regular.width_mm(6.0, &text) / 2.0;
                    (x_mm - half_mm, y_mm + 6.4)
                } else {
                    (x_mm + 4.6, y_mm + 0.7)
                };
                page.text(Face::Regular, 6.0, x_mm, y_mm, &text);
            }
        }
    };
    ruler(crosses.across_mm, &|mm| (CROSS_MM + mm, CROSS_MM), true);
    ruler(crosses.down_mm, &|mm| (CROSS_MM, CROSS_MM + mm), false);
}

fn instructions(page: &mut Canvas, format: &SheetFormat, printing: &Printing, crosses: &Crosses) {
    let plain = Printing { dpi: printing.dpi, ..Printing::default() };
    let corrected = Printing { start_position: 1, ..*printing } != plain;
    let (across, down) = (crosses.across_mm, crosses.down_mm);
    let mut lines = vec![
        (Style::TITLE, "Test page for label sheets".to_owned()),
        (
            Style::BODY,
            format!(
                "Sheet {}. Print this page on plain paper at 100 %, without fitting it to the page. \
                 Measure with a steel ruler to half a millimetre, to the middle of the crosses, and \
                 write it down:",
                format.name
            ),
        ),
        (Style::STRONG, "1. Left edge of the paper to cross A:  ________ mm   (20)".to_owned()),
        (Style::STRONG, "2. Top edge of the paper to cross A:  ________ mm   (20)".to_owned()),
        (Style::STRONG, format!("3. Cross A to cross B:  ________ mm   ({across})")),
        (Style::STRONG, format!("4. Cross A to cross C:  ________ mm   ({down})")),
    ];
    let last = "Last, lay the page behind an empty label sheet and hold both against the light: the \
                grey outlines must lie on the edges of the labels.";
    if corrected {
        lines.push((Style::BODY, corrected_text(printing)));
    } else {
        lines.push((Style::BODY, plain_text(across, down)));
    }
    lines.push((Style::BODY, last.to_owned()));
    framed(page, across - 26.0, lines);
}

fn corrected_text(printing: &Printing) -> String {
    format!(
        "Printed with offset {:.2} mm to the right and {:.2} mm down, scale {:.4} across and {:.4} \
         down. The correction is right when the figures in brackets come out. Otherwise print a \
         page without correction and measure that.",
        printing.offset_x_mm, printing.offset_y_mm, printing.scale_x, printing.scale_y
    )
}

fn plain_text(across_mm: f64, down_mm: f64) -> String {
    format!(
        "Type the four figures in under Labels, \u{201c}My printer is off\u{201d}, or give them to \
         slotkeep label adjustment. Then print this page again with the correction: the figures in \
         brackets must come out. By hand: scale across = {across_mm} / figure 3, scale down = \
         {down_mm} / figure 4, offset to the right = 20 - figure 1 \u{d7} scale across, offset down \
         = 20 - figure 2 \u{d7} scale down."
    )
}

/// Writes lines in a white box, over the outlines.
fn framed(page: &mut Canvas, width_mm: f64, lines: Vec<(Style, String)>) {
    let left_mm = CROSS_MM + 16.0;
    let mut y_mm = CROSS_MM + 16.0;
    let wrapped: Vec<_> = lines
        .into_iter()
        .map(|(style, text)| (style, wrap(style.face, style.size_pt, width_mm, &text)))
        .collect();
    let rows: f64 =
        wrapped.iter().map(|(style, rows)| rows.len() as f64 * style.line_mm() + 1.6).sum();
    page.fill(left_mm - 3.0, y_mm - 3.0, width_mm + 6.0, rows + 6.0, 1.0);
    page.frame(left_mm - 3.0, y_mm - 3.0, width_mm + 6.0, rows + 6.0, 0.6);
    for (style, rows) in wrapped {
        for row in rows {
            page.text(style.face, style.size_pt, left_mm, y_mm + style.baseline_mm(), &row);
            y_mm += style.line_mm();
        }
        y_mm += 1.6;
    }
}

/// From the edges of the paper to cross A (mm); beyond the margin that no printer reaches.
const CROSS_MM: f64 = 20.0;
