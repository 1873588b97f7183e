//! The sheet inside a cabinet door: every rail drawn, every slot with its label to scan.

use crate::canvas::Canvas;
use crate::document::document;
use crate::flow::{PageSize, Style};
use crate::fonts::{Face, printable, wrap};
use crate::lineup::sentence;
use crate::symbol::QUIET_MODULES;
use crate::{PaperRefusal, Symbol};
use chrono::NaiveDate;
use slotkeep_domain::in_parallel;
use slotkeep_domain::swap::CAUTIONS;
use slotkeep_optics::Proof;
use std::ops::RangeInclusive;

/// Everything that stands on the door sheet of one cabinet.
#[derive(Debug, Clone, PartialEq)]
pub struct DoorSheet {
    pub page: PageSize,
    /// Name of the site.
    pub site: String,
    pub printed_on: NaiveDate,
    /// State of the register that is drawn; empty: not said.
    pub revision: String,
    /// Address of the cabinet, such as `+K12`.
    pub cabinet: String,
    pub title: String,
    pub label: DoorLabel,
    /// From top to bottom.
    pub rails: Vec<DoorRail>,
}

/// A label to scan from the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct DoorLabel {
    /// What the symbol says.
    pub text: String,
    pub human_line: String,
    pub symbol: Symbol,
}

#[derive(Debug, Clone, PartialEq)]
pub struct DoorRail {
    /// Such as `+K12.2`.
    pub address: String,
    pub title: String,
    /// How its supply and its buses hang together with other rails, a sentence each.
    pub joins: Vec<String>,
    pub length_mm: f64,
    /// What stands on it besides slots: left edge and width (mm).
    pub others: Vec<(f64, f64)>,
    /// Left to right.
    pub slots: Vec<DoorSlot>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct DoorSlot {
    pub address: String,
    /// Its number on the rail, such as `07`.
    pub number: String,
    /// Left edge from the left end of the rail.
    pub x_mm: f64,
    pub width_mm: f64,
    /// Model and key that it is made for; may be empty.
    pub model: String,
    pub label: DoorLabel,
}

/// Makes the PDF of a door sheet: one page, or more where a cabinet has more slots than one page
/// holds in a size that can be read.
///
/// Characters that the built-in faces lack are printed as an empty square.
///
/// Fails when a symbol is not read back from its proof.
pub fn door_sheet(sheet: &DoorSheet) -> Result<Vec<u8>, PaperRefusal> {
    let cells: Vec<f64> = slots(sheet).map(text_width_mm).collect();
    let text_mm = cells.iter().copied().fold(0.0, f64::max);
    let sized = |module_dots| Grid::new(sheet, module_dots, text_mm);
    let grid = MODULE_DOTS.rev().map(sized).find(|grid| grid.fits_one_page(sheet));
    let grid = grid.unwrap_or_else(|| sized(*MODULE_DOTS.start()));
    prove(sheet, &grid)?;
    let mut drawing = Drawing { sheet, grid, pages: Vec::new(), y_mm: 0.0 };
    drawing.new_page();
    drawing.cautions();
    sheet.rails.iter().for_each(|rail| drawing.rail(rail));
    drawing.feet();
    Ok(document(&format!("Cabinet {}", sheet.cabinet), drawing.pages))
}

fn prove(sheet: &DoorSheet, grid: &Grid) -> Result<(), PaperRefusal> {
    let own = std::iter::once((&sheet.label, *MODULE_DOTS.end()));
    let labels: Vec<_> =
        own.chain(slots(sheet).map(|slot| (&slot.label, grid.module_dots))).collect();
    let failures = in_parallel(&labels, |(label, module_dots)| {
        let proof = Proof::new(label.symbol.size(), *module_dots);
        let failure = proof.fails(&label.text, label.symbol.modules());
        failure.map(|failure| PaperRefusal::NotReadBack {
            format: "for the door".to_owned(),
            text: label.human_line.clone(),
            failure,
        })
    });
    failures.into_iter().flatten().next().map_or(Ok(()), Err)
}

fn slots(sheet: &DoorSheet) -> impl Iterator<Item = &DoorSlot> {
    sheet.rails.iter().flat_map(|rail| &rail.slots)
}

fn text_width_mm(slot: &DoorSlot) -> f64 {
    let address = ADDRESS.face.width_mm(ADDRESS.size_pt, &printable(&slot.address));
    let human = HUMAN.face.width_mm(HUMAN.size_pt, &slot.label.human_line);
    address.max(human)
}

/// How the cells of the slots are laid out.
#[derive(Debug, Clone, Copy)]
struct Grid {
    module_dots: u32,
    columns: usize,
    cell_mm: (f64, f64),
    symbol_mm: f64,
    page_mm: (f64, f64),
}

impl Grid {
    fn new(sheet: &DoorSheet, module_dots: u32, text_mm: f64) -> Self {
        let page_mm = sheet.page.mm();
        let modules = slots(sheet).map(|slot| slot.label.symbol.size_with_quiet()).max();
        let symbol_mm = modules.unwrap_or(29) as f64 * f64::from(module_dots) * 25.4 / DPI;
        let inner_mm = page_mm.0 - 2.0 * SIDE_MM;
        let least_mm = symbol_mm + text_mm + 1.0;
        let columns = ((inner_mm / least_mm) as usize).max(1);
        let cell_mm = (inner_mm / columns as f64, symbol_mm.max(3.0 * ADDRESS.line_mm()) + 0.4);
        Self { module_dots, columns, cell_mm, symbol_mm, page_mm }
    }

    fn rail_mm(&self, rail: &DoorRail) -> f64 {
        let joins = match self.joins(rail).len() {
            0 => 0.0,
            rows => rows as f64 * SMALL.line_mm() + 0.6,
        };
        HEADING.line_mm() + joins + STRIP_MM + 2.4 + self.rows(rail) as f64 * self.cell_mm.1
    }

    fn joins(&self, rail: &DoorRail) -> Vec<String> {
        let said = sentence(&rail.joins).unwrap_or_default();
        let width_mm = self.page_mm.0 - 2.0 * SIDE_MM;
        let rows = wrap(SMALL.face, SMALL.size_pt, width_mm, &printable(&said));
        rows.into_iter().filter(|row| !row.is_empty()).collect()
    }

    fn rows(&self, rail: &DoorRail) -> usize {
        rail.slots.len().div_ceil(self.columns)
    }

    fn fits_one_page(&self, sheet: &DoorSheet) -> bool {
        let rails: f64 = sheet.rails.iter().map(|rail| self.rail_mm(rail)).sum();
        HEAD_MM + cautions_mm(self.page_mm.0) + rails <= self.page_mm.1 - FOOT_MM
    }
}

fn caution_rows(page_width_mm: f64) -> Vec<String> {
    let width_mm = page_width_mm - 2.0 * SIDE_MM - 5.0;
    wrap(SMALL.face, SMALL.size_pt, width_mm, &printable(&CAUTIONS.join(" ")))
}

fn cautions_mm(page_width_mm: f64) -> f64 {
    caution_rows(page_width_mm).len() as f64 * SMALL.line_mm() + 6.0
}

struct Drawing<'a> {
    sheet: &'a DoorSheet,
    grid: Grid,
    pages: Vec<Canvas>,
    y_mm: f64,
}

impl Drawing<'_> {
    fn page(&mut self) -> &mut Canvas {
        let last = self.pages.len() - 1;
        &mut self.pages[last]
    }

    fn put(&mut self, style: Style, x_mm: f64, y_mm: f64, text: &str) {
        let text = printable(text);
        self.page().text(style.face, style.size_pt, x_mm, y_mm + style.baseline_mm(), &text);
    }

    fn new_page(&mut self) {
        let (width_mm, height_mm) = self.grid.page_mm;
        self.pages.push(Canvas::new(width_mm, height_mm));
        let (sheet, module_dots) = (self.sheet, *MODULE_DOTS.end());
        let side_mm = self.symbol(&sheet.label.symbol, width_mm - SIDE_MM, 9.0, module_dots, true);
        let left_mm = width_mm - SIDE_MM - side_mm;
        let human_mm = HEADING.face.width_mm(HEADING.size_pt, &sheet.label.human_line);
        self.put(HEADING, left_mm - human_mm, 15.0, &sheet.label.human_line);
        let room_mm = left_mm - human_mm - SIDE_MM - 4.0;
        let title = Style::TITLE.wrap(room_mm, &format!("{} {}", sheet.cabinet, sheet.title));
        self.put(Style::TITLE, SIDE_MM, 10.0, title.first().map_or("", String::as_str));
        let mut about = format!("{} \u{2013} as of {}", sheet.site, sheet.printed_on);
        if !sheet.revision.is_empty() {
            about = format!("{about}; register: {}", sheet.revision);
        }
        self.put(Style::SMALL, SIDE_MM, 18.5, &about);
        self.y_mm = HEAD_MM;
    }

    /// Draws a symbol with its quiet zone and returns its side (mm); `x_mm` is the left edge, or
    /// the right one.
    fn symbol(
        &mut self,
        symbol: &Symbol,
        x_mm: f64,
        y_mm: f64,
        module_dots: u32,
        right: bool,
    ) -> f64 {
        let dots = |mm: f64| (mm / 25.4 * DPI).round() as i64;
        let side_mm = symbol.size_with_quiet() as f64 * f64::from(module_dots) * 25.4 / DPI;
        let left_mm = if right { x_mm - side_mm } else { x_mm };
        let quiet = QUIET_MODULES as i64 * i64::from(module_dots);
        let (x_dots, y_dots) = (dots(left_mm) + quiet, dots(y_mm) + quiet);
        self.page().symbol(symbol, x_dots, y_dots, i64::from(module_dots), DPI as u16);
        side_mm
    }

    fn cautions(&mut self) {
        let rows = caution_rows(self.grid.page_mm.0);
        let (y_mm, width_mm) = (self.y_mm, self.grid.page_mm.0 - 2.0 * SIDE_MM);
        let height_mm = cautions_mm(self.grid.page_mm.0) - 3.0;
        self.page().fill(SIDE_MM, y_mm, width_mm, height_mm, 0.94);
        self.page().frame(SIDE_MM, y_mm, width_mm, height_mm, 1.0);
        for (at, row) in rows.iter().enumerate() {
            self.put(SMALL, SIDE_MM + 2.5, y_mm + 1.4 + at as f64 * SMALL.line_mm(), row);
        }
        self.y_mm = HEAD_MM + cautions_mm(self.grid.page_mm.0);
    }

    fn rail(&mut self, rail: &DoorRail) {
        self.keep(self.grid.rail_mm(rail).min(40.0));
        self.put(HEADING, SIDE_MM, self.y_mm, &format!("{} {}", rail.address, rail.title));
        self.y_mm += HEADING.line_mm() + 0.4;
        let joins = self.grid.joins(rail);
        for row in &joins {
            self.put(SMALL, SIDE_MM, self.y_mm, row);
            self.y_mm += SMALL.line_mm();
        }
        self.y_mm += if joins.is_empty() { 0.0 } else { 0.6 };
        self.strip(rail);
        self.y_mm += STRIP_MM + 1.0;
        for row in rail.slots.chunks(self.grid.columns) {
            self.keep(self.grid.cell_mm.1);
            for (at, slot) in row.iter().enumerate() {
                self.cell(slot, SIDE_MM + at as f64 * self.grid.cell_mm.0);
            }
            self.y_mm += self.grid.cell_mm.1;
        }
        self.y_mm += 1.0;
    }

    fn keep(&mut self, height_mm: f64) {
        if self.y_mm + height_mm > self.grid.page_mm.1 - FOOT_MM {
            self.new_page();
        }
    }

    /// The rail as it stands in the cabinet, all rails to one scale.
    fn strip(&mut self, rail: &DoorRail) {
        let longest_mm = self.sheet.rails.iter().map(|rail| rail.length_mm).fold(1.0, f64::max);
        let scale = (self.grid.page_mm.0 - 2.0 * SIDE_MM) / longest_mm;
        let y_mm = self.y_mm;
        let rail_mm = rail.length_mm * scale;
        self.page().fill(SIDE_MM, y_mm + STRIP_MM * 0.4, rail_mm, STRIP_MM * 0.2, 0.75);
        for (x_mm, width_mm) in &rail.others {
            let (x_mm, width_mm) = (SIDE_MM + x_mm * scale, width_mm * scale);
            self.page().fill(x_mm, y_mm + 0.8, width_mm, STRIP_MM - 1.6, 0.85);
            self.page().frame(x_mm, y_mm + 0.8, width_mm, STRIP_MM - 1.6, 0.3);
        }
        for slot in &rail.slots {
            let (x_mm, width_mm) = (SIDE_MM + slot.x_mm * scale, slot.width_mm * scale);
            self.page().fill(x_mm, y_mm, width_mm, STRIP_MM, 1.0);
            self.page().frame(x_mm, y_mm, width_mm, STRIP_MM, 0.5);
            let number_mm = SMALL.face.width_mm(SMALL.size_pt, &slot.number);
            if number_mm < width_mm {
                let x_mm = x_mm + (width_mm - number_mm) / 2.0;
                self.put(SMALL, x_mm, y_mm + (STRIP_MM - SMALL.line_mm()) / 2.0, &slot.number);
            }
        }
    }

    fn cell(&mut self, slot: &DoorSlot, x_mm: f64) {
        let (y_mm, grid) = (self.y_mm, self.grid);
        self.symbol(&slot.label.symbol, x_mm, y_mm, grid.module_dots, false);
        let text_x_mm = x_mm + grid.symbol_mm;
        let room_mm = grid.cell_mm.0 - grid.symbol_mm - 1.0;
        let model = wrap(SMALL.face, SMALL.size_pt, room_mm, &printable(&slot.model));
        let rows_mm = ADDRESS.line_mm() + HUMAN.line_mm() + SMALL.line_mm();
        let room = ((grid.cell_mm.1 - rows_mm) / SMALL.line_mm()).floor().max(0.0) as usize + 1;
        let shown = model.len().min(room);
        let all_mm = rows_mm + (shown as f64 - 1.0) * SMALL.line_mm();
        let mut top_mm = y_mm + (grid.cell_mm.1 - all_mm) / 2.0;
        self.put(ADDRESS, text_x_mm, top_mm, &slot.address);
        top_mm += ADDRESS.line_mm();
        for row in &model[..shown] {
            self.put(SMALL, text_x_mm, top_mm, row);
            top_mm += SMALL.line_mm();
        }
        self.put(HUMAN, text_x_mm, top_mm, &slot.label.human_line);
    }

    fn feet(&mut self) {
        let count = self.pages.len();
        let (width_mm, height_mm) = self.grid.page_mm;
        for (at, page) in self.pages.iter_mut().enumerate() {
            let left =
                "Scan a label to see its slot in the register: units move, this sheet does not.";
            let right = format!("Page {} of {count}", at + 1);
            let right_mm = SMALL.face.width_mm(SMALL.size_pt, &right);
            page.text(SMALL.face, SMALL.size_pt, SIDE_MM, height_mm - 7.0, left);
            let x_mm = width_mm - SIDE_MM - right_mm;
            page.text(SMALL.face, SMALL.size_pt, x_mm, height_mm - 7.0, &right);
        }
    }
}

const HEADING: Style = Style { face: Face::Bold, size_pt: 10.0 };
const ADDRESS: Style = Style { face: Face::Bold, size_pt: 7.5 };
/// The line that people read and type: the least size of labels in the hand.
const HUMAN: Style = Style { face: Face::Bold, size_pt: 6.0 };
const SMALL: Style = Style { face: Face::Regular, size_pt: 6.5 };

/// The printer's dots are not known, so modules are whole dots of 600 on an inch and then, for the
/// most part, of 300.
const DPI: f64 = 600.0;
/// Modules of 0.25 to 0.51 mm: read from 53 to 107 mm.
const MODULE_DOTS: RangeInclusive<u32> = 6..=12;
const SIDE_MM: f64 = 12.0;
const HEAD_MM: f64 = 26.0;
const FOOT_MM: f64 = 11.0;
const STRIP_MM: f64 = 6.0;
