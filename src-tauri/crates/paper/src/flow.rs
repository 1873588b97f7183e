//! Text that flows over pages from top to bottom: headings, paragraphs, steps, notices.

use crate::Symbol;
use crate::canvas::Canvas;
use crate::document::document;
use crate::fonts::{Face, MM_PER_PT, printable, wrap};

/// The paper of a sheet to read and sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum PageSize {
    /// ISO 216 A4, 210 x 297 mm.
    #[default]
    A4,
    /// ANSI/ASME Y14.1 size A, 8.5 x 11 inches.
    Letter,
}

impl PageSize {
    pub(crate) fn mm(self) -> (f64, f64) {
        match self {
            Self::A4 => (210.0, 297.0),
            Self::Letter => (215.9, 279.4),
        }
    }
}

/// How a piece of text is set.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Style {
    pub face: Face,
    pub size_pt: f64,
}

impl Style {
    pub(crate) const TITLE: Self = Self { face: Face::Bold, size_pt: 18.0 };
    pub(crate) const HEADING: Self = Self { face: Face::Bold, size_pt: 11.5 };
    pub(crate) const BODY: Self = Self { face: Face::Regular, size_pt: 9.5 };
    pub(crate) const STRONG: Self = Self { face: Face::Bold, size_pt: 9.5 };
    /// What is to be filled in: larger, so that there is room to write.
    pub(crate) const CHECK: Self = Self { face: Face::Regular, size_pt: 11.0 };
    pub(crate) const SMALL: Self = Self { face: Face::Regular, size_pt: 8.0 };

    pub(crate) fn line_mm(self) -> f64 {
        self.size_pt * 1.32 * MM_PER_PT
    }

    /// Where the letters stand below the top of their line.
    pub(crate) fn baseline_mm(self) -> f64 {
        self.size_pt * 1.02 * MM_PER_PT
    }

    pub(crate) fn wrap(self, width_mm: f64, text: &str) -> Vec<String> {
        wrap(self.face, self.size_pt, width_mm, &printable(text))
    }
}

/// The texts of one step to tick.
#[derive(Debug, Clone, Copy)]
pub(crate) struct StepText<'a> {
    pub text: &'a str,
    pub detail: &'a str,
    pub check: &'a str,
    pub aside: &'a str,
}

/// What stands at the head and foot of each page.
#[derive(Debug, Clone)]
pub(crate) struct Running {
    pub title: String,
    pub head_left: String,
    pub head_right: String,
    pub foot_left: String,
}

pub(crate) struct Flow {
    size: PageSize,
    running: Running,
    pages: Vec<Canvas>,
    y_mm: f64,
}

impl Flow {
    pub(crate) fn new(size: PageSize, running: Running) -> Self {
        let mut flow = Self { size, running, pages: Vec::new(), y_mm: 0.0 };
        flow.new_page();
        flow
    }

    pub(crate) fn width_mm(&self) -> f64 {
        self.size.mm().0 - 2.0 * SIDE_MM
    }

    /// Returns the height that is left on this page (mm).
    pub(crate) fn left_mm(&self) -> f64 {
        self.size.mm().1 - BOTTOM_MM - self.y_mm
    }

    /// Returns the height that an empty page offers (mm).
    pub(crate) fn page_mm(&self) -> f64 {
        self.size.mm().1 - BOTTOM_MM - TOP_MM
    }

    pub(crate) fn new_page(&mut self) {
        let (width_mm, height_mm) = self.size.mm();
        self.pages.push(Canvas::new(width_mm, height_mm));
        self.y_mm = TOP_MM;
    }

    /// Goes to a new page unless `height_mm` is left on this one or no page has that much.
    pub(crate) fn keep(&mut self, height_mm: f64) {
        if height_mm > self.left_mm() && height_mm <= self.page_mm() {
            self.new_page();
        }
    }

    pub(crate) fn gap(&mut self, height_mm: f64) {
        self.y_mm += height_mm;
    }

    /// Writes one line at `x_mm` from the left margin, its top `down_mm` below the cursor.
    pub(crate) fn put(&mut self, style: Style, x_mm: f64, down_mm: f64, line: &str) {
        let baseline_mm = self.y_mm + down_mm + style.baseline_mm();
        self.canvas().text(style.face, style.size_pt, SIDE_MM + x_mm, baseline_mm, line);
    }

    pub(crate) fn rule(&mut self, x_mm: f64, down_mm: f64, width_mm: f64, line_pt: f64) {
        let y_mm = self.y_mm + down_mm;
        self.canvas().rule(SIDE_MM + x_mm, y_mm, width_mm, line_pt);
    }

    pub(crate) fn fill(&mut self, x_mm: f64, down_mm: f64, size_mm: (f64, f64), grey: f32) {
        let y_mm = self.y_mm + down_mm;
        self.canvas().fill(SIDE_MM + x_mm, y_mm, size_mm.0, size_mm.1, grey);
    }

    /// Draws an empty box to tick.
    pub(crate) fn tick_box(&mut self, x_mm: f64, down_mm: f64) {
        let y_mm = self.y_mm + down_mm;
        self.canvas().frame(SIDE_MM + x_mm + 0.2, y_mm, TICK_MM, TICK_MM, 0.9);
    }

    pub(crate) fn heading(&mut self, text: &str) {
        self.keep(4.0 + 4.0 * Style::HEADING.line_mm());
        if self.y_mm > TOP_MM {
            self.gap(4.5);
        }
        self.lines(Style::HEADING, 0.0, text);
        self.gap(1.2);
    }

    /// Writes a paragraph, `indent_mm` from the left margin, over as many pages as it needs.
    pub(crate) fn lines(&mut self, style: Style, indent_mm: f64, text: &str) {
        let lines = style.wrap(self.width_mm() - indent_mm, text);
        if lines.len() <= 4 {
            self.keep(lines.len() as f64 * style.line_mm());
        }
        for line in lines {
            self.keep(style.line_mm());
            self.put(style, indent_mm, 0.0, &line);
            self.gap(style.line_mm());
        }
    }

    /// Writes a list in a frame that is kept on one page: what must not be overlooked.
    pub(crate) fn notice(&mut self, heading: &str, items: &[String]) {
        let text_mm = self.width_mm() - 12.0;
        let wrapped: Vec<_> = items.iter().map(|item| Style::BODY.wrap(text_mm, item)).collect();
        let item_mm = |lines: &Vec<String>| lines.len() as f64 * Style::BODY.line_mm() + 0.7;
        let height_mm =
            5.0 + Style::STRONG.line_mm() + wrapped.iter().map(item_mm).sum::<f64>() + 1.0;
        self.keep(height_mm);
        let (y_mm, width_mm) = (self.y_mm, self.width_mm());
        self.fill(0.0, 0.0, (width_mm, height_mm), 0.94);
        self.canvas().frame(SIDE_MM, y_mm, width_mm, height_mm, 1.2);
        self.gap(2.5);
        self.put(Style::STRONG, 4.0, 0.0, &printable(heading));
        self.gap(Style::STRONG.line_mm() + 1.0);
        for lines in wrapped {
            self.put(Style::STRONG, 4.0, 0.0, "\u{2022}");
            for line in lines {
                self.put(Style::BODY, 8.0, 0.0, &line);
                self.gap(Style::BODY.line_mm());
            }
            self.gap(0.7);
        }
        self.y_mm = y_mm + height_mm + 3.0;
    }

    /// Writes a numbered step with its box to tick and a line for initials and time, kept on one
    /// page where it fits on one.
    ///
    /// `check` is what must be filled in or looked at; `aside` stands above the line for initials.
    pub(crate) fn step(&mut self, number: usize, step: &StepText<'_>) {
        let text_mm = self.width_mm() - STEP_INDENT_MM - INITIALS_MM - 4.0;
        let parts =
            [(Style::STRONG, step.text), (Style::BODY, step.detail), (Style::CHECK, step.check)];
        let lines: Vec<_> = parts
            .into_iter()
            .filter(|(_, text)| !text.trim().is_empty())
            .flat_map(|(style, text)| {
                style.wrap(text_mm, text).into_iter().map(move |line| (style, line))
            })
            .collect();
        let text_height_mm = lines.iter().map(|(style, _)| style.line_mm()).sum::<f64>();
        self.keep(text_height_mm.max(8.0) + 2.6);
        // Before the text, so that a reader of the page's text meets number and step together.
        let initials_mm = self.width_mm() - INITIALS_MM;
        self.put(Style::SMALL, initials_mm, 0.0, &printable(step.aside));
        self.rule(initials_mm, 7.6, INITIALS_MM, 0.6);
        self.tick_box(0.0, -0.1);
        let number = format!("{number}.");
        let number_mm = Style::STRONG.face.width_mm(Style::STRONG.size_pt, &number);
        self.put(Style::STRONG, STEP_INDENT_MM - 1.8 - number_mm, 0.0, &number);
        let spare_mm = (8.0 - text_height_mm).max(0.0);
        for (style, line) in lines {
            self.keep(style.line_mm());
            self.put(style, STEP_INDENT_MM, 0.0, &line);
            self.gap(style.line_mm());
        }
        self.gap(spare_mm + 2.6);
    }

    /// Draws a symbol for reading by a phone, its upper left corner at the cursor.
    ///
    /// Returns its side with quiet zone (mm). Sheets go to office printers whose dots are not
    /// known, so the module is about 0.5 mm and whole dots of 600 dpi.
    pub(crate) fn symbol(&mut self, symbol: &Symbol, x_mm: f64, down_mm: f64) -> f64 {
        const DPI: u16 = 600;
        const MODULE_DOTS: i64 = 12;
        let dots = |mm: f64| (mm / 25.4 * f64::from(DPI)).round() as i64;
        let quiet_dots = crate::symbol::QUIET_MODULES as i64 * MODULE_DOTS;
        let x_dots = dots(SIDE_MM + x_mm) + quiet_dots;
        let y_dots = dots(self.y_mm + down_mm) + quiet_dots;
        self.canvas().symbol(symbol, x_dots, y_dots, MODULE_DOTS, DPI);
        symbol_side_mm(symbol)
    }

    /// Puts head and foot on every page and returns the document.
    pub(crate) fn finish(mut self) -> Vec<u8> {
        let (width_mm, height_mm) = self.size.mm();
        let count = self.pages.len();
        let running = &self.running;
        let (size_pt, face) = (Style::SMALL.size_pt, Style::SMALL.face);
        let right = |page: &mut Canvas, baseline_mm: f64, text: &str| {
            let x_mm = width_mm - SIDE_MM - face.width_mm(size_pt, text);
            page.text(face, size_pt, x_mm, baseline_mm, text);
        };
        for (index, page) in self.pages.iter_mut().enumerate() {
            let inner_mm = width_mm - 2.0 * SIDE_MM;
            let first_line = |text: &str| {
                Style::SMALL.wrap(inner_mm * 0.7, text).into_iter().next().unwrap_or_default()
            };
            page.text(face, size_pt, SIDE_MM, 12.0, &first_line(&running.head_left));
            right(page, 12.0, &printable(&running.head_right));
            page.rule(SIDE_MM, 13.6, inner_mm, 0.5);
            let foot_mm = height_mm - 10.0;
            page.rule(SIDE_MM, foot_mm - 4.2, inner_mm, 0.5);
            page.text(face, size_pt, SIDE_MM, foot_mm, &first_line(&running.foot_left));
            right(page, foot_mm, &format!("Page {} of {count}", index + 1));
        }
        document(&self.running.title, self.pages)
    }

    fn canvas(&mut self) -> &mut Canvas {
        let last = self.pages.len() - 1;
        &mut self.pages[last]
    }
}

pub(crate) fn symbol_side_mm(symbol: &Symbol) -> f64 {
    symbol.size_with_quiet() as f64 * 12.0 / 600.0 * 25.4
}

/// Side of a box to tick; large enough for a thick pen.
pub(crate) const TICK_MM: f64 = 4.2;
/// Room for initials and time beside a step.
const INITIALS_MM: f64 = 30.0;
const STEP_INDENT_MM: f64 = 14.0;
const SIDE_MM: f64 = 18.0;
const TOP_MM: f64 = 18.0;
const BOTTOM_MM: f64 = 18.0;
