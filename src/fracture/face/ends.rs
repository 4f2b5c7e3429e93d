//! Where the coupon ends: the saw cuts across both plates and the face.
//!
//! Texture says to about half a face's width where torn metal ends; the cut
//! itself is a straight line at which the tone changes on the face and on both
//! plates.

use super::band::Band;
use super::roughness::DARK;
use super::torn::Torn;

/// A saw cut: its column at row `row` and its change of column a row.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cut {
    column: f64,
    slope: f64,
    row: f64,
}

impl Cut {
    /// Its column at a row.
    pub fn at(&self, row: f64) -> f64 {
        self.column + self.slope * (row - self.row)
    }
}

/// How far from where the torn metal seems to end the cut is looked for, in
/// torn widths, inwards and outwards: smooth metal may lie at the very end, but
/// no rough bench is taken for torn metal far.
const WINDOW: (f64, f64) = (0.8, 1.5);

/// Greatest slope: a cut 12° off square, perspective included.
const SLOPE: f64 = 0.2;

/// Change of ln(luma) that is a clear step between metal and bench: a fifth.
const CLEAR: f64 = 0.2;

/// Width compared on each side of the cut, in torn widths; strokes of paint are
/// narrower and have two borders.
const SIDE: f64 = 0.08;

/// Least sum of the three zones' steps (3 when all are clear everywhere) that
/// is a cut.
const LEAST: f64 = 0.9;

/// What a torn width of distance from the torn metal's end takes away.
const FAR: f64 = 0.3;

/// The left and the right end.
pub(super) fn find(band: &Band, torn: &Torn) -> [Cut; 2] {
    let (columns, rows) = band.size();
    let width = torn.width();
    let side = (SIDE * width).round().max(3.0) as usize;
    // Sums of ln(luma) along each row.
    let sums: Vec<Vec<f64>> = (0..rows)
        .map(|r| {
            let mut sum = 0.0;
            std::iter::once(0.0)
                .chain(band.luma.row(r).iter().map(|v| {
                    sum += f64::from((v + DARK).ln());
                    sum
                }))
                .collect()
        })
        .collect();
    let change = |c: f64, r: usize| -> Option<f64> {
        let c = c.round();
        if c < side as f64 || c > (columns - side) as f64 {
            return None;
        }
        let (c, s) = (c as usize, &sums[r]);
        let d = (s[c + side] - 2.0 * s[c] + s[c - side]) / side as f64;
        Some((d / CLEAR).clamp(-1.0, 1.0))
    };
    [(torn.ends.0, -1.0), (torn.ends.1, 1.0)].map(|(end, out)| {
        let inner = (end - out * 0.5 * width).clamp(0.0, (torn.top.len() - 1) as f64) as usize;
        let (top, bottom) = (torn.top[inner], torn.bottom[inner]);
        let row = 0.5 * (top + bottom);
        let zones = [
            (top - 0.7 * width, top - 0.05 * width),
            (top, bottom),
            (bottom + 0.05 * width, bottom + 0.7 * width),
        ];
        let mut best = (
            LEAST,
            Cut {
                column: end,
                slope: 0.0,
                row,
            },
        );
        let n = ((WINDOW.0 + WINDOW.1) * width) as usize;
        for i in 0..n {
            let off = i as f64 - WINDOW.0 * width;
            for k in -10..=10 {
                let cut = Cut {
                    column: end + out * off,
                    slope: SLOPE * f64::from(k) / 10.0,
                    row,
                };
                let sum: f64 = zones
                    .iter()
                    .map(|(a, b)| {
                        let (a, b) = (a.max(0.0) as usize, (b.max(0.0) as usize).min(rows));
                        let (mut sum, mut n) = (0.0, 0.0f64);
                        for r in (a..b).step_by(2) {
                            sum += change(cut.at(r as f64), r).unwrap_or(0.0);
                            n += 1.0;
                        }
                        (sum / n.max(1.0)).abs()
                    })
                    .sum();
                let worth = sum - FAR * (off / width).abs();
                if worth > best.0 {
                    best = (worth, cut);
                }
            }
        }
        best.1
    })
}
