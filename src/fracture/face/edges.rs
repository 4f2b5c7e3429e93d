//! The two long edges of the face: the root line and the far edge.
//!
//! Roughness says where torn metal lies, to about half a millimetre, and says
//! nothing of bands that were never fused: they are as smooth as the plate
//! outside. Both edges are corners of relief, so the tone changes there all
//! along. Each edge is the path with the strongest change of tone that leaves
//! no torn metal outside; how much smooth surface it may leave inside depends
//! on which edge it is.

use super::band::Band;
use super::bow;
use super::roughness::DARK;
use super::torn::Torn;
use crate::base::numeric::{Grid, optimal_path, quantile};
use crate::base::raster::Gray;

/// Which edge is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// The plate's corner: straight, with smooth unfused bands inside it.
    Root,
    /// Where the break left the weld: uneven, with cap or groove outside.
    Far,
}

/// What an edge costs, in rows as shares of the torn width.
struct Terms {
    /// What a clear change of tone is worth.
    tone: f64,
    /// Quantile of the changes of tone nearby that counts as clear.
    clear: f64,
    /// Change, in clear ones, beyond which more is worth no more.
    enough: f64,
    /// A row of smooth surface kept inside.
    smooth_inside: f64,
    /// Roughness, −1 … 1, below which a row kept inside begins to cost.
    rough_enough: f64,
    /// How far beyond the torn metal the edge may lie.
    beyond: f64,
    /// How far inside the torn metal.
    within: f64,
    /// How far from a gently bowed line it may lie.
    corridor: f64,
    /// What a row of distance from that line costs.
    pull: f64,
    /// Resistance to bending, rows for a step of one row a column.
    bend: f32,
}

impl Kind {
    fn terms(self) -> Terms {
        match self {
            Self::Root => Terms {
                tone: 0.25,
                // Any clear change will do: the plate's other edge, against the
                // bench, is often stronger than the root line.
                clear: 0.85,
                enough: 1.0,
                smooth_inside: 0.15,
                rough_enough: 0.0,
                beyond: 0.45,
                within: 0.25,
                // A millimetre of a face of 5 mm.
                corridor: 0.2,
                pull: 0.15,
                bend: 3.0,
            },
            // Ripples of the cap look a little torn, so that an edge may lie
            // well inside the torn metal, and smooth surface inside costs more.
            Self::Far => Terms {
                tone: 0.25,
                clear: 0.95,
                enough: 1.3,
                smooth_inside: 0.45,
                rough_enough: 0.6,
                beyond: 0.3,
                within: 0.4,
                // Starts, stops and overlaps of runs bulge more.
                corridor: 0.4,
                pull: 0.0,
                bend: 1.0,
            },
        }
    }
}

/// Columns to either side over which the tone is averaged before its change
/// across is taken: grains change from column to column, the edge does not.
const ALONG: usize = 3;
/// Rows on either side of which the tone is compared.
const ACROSS: usize = 2;

/// An edge: one row a column of the band.
#[derive(Clone, Debug)]
pub(super) struct Edge {
    /// Row at each column of the band.
    pub rows: Vec<f64>,
}

/// The edge above (`up`) or below the torn metal.
pub(super) fn find(band: &Band, torn: &Torn, up: bool, kind: Kind) -> Option<Edge> {
    let (columns, rows) = band.size();
    let tone = tone_change(&band.luma);
    let line = if up { &torn.top } else { &torn.bottom };
    let (first, last) = (torn.ends.0 as usize, (torn.ends.1 as usize).min(columns));
    if last <= first + 8 {
        return None;
    }
    let middle = |c: usize| 0.5 * (torn.top[c] + torn.bottom[c]);
    let width = torn.width();
    let terms = kind.terms();
    let sign = if up { -1.0 } else { 1.0 };
    // Outermost torn metal along the whole edge, for the reach outwards.
    let reach: Vec<f64> = (first..last)
        .map(|c| sign * (line[c] - middle(c)))
        .collect();
    let outermost = quantile(&reach, 0.9) + terms.beyond * width;
    let innermost = (quantile(&reach, 0.1) - terms.within * width).max(0.1 * width);
    let n = (outermost - innermost).ceil().max(4.0) as usize;
    let centre = quantile(&(first..last).map(middle).collect::<Vec<_>>(), 0.5);
    let row_of = |i: f64| centre + sign * (innermost + i);
    let strongest = {
        let mut values = Vec::new();
        for c in (first..last).step_by(3) {
            values.extend((0..n).map(|i| f64::from(at(&tone, c, row_of(i as f64)))));
        }
        quantile(&values, terms.clear).max(1e-3)
    };
    let mut grid = Grid::filled(columns, n + 1, 0.0);
    for c in first..last {
        let costs = grid.column_mut(c);
        let speak = |i: usize| torn.speaks(band, c, row_of(i as f64 + 0.5), up);
        let mut outside: f64 = (0..n).map(|i| speak(i).max(0.0)).sum();
        let mut inside = 0.0;
        for (i, cost) in costs.iter_mut().enumerate() {
            let row = row_of(i as f64);
            let change = f64::from(at(&tone, c, row)) / strongest;
            let change = if row < 3.0 || row > rows as f64 - 3.0 {
                0.0
            } else {
                change.min(terms.enough)
            };
            *cost = (outside + inside - terms.tone * width * change) as f32;
            if i < n {
                let s = speak(i);
                outside -= s.max(0.0);
                inside += terms.smooth_inside * (terms.rough_enough - s).max(0.0);
            }
        }
    }
    let bow = bow::fit(&grid, first..last, width)?;
    for c in first..last {
        let at = bow.at(c);
        for (i, cost) in grid.column_mut(c).iter_mut().enumerate() {
            let off = (i as f64 - at).abs();
            *cost = if off > (terms.corridor * width).max(3.0) {
                f32::INFINITY
            } else {
                *cost + (terms.pull * off) as f32
            };
        }
    }
    let (path, _) = optimal_path(&grid, 3, terms.bend)?;
    Some(Edge {
        rows: path.into_iter().map(|i| row_of(i as f64)).collect(),
    })
}

/// Size of the change of ln(luma) across the rows; sample (c, r) is the change
/// at the border between rows r − 1 and r.
fn tone_change(luma: &Gray) -> Gray {
    let (w, h) = (luma.width(), luma.height());
    let mut sums = vec![0.0f32; (h + 1) * w];
    for r in 0..h {
        let mut along = vec![0.0f32; w + 1];
        for (c, v) in luma.row(r).iter().enumerate() {
            along[c + 1] = along[c] + (v + DARK).ln();
        }
        for c in 0..w {
            let (a, b) = (c.saturating_sub(ALONG), (c + ALONG + 1).min(w));
            sums[(r + 1) * w + c] = sums[r * w + c] + (along[b] - along[a]) / (b - a) as f32;
        }
    }
    Gray::from_fn(w, h, |c, r| {
        let (a, b) = (r.saturating_sub(ACROSS), (r + ACROSS).min(h));
        if a + 2 * ACROSS != b {
            return 0.0;
        }
        let sum = |from: usize, to: usize| sums[to * w + c] - sums[from * w + c];
        ((sum(r, b) - sum(a, r)) / ACROSS as f32).abs()
    })
}

fn at(tone: &Gray, column: usize, row: f64) -> f32 {
    let r = row.round().clamp(0.0, (tone.height() - 1) as f64) as usize;
    tone.at(column, r)
}
