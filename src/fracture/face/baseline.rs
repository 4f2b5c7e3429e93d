//! The line that a far edge keeps to as a whole.

use nalgebra::{DMatrix, DVector};

/// Knots of the baseline along the face.
pub(super) const KNOTS: usize = 9;
/// Share of the columns where the edge lies inside it: side walls that were cut
/// off reach inwards only.
const INSIDE: f64 = 0.8;
/// Weight of its bends against the columns between two knots.
const STIFF: f64 = 0.25;
/// Rounds of the fit.
const ROUNDS: usize = 25;

/// The line that the edge keeps to as a whole: straight between knots, fitted by
/// quantile regression (Koenker and Bassett, 1978) as least squares with weights
/// from the round before.
pub(super) struct Baseline {
    at: Vec<f64>,
}

impl Baseline {
    /// Fits it to the borders `path` of an edge, one a column.
    pub fn fit(path: &[usize]) -> Option<Self> {
        let n = path.len();
        let place = |k: usize| {
            let x = k as f64 * (KNOTS - 1) as f64 / (n - 1).max(1) as f64;
            let knot = (x as usize).min(KNOTS - 2);
            (knot, x - knot as f64)
        };
        let mut bends = DMatrix::<f64>::zeros(KNOTS, KNOTS);
        for k in 1..KNOTS - 1 {
            let second = [(k - 1, 1.0), (k, -2.0), (k + 1, 1.0)];
            for (i, a) in second {
                for (j, b) in second {
                    bends[(i, j)] += STIFF * n as f64 / KNOTS as f64 * a * b;
                }
            }
        }
        let mut weights = vec![1.0; n];
        let mut at = vec![0.0; n];
        for _ in 0..ROUNDS {
            let (mut normal, mut right) = (bends.clone(), DVector::zeros(KNOTS));
            for (k, w) in weights.iter().enumerate() {
                let (knot, t) = place(k);
                for (i, a) in [(knot, 1.0 - t), (knot + 1, t)] {
                    right[i] += w * a * path[k] as f64;
                    for (j, b) in [(knot, 1.0 - t), (knot + 1, t)] {
                        normal[(i, j)] += w * a * b;
                    }
                }
            }
            let knots = normal.cholesky()?.solve(&right);
            for k in 0..n {
                let (knot, t) = place(k);
                at[k] = knots[knot] * (1.0 - t) + knots[knot + 1] * t;
                let off = path[k] as f64 - at[k];
                let side = if off > 0.0 { INSIDE } else { 1.0 - INSIDE };
                weights[k] = side / off.abs().max(0.5);
            }
        }
        Some(Self { at })
    }

    /// Border at the `k`-th column of the face.
    pub fn at(&self, k: usize) -> f64 {
        self.at[k]
    }
}
