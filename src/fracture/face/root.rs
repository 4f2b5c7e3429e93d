//! The root line: the corner of the plate at which the face begins.
//!
//! Roughness says where torn metal lies, to about half a millimetre, and says
//! nothing of bands that were never fused: they are as smooth as the plate
//! outside. The root line is a straight corner, so the tone changes all along
//! it: it is the path with the strongest change of tone that leaves no torn
//! metal outside and keeps close to a gently bowed line.

use super::band::Band;
use super::bow;
use super::edges::{Changes, Edge};
use super::torn::Torn;
use crate::base::numeric::{Grid, optimal_path, quantile};

/// What a clear change of tone is worth, in rows as shares of the torn width.
const TONE: f64 = 0.25;
/// Quantile of the changes of tone nearby that counts as clear. Any clear change
/// will do: the plate's other edge, against the bench, is often stronger than
/// the root line.
const CLEAR: f64 = 0.85;
/// What a row of smooth surface kept inside costs: bands without fusion are so.
const SMOOTH_INSIDE: f64 = 0.15;
/// How far beyond the torn metal the line may lie, and how far inside it, in
/// torn widths.
const BEYOND: f64 = 0.45;
const WITHIN: f64 = 0.25;
/// How far from the bowed line it may lie, in torn widths (a millimetre of a
/// face of 5 mm), and what a row of that distance costs.
const CORRIDOR: f64 = 0.2;
const PULL: f64 = 0.15;
/// Resistance to bending, rows for a step of one row a column, and the most
/// rows a column.
const BEND: f32 = 3.0;
const STEP: usize = 3;

/// The root line above (`up`) or below the torn metal.
pub(super) fn find(band: &Band, torn: &Torn, changes: &Changes, up: bool) -> Option<Edge> {
    let (columns, _) = band.size();
    let line = if up { &torn.top } else { &torn.bottom };
    let (first, last) = (torn.ends.0 as usize, (torn.ends.1 as usize).min(columns));
    if last <= first + 8 {
        return None;
    }
    let middle = |c: usize| 0.5 * (torn.top[c] + torn.bottom[c]);
    let width = torn.width();
    let sign = if up { -1.0 } else { 1.0 };
    // Outermost torn metal along the whole edge, for the reach outwards.
    let reach: Vec<f64> = (first..last)
        .map(|c| sign * (line[c] - middle(c)))
        .collect();
    let outermost = quantile(&reach, 0.9) + BEYOND * width;
    let innermost = (quantile(&reach, 0.1) - WITHIN * width).max(0.1 * width);
    let n = (outermost - innermost).ceil().max(4.0) as usize;
    let centre = quantile(&(first..last).map(middle).collect::<Vec<_>>(), 0.5);
    let row_of = |i: f64| centre + sign * (innermost + i);
    let places = (first..last)
        .step_by(3)
        .flat_map(|c| (0..n).map(move |i| (c, row_of(i as f64))));
    let clear = changes.clear(places, CLEAR, 1.0);
    let mut grid = Grid::filled(columns, n + 1, 0.0);
    for c in first..last {
        let costs = grid.column_mut(c);
        let speak = |i: usize| torn.speaks(band, c, row_of(i as f64 + 0.5), up);
        let mut outside: f64 = (0..n).map(|i| speak(i).max(0.0)).sum();
        let mut inside = 0.0;
        for (i, cost) in costs.iter_mut().enumerate() {
            let change = clear.at(c, row_of(i as f64));
            *cost = (outside + inside - TONE * width * change) as f32;
            if i < n {
                let s = speak(i);
                outside -= s.max(0.0);
                inside += SMOOTH_INSIDE * (-s).max(0.0);
            }
        }
    }
    let bow = bow::fit(&grid, first..last, width)?;
    for c in first..last {
        let at = bow.at(c);
        for (i, cost) in grid.column_mut(c).iter_mut().enumerate() {
            let off = (i as f64 - at).abs();
            *cost = if off > (CORRIDOR * width).max(3.0) {
                f32::INFINITY
            } else {
                *cost + (PULL * off) as f32
            };
        }
    }
    let (path, _) = optimal_path(&grid, STEP, BEND)?;
    Some(Edge {
        rows: path.into_iter().map(|i| row_of(i as f64)).collect(),
    })
}
