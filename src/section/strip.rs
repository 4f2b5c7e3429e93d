//! A strip of the photograph straightened along a line of the plane.
//!
//! Columns run along the line, rows across it; every sample is taken from the
//! original photograph through the plane map, so that a row is the same
//! distance in millimetres everywhere.

use crate::base::geometry::{Mm, Point, Px, Vector};
use crate::photo::Photo;
use crate::scale::PlaneMap;
use rayon::prelude::*;

/// Colours along and across a line.
pub struct Strip {
    /// The line's points, one a column.
    pub spine: Vec<Point<Mm>>,
    /// Unit direction of growing rows, one a column.
    pub across: Vec<Vector<Mm>>,
    /// Offset of the first row from the spine, mm.
    pub low_mm: f64,
    /// Distance between rows, mm.
    pub step_mm: f64,
    /// Rows.
    pub rows: usize,
    colours: Vec<[f32; 3]>,
}

impl Strip {
    /// Samples the strip. `low_mm` and `high_mm` are offsets along `across`;
    /// colours are means over about one step, so that nothing aliases.
    pub fn new(
        photo: &Photo,
        map: &PlaneMap,
        spine: Vec<Point<Mm>>,
        across: Vec<Vector<Mm>>,
        low_mm: f64,
        high_mm: f64,
        step_mm: f64,
    ) -> Self {
        let rows = ((high_mm - low_mm) / step_mm).round() as usize + 1;
        let mut colours = vec![[0.0; 3]; rows * spine.len()];
        colours
            .par_chunks_mut(rows)
            .enumerate()
            .for_each(|(c, column)| {
                let half_px = 0.5 * step_mm * map.px_per_mm_at(spine[c]);
                for (r, colour) in column.iter_mut().enumerate() {
                    let p = spine[c] + across[c] * (low_mm + r as f64 * step_mm);
                    *colour = mean_colour(photo, map.to_px(p), half_px);
                }
            });
        Self {
            spine,
            across,
            low_mm,
            step_mm,
            rows,
            colours,
        }
    }

    /// Columns.
    pub fn columns(&self) -> usize {
        self.spine.len()
    }

    /// Offset of row `r` (fractions allowed) from the spine, mm.
    pub fn offset_mm(&self, r: f64) -> f64 {
        self.low_mm + r * self.step_mm
    }

    /// The place of row `r` (fractions allowed) of column `c`.
    pub fn place(&self, c: usize, r: f64) -> Point<Mm> {
        self.spine[c] + self.across[c] * self.offset_mm(r)
    }

    /// The nearest row to an offset, within the strip.
    pub fn row_at(&self, offset_mm: f64) -> usize {
        (((offset_mm - self.low_mm) / self.step_mm).round().max(0.0) as usize).min(self.rows - 1)
    }

    /// One column's colours.
    pub fn column(&self, c: usize) -> &[[f32; 3]] {
        &self.colours[c * self.rows..(c + 1) * self.rows]
    }

    /// Smoothed with Gaussians along (σ in columns) and across (σ in rows).
    pub fn smoothed(&self, along: f64, across: f64) -> Self {
        let (columns, rows) = (self.columns(), self.rows);
        let kernel = |sigma: f64| -> Vec<f32> {
            let half = (2.5 * sigma).ceil() as i64;
            let raw: Vec<f64> = (-half..=half)
                .map(|i| (-0.5 * (i as f64 / sigma.max(1e-6)).powi(2)).exp())
                .collect();
            let sum: f64 = raw.iter().sum();
            raw.iter().map(|v| (v / sum) as f32).collect()
        };
        let blend = |source: &[[f32; 3]],
                     k: &[f32],
                     count: usize,
                     index: &dyn Fn(usize) -> usize,
                     at: usize| {
            let half = k.len() / 2;
            let mut sum = [0.0f32; 3];
            for (i, w) in k.iter().enumerate() {
                let from = (at + i).saturating_sub(half).min(count - 1);
                for (s, v) in sum.iter_mut().zip(source[index(from)]) {
                    *s += w * v;
                }
            }
            sum
        };
        let (ka, kc) = (kernel(along), kernel(across));
        let mut first = vec![[0.0f32; 3]; columns * rows];
        first.par_chunks_mut(rows).enumerate().for_each(|(c, out)| {
            for (r, o) in out.iter_mut().enumerate() {
                *o = blend(&self.colours, &kc, rows, &|i| c * rows + i, r);
            }
        });
        let mut second = vec![[0.0f32; 3]; columns * rows];
        second
            .par_chunks_mut(rows)
            .enumerate()
            .for_each(|(c, out)| {
                for (r, o) in out.iter_mut().enumerate() {
                    *o = blend(&first, &ka, columns, &|i| i * rows + r, c);
                }
            });
        Self {
            spine: self.spine.clone(),
            across: self.across.clone(),
            colours: second,
            ..*self
        }
    }

    /// Size of the colour change across, at row `r` of column `c`, grey levels per row.
    pub fn slope(&self, c: usize, r: usize) -> f32 {
        let column = self.column(c);
        let (a, b) = (
            column[r.saturating_sub(1)],
            column[(r + 1).min(self.rows - 1)],
        );
        0.5 * distance(a, b)
    }
}

/// Distance of two colours, grey levels.
pub fn distance(a: [f32; 3], b: [f32; 3]) -> f32 {
    a.iter()
        .zip(b)
        .map(|(x, y)| (x - y) * (x - y))
        .sum::<f32>()
        .sqrt()
}

/// Mean opponent colour of the square of half side `half_px` around `p`; a
/// bilinear sample when the square is smaller than a pixel.
fn mean_colour(photo: &Photo, p: Point<Px>, half_px: f64) -> [f32; 3] {
    let (w, h) = (photo.width as i64, photo.height as i64);
    let fetch = |x: i64, y: i64| -> [f32; 3] {
        let i = 3 * (y.clamp(0, h - 1) * w + x.clamp(0, w - 1)) as usize;
        [
            f32::from(photo.rgb[i]),
            f32::from(photo.rgb[i + 1]),
            f32::from(photo.rgb[i + 2]),
        ]
    };
    let mut sum = [0.0f32; 3];
    if half_px < 0.75 {
        let (x, y) = (p.x - 0.5, p.y - 0.5);
        let (fx, fy) = ((x - x.floor()) as f32, (y - y.floor()) as f32);
        for (dx, dy, weight) in [
            (0, 0, (1.0 - fx) * (1.0 - fy)),
            (1, 0, fx * (1.0 - fy)),
            (0, 1, (1.0 - fx) * fy),
            (1, 1, fx * fy),
        ] {
            for (s, v) in sum
                .iter_mut()
                .zip(fetch(x.floor() as i64 + dx, y.floor() as i64 + dy))
            {
                *s += weight * v;
            }
        }
    } else {
        let span = |v: f64| ((v - half_px).round() as i64, ((v + half_px).round() as i64));
        let ((x0, x1), (y0, y1)) = (span(p.x), span(p.y));
        let n = ((x1 - x0) * (y1 - y0)) as f32;
        for y in y0..y1 {
            for x in x0..x1 {
                for (s, v) in sum.iter_mut().zip(fetch(x, y)) {
                    *s += v / n;
                }
            }
        }
    }
    let [r, g, b] = sum;
    [0.299 * r + 0.587 * g + 0.114 * b, r - g, 0.5 * (r + g) - b]
}
