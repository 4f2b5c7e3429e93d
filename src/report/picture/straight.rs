//! The straightened face as a chart: the face itself with its zones, below it
//! how far each kind runs along the weld, below that a ruler.
//!
//! A long weld is drawn in several rows, or a pore of half a millimetre would
//! not be seen.

use super::labels::Labels;
use super::pen::{At, Pen};
use super::resample::{Part, resample};
use super::zones::{self, INK, Look};
use super::{jpeg, surface};
use crate::base::rounding::shortest;
use crate::record::{Finding, PlacePx, Record};
use crate::report::ReportError;

/// A fracture face laid straight: s, along the weld, to the right; h, from the
/// root line towards the cap, up.
pub struct Straightened<'a> {
    /// Interleaved 8-bit RGB, `width × height`.
    pub rgb: Vec<u8>,
    /// Columns; the first begins at s = 0.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Pixels a millimetre, along and across.
    pub px_per_mm: f64,
    /// h at the upper edge of the first row, mm.
    pub top_mm: f64,
    /// Where a place of the photograph (px) lies: `[s, h]`, mm.
    pub place: Box<dyn Fn(PlacePx) -> [f64; 2] + 'a>,
}

/// Width of the chart, px.
const WIDTH: usize = 1600;
/// Room for words to the left and air to the right, px.
const LEFT: f32 = 176.0;
const RIGHT: f32 = 30.0;
/// Longest stretch of weld in one row, mm.
const ROW_MM: f64 = 70.0;
/// More rows than this are not drawn taller but longer.
const MOST_ROWS: f64 = 6.0;
/// Largest magnification: a coupon of a few millimetres is not blown up more.
const MOST_PX_PER_MM: f64 = 60.0;
/// Height of a lane and the space below it, px.
const LANE: f32 = 30.0;
const LANE_STEP: f32 = 38.0;
/// Height of the ruler and of the gap between rows, px.
const RULER: f32 = 62.0;
const ROW_GAP: f32 = 26.0;
/// Text, line units; the pen's unit is 1.33 at this width.
const TEXT: f32 = 17.0;
/// Numbers of the findings, line units.
const NUMBER: f32 = 20.0;

/// The lanes: the class drawn, the kinds of finding in it, and what it is called.
const LANES: [(&str, &[&str], &str); 4] = [
    ("root-unfused", &["lack-of-root-fusion"], "root"),
    ("inter-run-unfused", &["lack-of-inter-run-fusion"], "passes"),
    (
        "sidewall-unfused",
        &["lack-of-sidewall-fusion"],
        "side wall",
    ),
    ("pore", &["pore", "wormhole", "inclusion"], "pores etc."),
];

/// Draws the straightened face of a record as a JPEG file, 1600 px wide.
///
/// # Errors
/// As [`annotate`](super::annotate).
pub fn straightened(face: &Straightened, record: &Record) -> Result<Vec<u8>, ReportError> {
    let expected = face
        .width
        .checked_mul(face.height)
        .and_then(|pixels| pixels.checked_mul(3));
    let usable = face.px_per_mm.is_finite() && face.px_per_mm > 0.0;
    if expected != Some(face.rgb.len()) || face.rgb.is_empty() || !usable {
        return Err(ReportError::SizeMismatch {
            bytes: face.rgb.len(),
            width: face.width,
            height: face.height,
        });
    }
    let chart = Chart::new(face, record);
    let white = vec![255u8; WIDTH * chart.height * 4];
    let mut pen = Pen::new(surface(white, WIDTH, chart.height)?);
    for row in 0..chart.rows {
        chart.draw(&mut pen, row)?;
    }
    jpeg(&pen.into_surface())
}

/// The layout, and what is drawn.
struct Chart<'a> {
    face: &'a Straightened<'a>,
    record: &'a Record,
    length_mm: f64,
    rows: usize,
    /// Length of weld in a row, mm.
    row_mm: f64,
    /// Magnification, px a millimetre.
    scale: f64,
    /// Height of the face's picture, px.
    face_px: f32,
    height: usize,
    /// Evaluated stretch, mm.
    evaluated: [f64; 2],
    lanes: Vec<(&'static Look, &'static [&'static str], &'static str)>,
}

impl<'a> Chart<'a> {
    fn new(face: &'a Straightened<'a>, record: &'a Record) -> Self {
        let length_mm = face.width as f64 / face.px_per_mm;
        let rows = (length_mm / ROW_MM).ceil().clamp(1.0, MOST_ROWS);
        let row_mm = length_mm / rows;
        let room = WIDTH as f64 - f64::from(LEFT + RIGHT);
        let scale = (room / row_mm).min(MOST_PX_PER_MM);
        let face_px = (face.height as f64 / face.px_per_mm * scale).min(4000.0) as f32;
        let lanes: Vec<_> = LANES
            .iter()
            .filter_map(|(class, kinds, name)| Some((zones::look(class)?, *kinds, *name)))
            .collect();
        let row_px = face_px + lanes.len() as f32 * LANE_STEP + RULER + ROW_GAP;
        let evaluated = record
            .measurements
            .get("evaluated_length_mm")
            .and_then(|m| match m.drawn_px.as_slice() {
                [from, .., to] => Some([(face.place)(*from)[0], (face.place)(*to)[0]]),
                _ => None,
            })
            .filter(|ends| ends.iter().all(|s| s.is_finite()))
            .unwrap_or([0.0, length_mm]);
        Self {
            face,
            record,
            length_mm,
            rows: rows as usize,
            row_mm,
            scale,
            face_px,
            height: (row_px * rows as f32) as usize + 8,
            evaluated,
            lanes,
        }
    }

    /// Left edge of a row, mm, and its upper edge, px.
    fn corner(&self, row: usize) -> (f64, f32) {
        let step = (self.height as f32 - 8.0) / self.rows as f32;
        (row as f64 * self.row_mm, row as f32 * step + 8.0)
    }

    fn draw(&self, pen: &mut Pen, row: usize) -> Result<(), ReportError> {
        let (from, top) = self.corner(row);
        let to = (from + self.row_mm).min(self.length_mm);
        self.picture(pen, from, to, top)?;
        self.zones(pen, from, to, top);
        self.discarded(pen, from, to, top);
        self.sides(pen, top);
        let mut y = top + self.face_px + 8.0;
        for (look, kinds, name) in &self.lanes {
            self.lane(pen, (from, to), y, look, kinds, name);
            y += LANE_STEP;
        }
        self.ruler(pen, from, to, y);
        Ok(())
    }

    fn x(&self, s: f64, from: f64) -> f32 {
        LEFT + ((s - from) * self.scale) as f32
    }

    fn picture(&self, pen: &mut Pen, from: f64, to: f64, top: f32) -> Result<(), ReportError> {
        let k = self.face.px_per_mm;
        let x = ((from * k).round() as usize).min(self.face.width - 1);
        let width = ((to * k).round() as usize).clamp(x + 1, self.face.width) - x;
        let part = Part {
            x,
            y: 0,
            width,
            height: self.face.height,
        };
        let out = [((to - from) * self.scale) as usize, self.face_px as usize].map(|px| px.max(1));
        let rgba = resample(&self.face.rgb, self.face.width, part, out[0], out[1]);
        pen.paste(&surface(rgba, out[0], out[1])?, LEFT as i32, top as i32);
        Ok(())
    }

    /// A place of the photograph on the row's picture; outside of the row too.
    fn at(&self, px: PlacePx, from: f64, top: f32) -> Option<At> {
        let [s, h] = (self.face.place)(px);
        let at = [
            self.x(s, from),
            top + ((self.face.top_mm - h) * self.scale) as f32,
        ];
        at.iter()
            .all(|v| v.is_finite() && v.abs() < 1e5)
            .then_some(at)
    }

    fn zones(&self, pen: &mut Pen, from: f64, to: f64, top: f32) {
        let area = [
            self.x(from, from),
            top,
            self.x(to, from),
            top + self.face_px,
        ];
        let root: Vec<At> = self.places(&self.record.outlines_px.root_side, from, top);
        pen.clip(area);
        pen.line(&root, false, super::ROOT_SIDE);
        for zone in &self.record.outlines_px.zones {
            if let Some(look) = zones::look(&zone.class) {
                zones::draw(pen, &self.places(&zone.outline, from, top), look);
            }
        }
        pen.unclip();
        let mut labels = Labels::within(area);
        for (i, finding) in self.record.findings.iter().enumerate() {
            let outline = self.places(&finding.outline_px, from, top);
            let middle = finding
                .centre_px
                .and_then(|px| self.at(px, from, top))
                .filter(|at| (area[0]..area[2]).contains(&at[0]));
            let Some(middle) = middle else { continue };
            let number = (i + 1).to_string();
            if has_room(&outline, pen.text_size(&number, NUMBER)) {
                let size = pen.text_size(&number, NUMBER);
                let corner = [middle[0] - size[0] / 2.0, middle[1] - size[1] / 2.0];
                pen.text(&number, corner, NUMBER, [255, 255, 255], true);
            } else {
                labels.reserve(&outline, 3.0);
                labels.write(pen, &number, middle, [0.0, -1.0]);
            }
        }
    }

    fn places(&self, px: &[PlacePx], from: f64, top: f32) -> Vec<At> {
        px.iter().filter_map(|p| self.at(*p, from, top)).collect()
    }

    /// A veil over what does not count.
    fn discarded(&self, pen: &mut Pen, from: f64, to: f64, top: f32) {
        for [start, end] in [
            [0.0, self.evaluated[0]],
            [self.evaluated[1], self.length_mm],
        ] {
            let (start, end) = (start.max(from), end.min(to));
            if end - start < 0.2 {
                continue;
            }
            let corner = [self.x(start, from), top];
            let size = [((end - start) * self.scale) as f32, self.face_px];
            pen.veil(corner, size, [255, 255, 255], 0.62);
            let text = "does not count";
            let width = pen.text_size(text, TEXT)[0];
            if width < size[0] {
                let x = corner[0] + (size[0] - width) / 2.0;
                pen.text(text, [x, top + self.face_px * 0.42], TEXT, INK, false);
            }
        }
    }

    fn sides(&self, pen: &mut Pen, top: f32) {
        pen.text("cap side", [8.0, top + 2.0], TEXT, INK, false);
        let bottom = top + self.face_px - pen.text_size("x", TEXT)[1];
        pen.text("root side", [8.0, bottom], TEXT, INK, false);
    }

    fn lane(
        &self,
        pen: &mut Pen,
        (from, to): (f64, f64),
        y: f32,
        look: &Look,
        kinds: &[&str],
        name: &str,
    ) {
        let high = pen.text_size("x", TEXT)[1];
        pen.text(name, [8.0, y + (LANE - high) / 2.0], TEXT, INK, false);
        let width = ((to - from) * self.scale) as f32;
        pen.fill([LEFT, y], [width, LANE], [238, 238, 238]);
        for finding in &self.record.findings {
            if !kinds.contains(&finding.kind.as_str()) {
                continue;
            }
            let Some((start, end)) = stretch(finding) else {
                continue;
            };
            let (start, end) = (start.max(from), end.min(to));
            if end <= start {
                continue;
            }
            // A pore narrower than three pixels is still to be seen.
            let width = (((end - start) * self.scale) as f32).max(3.0);
            let own = zones::look(&finding.kind).unwrap_or(look);
            zones::bar(pen, [self.x(start, from), y], [width, LANE], own);
        }
        let frame = [
            [LEFT, y],
            [LEFT + width, y],
            [LEFT + width, y + LANE],
            [LEFT, y + LANE],
        ];
        pen.plain_line(&frame, true, 0.9, INK);
    }

    /// Marks every millimetre, longer every five, numbers every ten.
    fn ruler(&self, pen: &mut Pen, from: f64, to: f64, y: f32) {
        let line = [[LEFT, y], [self.x(to, from), y]];
        pen.plain_line(&line, false, 1.6, INK);
        let mut last = f32::NEG_INFINITY;
        let mut marks = Vec::new();
        for mm in (from.ceil() as i64)..=(to.floor() as i64) {
            let long = match (mm % 10, mm % 5) {
                (0, _) => 20.0,
                (_, 0) => 14.0,
                _ => 8.0,
            };
            let x = self.x(mm as f64, from);
            marks.push([[x, y], [x, y + long]]);
            if mm % 10 == 0 {
                let text = mm.to_string();
                let width = pen.text_size(&text, TEXT)[0];
                pen.text(&text, [x - width / 2.0, y + 22.0], TEXT, INK, false);
                last = x + width / 2.0;
            }
        }
        pen.plain_lines(&marks, 1.2, INK);
        let end = format!("{} mm", shortest(to, 1));
        let width = pen.text_size(&end, TEXT)[0];
        let x = (self.x(to, from) + RIGHT - 4.0 - width).max(last + 12.0);
        if x + width < WIDTH as f32 {
            pen.text(&end, [x, y + 22.0], TEXT, INK, false);
        }
        pen.text("mm from left", [8.0, y + 22.0], TEXT * 0.86, INK, false);
    }
}

/// Whether an outline is large enough to carry its number.
fn has_room(outline: &[At], [width, height]: At) -> bool {
    let span = |i: usize| {
        let (low, high) = outline
            .iter()
            .fold((f32::INFINITY, f32::NEG_INFINITY), |(low, high), p| {
                (low.min(p[i]), high.max(p[i]))
            });
        high - low
    };
    span(0) > 1.6 * width && span(1) > 0.9 * height
}

/// Where a finding begins and ends along the weld, mm.
fn stretch(finding: &Finding) -> Option<(f64, f64)> {
    let ends = match (finding.start_mm, finding.end_mm, finding.at_mm) {
        (Some(start), Some(end), _) => (start, end),
        (_, _, Some(at)) => {
            let half = finding
                .greatest_dimension_mm
                .map_or(0.25, |d| d.value / 2.0);
            (at - half, at + half)
        }
        _ => return None,
    };
    (ends.0.is_finite() && ends.1.is_finite()).then_some(ends)
}
