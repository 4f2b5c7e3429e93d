//! Letters as shapes, from the font that is built in.

use super::sheet::{Piece, Sheet};
use super::words::Part;
use ab_glyph::{Font, FontRef, OutlineCurve};

/// Size of running text and of headings, and distance of lines, mm and times
/// the size.
const TEXT_MM: f64 = 2.9;
const HEADING_MM: f64 = 3.8;
const LEADING: f64 = 1.5;

/// The built-in font.
pub struct Lettering {
    font: FontRef<'static>,
    per_em: f64,
}

impl Lettering {
    /// `None` only when the font in the program is broken.
    pub fn new() -> Option<Self> {
        let bytes = include_bytes!("../report/assets/DejaVuSans-Bold.ttf");
        let font = FontRef::try_from_slice(bytes).ok()?;
        let per_em = f64::from(font.units_per_em()?);
        Some(Self { font, per_em })
    }

    /// Whether the font has a shape for `c`.
    pub fn knows(&self, c: char) -> bool {
        self.font.glyph_id(c).0 != 0
    }

    /// Width of a line at `size` mm an em, mm.
    pub fn width(&self, text: &str, size: f64) -> f64 {
        let units: f64 = text
            .chars()
            .map(|c| f64::from(self.font.h_advance_unscaled(self.font.glyph_id(c))))
            .sum();
        units * size / self.per_em
    }

    /// The largest size up to `size` at which `text` is no wider than `width`.
    pub fn fitting(&self, text: &str, size: f64, width: f64) -> f64 {
        size * (width / self.width(text, size).max(1e-9)).min(1.0)
    }

    /// Sets a line; `at` is its start on the base line.
    pub fn line(&self, sheet: &mut Sheet, text: &str, at: [f64; 2], size: f64) {
        let k = size / self.per_em;
        let mut pen = at[0];
        for c in text.chars() {
            let glyph = self.font.glyph_id(c);
            if let Some(outline) = self.font.outline(glyph) {
                let place = |p: &ab_glyph::Point| {
                    [pen + k * f64::from(p.x), at[1] - k * f64::from(p.y)].map(rounded)
                };
                sheet.shape(&pieces(&outline.curves, place));
            }
            pen += k * f64::from(self.font.h_advance_unscaled(glyph));
        }
    }

    /// Sets a heading or a paragraph from its upper left corner; returns where
    /// the next begins.
    pub fn paragraph(&self, sheet: &mut Sheet, part: &Part, at: [f64; 2], width: f64) -> f64 {
        let (text, size, before) = match part {
            Part::Heading(text) => (text, HEADING_MM, 1.5),
            Part::Text(text) => (text, TEXT_MM, 0.0),
        };
        let mut y = at[1] + before;
        let mut line = String::new();
        for word in text.split(' ') {
            let longer = if line.is_empty() {
                word.to_owned()
            } else {
                format!("{line} {word}")
            };
            if self.width(&longer, size) > width && !line.is_empty() {
                y += LEADING * size;
                self.line(sheet, &line, [at[0], y], size);
                line = word.to_owned();
            } else {
                line = longer;
            }
        }
        y += LEADING * size;
        self.line(sheet, &line, [at[0], y], size);
        y + 0.4 * size
    }
}

/// To the micrometre, finer than any printer and short in the file.
fn rounded(mm: f64) -> f64 {
    (1000.0 * mm).round() / 1000.0
}

/// A glyph's curves as closed contours; a curve that does not start where the
/// last one ended opens a new one.
fn pieces(curves: &[OutlineCurve], place: impl Fn(&ab_glyph::Point) -> [f64; 2]) -> Vec<Piece> {
    let mut found = Vec::with_capacity(curves.len() + 4);
    let mut end: Option<ab_glyph::Point> = None;
    for curve in curves {
        let (start, stop) = match curve {
            OutlineCurve::Line(a, b) => (a, b),
            OutlineCurve::Quad(a, _, b) => (a, b),
            OutlineCurve::Cubic(a, _, _, b) => (a, b),
        };
        if end != Some(*start) {
            if end.is_some() {
                found.push(Piece::Close);
            }
            found.push(Piece::Move(place(start)));
        }
        found.push(match curve {
            OutlineCurve::Line(_, b) => Piece::Line(place(b)),
            OutlineCurve::Quad(a, c, b) => {
                // A quadratic curve as the cubic it equals.
                let toward = |p: [f64; 2], q: [f64; 2]| {
                    [0, 1].map(|i| rounded(p[i] + 2.0 / 3.0 * (q[i] - p[i])))
                };
                let (a, c, b) = (place(a), place(c), place(b));
                Piece::Curve(toward(a, c), toward(b, c), b)
            }
            OutlineCurve::Cubic(_, c, d, b) => Piece::Curve(place(c), place(d), place(b)),
        });
        end = Some(*stop);
    }
    if end.is_some() {
        found.push(Piece::Close);
    }
    found
}
