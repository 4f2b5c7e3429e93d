//! The gently bowed line that an edge of the face keeps close to.
//!
//! A coupon's edges are straight when it is cut; welding and breaking bend it by
//! a millimetre or two, and the lens bows it a little. So a parabola over the
//! whole length describes an edge that no local search may leave by much.

use crate::base::numeric::Grid;
use std::ops::Range;

/// Row = middle + tilt · x + sag · (1 − x²), x from −1 to 1 along the face.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bow {
    middle: f64,
    tilt: f64,
    sag: f64,
    /// Column of x = 0, and columns from there to x = 1.
    centre: f64,
    reach: f64,
}

impl Bow {
    /// Row at a column; constant from a half reach beyond the ends.
    pub fn at(&self, column: usize) -> f64 {
        let x = ((column as f64 - self.centre) / self.reach).clamp(-1.5, 1.5);
        self.row(x)
    }

    fn row(&self, x: f64) -> f64 {
        self.middle + self.tilt * x + self.sag * (1.0 - x * x)
    }
}

/// Greatest tilt and sag, in torn widths: the band lies along the torn metal,
/// and a face may be twice as high at one end as at the other.
const TILT: f64 = 0.35;
const SAG: f64 = 0.25;

/// What one column may cost more than its cheapest row, in torn widths, so that
/// bulges do not pull the line.
const MOST: f64 = 0.5;

/// About so many columns are looked at.
const COLUMNS: usize = 90;

/// Step of the first search, rows; the second takes single rows.
const STEP: usize = 2;

/// The bow of least cost over `columns` of `grid`, whose rows are `width` to a
/// torn width; `None` for an empty grid.
pub(super) fn fit(grid: &Grid, columns: Range<usize>, width: f64) -> Option<Bow> {
    let n = grid.rows();
    if n == 0 || columns.len() < 8 {
        return None;
    }
    let centre = 0.5 * (columns.start + columns.end - 1) as f64;
    let reach = 0.5 * (columns.len() - 1) as f64;
    let stride = columns.len().div_ceil(COLUMNS);
    // Cost within a row of each row, less the column's least.
    let costs: Vec<(f64, Vec<f32>)> = columns
        .step_by(stride)
        .map(|c| {
            let column = grid.column(c);
            let least = column.iter().copied().fold(f32::INFINITY, f32::min);
            let near = |i: usize| {
                let (a, b) = (i.saturating_sub(1), (i + 2).min(n));
                let v = column[a..b].iter().copied().fold(f32::INFINITY, f32::min);
                (v - least).min((MOST * width) as f32)
            };
            ((c as f64 - centre) / reach, (0..n).map(near).collect())
        })
        .collect();
    let cost = |b: &Bow| -> f32 {
        costs
            .iter()
            .map(|(x, column)| {
                let i = b.row(*x).round().clamp(0.0, (n - 1) as f64) as usize;
                column[i]
            })
            .sum()
    };
    let mut best: Option<(f32, Bow)> = None;
    let mut consider = |middle: f64, tilt: f64, sag: f64| {
        let b = Bow {
            middle,
            tilt,
            sag,
            centre,
            reach,
        };
        let c = cost(&b);
        if best.is_none_or(|(least, _)| c < least) {
            best = Some((c, b));
        }
        best
    };
    let steps = |most: f64| {
        let k = (most * width / STEP as f64).round() as i32;
        (-k..=k).map(|i| f64::from(i) * STEP as f64)
    };
    for middle in (0..n).step_by(STEP) {
        for tilt in steps(TILT) {
            for sag in steps(SAG) {
                consider(middle as f64, tilt, sag);
            }
        }
    }
    let (_, coarse) = consider(0.0, 0.0, 0.0)?;
    let (_, mut fine) = (0, coarse);
    for m in -2..=2 {
        for t in -2..=2 {
            for s in -2..=2 {
                let shift = |v: f64, d: i32| v + f64::from(d);
                let (_, b) = consider(
                    shift(coarse.middle, m),
                    shift(coarse.tilt, t),
                    shift(coarse.sag, s),
                )?;
                fine = b;
            }
        }
    }
    Some(fine)
}
