//! Which part of the photograph is shown, and how large.

use super::pen::At;
use super::resample::Part;
use crate::record::{PlacePx, Record};

/// Longest side of the annotated picture, px.
const LONGEST: f64 = 1600.0;
/// A picture is enlarged to this longest side so that labels have room.
const SHORTEST_LONG_SIDE: f64 = 1100.0;
/// A weld smaller than this share of the photograph is shown in a closer view.
const CLOSE_UP_BELOW: f64 = 0.42;
/// A closer view of more than this share of the photograph is not worth it.
const NEARLY_ALL: f64 = 0.6;
/// The closer view is this many times as wide as the weld.
const ROOM: f64 = 2.3;

/// The part of the photograph that is shown and its size on the drawing surface.
#[derive(Clone, Copy, Debug)]
pub struct View {
    /// Shown part.
    pub part: Part,
    /// Width on the surface, px.
    pub width: usize,
    /// Height on the surface, px.
    pub height: usize,
    /// Whether it is only a part of the photograph.
    pub close_up: bool,
}

impl View {
    /// The view for a record: the whole photograph, or the weld with room
    /// around it when it is small in the photograph.
    pub fn choose(width: usize, height: usize, record: &Record) -> Self {
        Self::around(width, height, weld_points(record))
    }

    /// The whole photograph, or what `points` span with room around it when that
    /// is small in the photograph.
    pub fn around<'a>(
        width: usize,
        height: usize,
        points: impl Iterator<Item = &'a PlacePx>,
    ) -> Self {
        let whole = Part {
            x: 0,
            y: 0,
            width,
            height,
        };
        let part = box_of(points)
            .and_then(|area| close_up(area, width as f64, height as f64))
            .unwrap_or(whole);
        Self::fit(part, part != whole)
    }

    fn fit(part: Part, close_up: bool) -> Self {
        let longest = part.width.max(part.height) as f64;
        let factor = if longest > LONGEST {
            LONGEST / longest
        } else {
            (SHORTEST_LONG_SIDE / longest).max(1.0)
        };
        let size = |px: usize| ((px as f64 * factor).round() as usize).max(1);
        Self {
            part,
            width: size(part.width),
            height: size(part.height),
            close_up,
        }
    }

    /// Where a place of the photograph lies on the surface; `None` for a
    /// place that is not finite or far outside.
    pub fn place(&self, [x, y]: PlacePx) -> Option<At> {
        let scale_x = self.width as f64 / self.part.width as f64;
        let scale_y = self.height as f64 / self.part.height as f64;
        let at = [
            (x - self.part.x as f64) * scale_x,
            (y - self.part.y as f64) * scale_y,
        ];
        at.iter()
            .all(|v| v.is_finite() && v.abs() < 1e5)
            .then(|| [at[0] as f32, at[1] as f32])
    }

    /// All places that can be shown.
    pub fn places(&self, px: &[PlacePx]) -> Vec<At> {
        px.iter().filter_map(|p| self.place(*p)).collect()
    }
}

/// Everything that belongs to the weld.
fn weld_points(record: &Record) -> impl Iterator<Item = &PlacePx> {
    let outlines = &record.outlines_px;
    let toes = outlines
        .toes
        .iter()
        .flat_map(|t| [&t.butting, &t.nonbutting]);
    outlines
        .weld_metal
        .iter()
        .chain(&outlines.face)
        .chain(&outlines.face_strip)
        .chain(toes)
        .chain(&outlines.joint_root)
}

/// Left, upper, right, lower edge of what `points` span, px.
fn box_of<'a>(points: impl Iterator<Item = &'a PlacePx>) -> Option<[f64; 4]> {
    let mut found: Option<[f64; 4]> = None;
    for [x, y] in points.filter(|p| p.iter().all(|v| v.is_finite())) {
        let [left, upper, right, lower] = found.unwrap_or([*x, *y, *x, *y]);
        found = Some([left.min(*x), upper.min(*y), right.max(*x), lower.max(*y)]);
    }
    found
}

fn close_up([left, upper, right, lower]: [f64; 4], width: f64, height: f64) -> Option<Part> {
    let size = (right - left).max(lower - upper);
    if size < 4.0 || size > CLOSE_UP_BELOW * width.min(height) {
        return None;
    }
    let (out_width, out_height) = ((size * ROOM * 1.25).min(width), (size * ROOM).min(height));
    if out_width * out_height > NEARLY_ALL * width * height {
        return None;
    }
    let start = |centre: f64, span: f64, all: f64| (centre - span / 2.0).clamp(0.0, all - span);
    let x = start((left + right) / 2.0, out_width, width).floor();
    let y = start((upper + lower) / 2.0, out_height, height).floor();
    Some(Part {
        x: x as usize,
        y: y as usize,
        width: ((x + out_width + 1.0).ceil().min(width) - x) as usize,
        height: ((y + out_height + 1.0).ceil().min(height) - y) as usize,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_small_weld_is_shown_closer_and_stays_inside() {
        for weld in [
            [0.0, 0.0, 300.0, 200.0],
            [3700.0, 2800.0, 4000.0, 3000.0],
            [1000.0, 1000.0, 1300.0, 1300.0],
        ] {
            let part = close_up(weld, 4000.0, 3000.0).unwrap();
            assert!(part.x + part.width <= 4000 && part.y + part.height <= 3000);
            assert!(part.x as f64 <= weld[0] && (part.x + part.width) as f64 >= weld[2]);
            assert!(part.y as f64 <= weld[1] && (part.y + part.height) as f64 >= weld[3]);
        }
        assert!(close_up([0.0, 0.0, 2000.0, 100.0], 4000.0, 3000.0).is_none());
    }

    #[test]
    fn sizes_are_kept_in_bounds() {
        let fit = |width, height| {
            let view = View::fit(
                Part {
                    x: 0,
                    y: 0,
                    width,
                    height,
                },
                false,
            );
            (view.width, view.height)
        };
        assert_eq!(fit(4000, 3000), (1600, 1200));
        assert_eq!(fit(1500, 1000), (1500, 1000));
        assert_eq!(fit(550, 100), (1100, 200));
        assert_eq!(fit(40_000, 1), (1600, 1));
    }
}
