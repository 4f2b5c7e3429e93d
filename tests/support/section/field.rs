//! Signed distances on a grid, so that a pixel costs one look-up; exact
//! again close to the border.

use super::shapes::*;
use rayon::prelude::*;

/// Distance samples over a box, `step` mm apart.
pub struct Field {
    low: P,
    step: f64,
    columns: usize,
    rows: usize,
    values: Vec<f32>,
}

impl Field {
    pub fn new(low: P, high: P, step: f64, distance: impl Fn(P) -> f64 + Sync) -> Self {
        let columns = ((high[0] - low[0]) / step).ceil() as usize + 2;
        let rows = ((high[1] - low[1]) / step).ceil() as usize + 2;
        let mut values = vec![0.0; columns * rows];
        values
            .par_chunks_mut(columns)
            .enumerate()
            .for_each(|(y, row)| {
                for (x, v) in row.iter_mut().enumerate() {
                    *v = distance([low[0] + x as f64 * step, low[1] + y as f64 * step]) as f32;
                }
            });
        Self {
            low,
            step,
            columns,
            rows,
            values,
        }
    }

    /// Bilinear; outside the box, the border value plus the way there.
    pub fn at(&self, p: P) -> f64 {
        let place = |v: f64, n: usize| {
            let c = v.clamp(0.0, (n - 1) as f64);
            let i = (c as usize).min(n - 2);
            (i, c - i as f64, (v - c) * self.step)
        };
        let (x, fx, ox) = place((p[0] - self.low[0]) / self.step, self.columns);
        let (y, fy, oy) = place((p[1] - self.low[1]) / self.step, self.rows);
        let at = |x: usize, y: usize| f64::from(self.values[y * self.columns + x]);
        let top = at(x, y) * (1.0 - fx) + at(x + 1, y) * fx;
        let low = at(x, y + 1) * (1.0 - fx) + at(x + 1, y + 1) * fx;
        top * (1.0 - fy) + low * fy + ox.hypot(oy)
    }
}
