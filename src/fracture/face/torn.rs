//! How far the torn metal reaches in a band: its two edges and its two ends,
//! from roughness alone.

use super::band::Band;
use super::bow;
use super::search::Ribbon;
use crate::base::geometry::{Line, Point, Px};
use crate::base::numeric::{Grid, optimal_path, quantile};

/// Edges and ends of the torn metal, in columns and rows of [`Band::luma`].
#[derive(Clone, Debug)]
pub(super) struct Torn {
    /// Upper edge, one row a column of the band.
    pub top: Vec<f64>,
    /// Lower edge.
    pub bottom: Vec<f64>,
    /// First and last column of torn metal.
    pub ends: (f64, f64),
    /// Roughness inside; above and below.
    pub inside: f64,
    /// See `inside`.
    pub beside: (f64, f64),
}

impl Torn {
    /// What the roughness at a place of the band speaks for: 1 torn metal,
    /// −1 what lies beside it above (`up`) or below.
    pub fn speaks(&self, band: &Band, column: usize, row: f64, up: bool) -> f64 {
        let value = band.rough.sample(0.5 * column as f64 + 0.25, 0.5 * row);
        let beside = if up { self.beside.0 } else { self.beside.1 };
        judge(f64::from(value), self.inside, beside)
    }

    /// Median width between the edges, rows of the band.
    pub fn width(&self) -> f64 {
        let (a, b) = (
            self.ends.0 as usize,
            (self.ends.1 as usize).min(self.top.len()),
        );
        let widths: Vec<f64> = (a..b).map(|c| self.bottom[c] - self.top[c]).collect();
        quantile(&widths, 0.5)
    }

    /// The straight ribbon that fits the torn metal best.
    pub fn ribbon(&self, band: &Band) -> Option<Ribbon> {
        let (a, b) = (
            self.ends.0 as usize,
            (self.ends.1 as usize).min(self.top.len()),
        );
        let middle: Vec<Point<Px>> = (a..b)
            .step_by(4)
            .map(|c| band.to_px(c as f64 + 0.5, 0.5 * (self.top[c] + self.bottom[c])))
            .collect();
        let (line, _) = Line::fit_robust(&middle, 0.5)?;
        let (first, last) = (line.along(*middle.first()?), line.along(*middle.last()?));
        Some(Ribbon {
            centre: line.at(0.5 * (first + last)),
            along: line.direction,
            length: (last - first).abs(),
            width: self.width() * band.step,
            ..band.ribbon
        })
    }
}

/// Penalty on the edge's change of row from column to column, in rows of torn
/// metal gained or lost.
const BEND: f32 = 1.5;

/// How far from a gently bowed line an edge may lie, in half widths of the
/// ribbon: bands without fusion reach in that far, rust on a plate no farther.
const CORRIDOR: f64 = 1.0;

/// Columns of the roughness map over which a column's roughness is averaged
/// before it is judged.
const SMOOTH: usize = 3;

/// Relief, as a share of the torn metal's, that counts as none.
const LEAST_RELIEF: f64 = 0.1;

/// Share of the usual difference between face and plates from which a column is
/// more likely coupon than bench: paint or rust on a plate takes some away.
const OF_TYPICAL: f64 = 0.4;

/// Weight of that difference against the roughness itself: a bench of cloth or
/// concrete can be as rough as torn metal, but is so beside the face's line too.
const DIFFERENCE: f64 = 0.7;

/// Finds them; `None` when inside is no rougher than beside.
pub(super) fn find(band: &Band) -> Option<Torn> {
    let rough = &band.rough;
    let (columns, rows) = (rough.width(), rough.height());
    let half_width = 0.25 * band.ribbon.width / band.step; // in rows of the map
    let centre = 0.5 * rows as f64;
    let start = (band.ribbon.centre - band.to_px(0.0, 0.0)).dot(band.ribbon.along) / band.step;
    let reach = 0.5 * band.ribbon.length / band.step;
    let near = |c: usize| ((2 * c) as f64 - start).abs() < 0.85 * reach;
    let level = |from: f64, to: f64, q: f64| {
        let (from, to) = (
            (centre + from * half_width).max(0.0),
            centre + to * half_width,
        );
        let mut values = Vec::new();
        for r in (from as usize)..(to.max(0.0) as usize).min(rows) {
            let row = rough.row(r);
            values.extend((0..columns).filter(|c| near(*c)).map(|c| f64::from(row[c])));
        }
        quantile(&values, q)
    };
    let inside = level(-0.7, 0.7, 0.5);
    let above = level(-3.2, -1.6, 0.5);
    let below = level(1.6, 3.2, 0.5);
    if !(inside > above.max(below) && inside > 0.0) {
        return None;
    }
    let smooth = along(rough.samples(), columns, SMOOTH);
    let at = |c: usize, r: usize| f64::from(smooth[r * columns + c]);
    // What a sample speaks for: +1 torn metal, −1 what lies beside.
    let speaks = |value: f64, beside: f64| judge(value, inside, beside);
    let edge = |up: bool, beside: f64| -> Option<Vec<f64>> {
        let middle = centre as usize;
        let n = if up { middle } else { rows - middle };
        let mut grid = Grid::filled(columns, n + 1, 0.0);
        for c in 0..columns {
            let costs = grid.column_mut(c);
            let mut gain = 0.0;
            for i in 0..n {
                let r = if up { middle - 1 - i } else { middle + i };
                gain += speaks(at(c, r), beside);
                costs[i + 1] = -gain as f32;
            }
        }
        let covered: Vec<usize> = (0..columns).filter(|c| near(*c)).collect();
        let covered = *covered.first()?..*covered.last()? + 1;
        let bow = bow::fit(&grid, covered, 2.0 * half_width)?;
        for c in 0..columns {
            let at = bow.at(c);
            for (i, cost) in grid.column_mut(c).iter_mut().enumerate() {
                if (i as f64 - at).abs() > (CORRIDOR * half_width).max(3.0) {
                    *cost = f32::INFINITY;
                }
            }
        }
        let (path, _) = optimal_path(&grid, 2, BEND)?;
        Some(
            path.into_iter()
                .map(|i| {
                    let r = if up { middle - i } else { middle + i };
                    2.0 * r as f64
                })
                .collect(),
        )
    };
    let (top, bottom) = (edge(true, above)?, edge(false, below)?);
    // Ends: the longest stretch where the core is torn, short gaps bridged. A
    // rough bench beyond the coupon's end is as rough in line with the plates.
    let beside = above.max(below);
    let mean = |c: usize, from: f64, to: f64, f: &dyn Fn(f64) -> f64| {
        let from = (from.max(0.0) as usize).min(rows - 1);
        let to = (to.max(0.0) as usize).clamp(from + 1, rows);
        (from..to).map(|r| f(at(c, r))).sum::<f64>() / (to - from) as f64
    };
    // Blur and shade take from torn metal and plates alike: their ratio tells
    // more than their difference, as long as there is some relief at all.
    let least = LEAST_RELIEF * inside;
    let ratio = |torn: f64, plates: f64| ((torn + least) / (plates + least)).ln();
    let core: Vec<(f64, f64)> = (0..columns)
        .map(|c| {
            let (a, b) = (0.5 * top[c], 0.5 * bottom[c]);
            let (middle, half) = (0.5 * (a + b), (0.5 * (b - a)).max(0.5 * half_width));
            let (from, to) = (middle - 0.7 * half, middle + 0.7 * half);
            let torn = mean(c, from, to, &|v| speaks(v, beside));
            // Clear of the edges by half a half-width and as wide as one.
            let plate = |v: f64| v.min(1.5 * inside);
            let (near, wide) = (1.5 * half_width, 2.5 * half_width);
            let plates = 0.5
                * (mean(c, middle - wide, middle - near, &plate)
                    + mean(c, middle + near, middle + wide, &plate));
            (torn, ratio(mean(c, from, to, &plate), plates))
        })
        .collect();
    let known: Vec<f64> = (0..columns)
        .filter(|c| near(*c))
        .map(|c| core[c].1)
        .collect();
    let typical = quantile(&known, 0.5).max(1e-9);
    let core: Vec<f64> = core
        .into_iter()
        .map(|(torn, differs)| {
            let differs = (differs / (OF_TYPICAL * typical) - 1.0).clamp(-1.0, 1.0);
            DIFFERENCE * differs + (1.0 - DIFFERENCE) * torn
        })
        .collect();
    let ends = stretch(&core)?;
    let fine = |line: Vec<f64>| -> Vec<f64> {
        (0..2 * columns)
            .map(|c| {
                let t = ((c as f64 - 0.5) / 2.0).clamp(0.0, (columns - 1) as f64);
                let i = (t as usize).min(columns.saturating_sub(2));
                line[i] + (line[i + 1] - line[i]) * (t - i as f64)
            })
            .collect()
    };
    Some(Torn {
        top: fine(top),
        bottom: fine(bottom),
        ends: (2.0 * ends.0 as f64, 2.0 * ends.1 as f64),
        inside,
        beside: (above, below),
    })
}

/// 1 at `inside` and rougher, −1 at `beside` and smoother.
fn judge(value: f64, inside: f64, beside: f64) -> f64 {
    let threshold = 0.5 * (inside + beside);
    ((value - threshold) / (0.5 * (inside - beside)).max(1e-9)).clamp(-1.0, 1.0)
}

/// Best run of columns (maximum sub-array), in which a gap costs what as much
/// torn metal brings.
fn stretch(core: &[f64]) -> Option<(usize, usize)> {
    let (mut sum, mut start) = (0.0, 0);
    let (mut most, mut best) = (0.0, None);
    for (c, v) in core.iter().enumerate() {
        sum += v;
        if sum <= 0.0 {
            (sum, start) = (0.0, c + 1);
        } else if sum > most {
            (most, best) = (sum, Some((start, c + 1)));
        }
    }
    best
}

/// Running mean along the rows over 2 · `reach` + 1 samples.
fn along(samples: &[f32], columns: usize, reach: usize) -> Vec<f32> {
    let mut out = Vec::with_capacity(samples.len());
    for row in samples.chunks(columns) {
        let mut sums = vec![0.0f32; columns + 1];
        for (c, v) in row.iter().enumerate() {
            sums[c + 1] = sums[c] + v;
        }
        out.extend((0..columns).map(|c| {
            let (a, b) = (c.saturating_sub(reach), (c + reach + 1).min(columns));
            (sums[b] - sums[a]) / (b - a) as f32
        }));
    }
    out
}
