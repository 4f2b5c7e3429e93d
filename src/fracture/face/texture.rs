//! How much the texture changes from one strip beside an edge to the next.
//!
//! A plate has one surface from the root line on. Beyond the far edge the cap
//! or a groove comes first and the plate only after it, each worked or grown
//! another way, so the fine changes of tone along and across differ.

use super::band::Band;
use super::edges::Edge;
use super::roughness::DARK;
use super::torn::Torn;
use crate::base::numeric::median;
use crate::base::raster::Gray;

/// Pairs of strips compared, in torn widths from the edge: a cap or groove ends
/// anywhere between a tenth of a width and half of one.
const PAIRS: [[(f64, f64); 2]; 3] = [
    [(0.04, 0.14), (0.14, 0.28)],
    [(0.14, 0.28), (0.28, 0.45)],
    [(0.05, 0.2), (0.3, 0.5)],
];

/// The face is compared in so many pieces along the weld: rust and paint cover
/// a few of them, and a cap's toe wanders from piece to piece.
const PIECES: usize = 24;

/// Share of the face left out at each end, where a saw leaves burrs.
const ENDS: f64 = 0.03;

/// Change of ln(luma) from sample to sample that is sensor noise.
const NOISE: f64 = 0.004;

/// Fine changes of ln(luma) of a band.
pub(super) struct Texture {
    along: Gray,
    across: Gray,
}

impl Texture {
    /// Takes the changes from sample to sample along and across the band.
    pub fn of(band: &Band) -> Self {
        let (w, h) = band.size();
        let mut log = band.luma.clone();
        log.samples_mut()
            .iter_mut()
            .for_each(|v| *v = (*v + DARK).ln());
        let step = |dx: usize, dy: usize| {
            Gray::from_fn(w, h, |c, r| {
                (log.at((c + dx).min(w - 1), (r + dy).min(h - 1)) - log.at(c, r)).abs()
            })
        };
        Self {
            along: step(1, 0),
            across: step(0, 1),
        }
    }

    /// The greatest change from one strip outside `edge` to the next, as the
    /// median over pieces of |ln| of their ratio, along and across summed.
    pub fn change(&self, torn: &Torn, edge: &Edge, up: bool) -> f64 {
        let of = |changes: &Gray| {
            let pairs = PAIRS.iter().map(|[a, b]| {
                let (a, b) = (
                    pieces(changes, torn, edge, up, *a),
                    pieces(changes, torn, edge, up, *b),
                );
                let ratios: Vec<f64> = a
                    .iter()
                    .zip(&b)
                    .filter_map(|(a, b)| {
                        Some(((a.as_ref()? + NOISE) / (b.as_ref()? + NOISE)).ln().abs())
                    })
                    .collect();
                if ratios.is_empty() {
                    0.0
                } else {
                    median(&ratios)
                }
            });
            pairs.fold(0.0, f64::max)
        };
        of(&self.along) + of(&self.across)
    }
}

/// Mean change of each piece of a strip; `None` where it lies outside the band.
fn pieces(
    changes: &Gray,
    torn: &Torn,
    edge: &Edge,
    up: bool,
    (from, to): (f64, f64),
) -> Vec<Option<f64>> {
    let width = torn.width();
    let sign = if up { -1.0 } else { 1.0 };
    let last = torn.ends.1.min(changes.width() as f64);
    let margin = ENDS * (last - torn.ends.0);
    let first = torn.ends.0 + margin;
    let piece = (last - margin - first) / PIECES as f64;
    (0..PIECES)
        .map(|k| {
            let at = |k: usize| (first + k as f64 * piece).max(0.0) as usize;
            let (mut sum, mut n) = (0.0, 0.0);
            for c in at(k)..at(k + 1) {
                let mut t = from * width;
                while t < to * width {
                    let row = (edge.rows[c] + sign * t).round();
                    if row >= 0.0 && row < changes.height() as f64 {
                        sum += f64::from(changes.at(c, row as usize));
                        n += 1.0;
                    }
                    t += 1.0;
                }
            }
            (n > 0.0).then(|| sum / n)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A face of torn width 40 in the middle of a band; beyond its lower edge
    /// the surface changes from along-streaked to across-streaked `at` rows on.
    fn change_below(at: usize) -> f64 {
        let (w, h) = (600, 160);
        let streak = |c: usize, r: usize| if r < 100 + at { c } else { r };
        let value = |i: usize| 100.0 + 40.0 * ((i * 2_654_435_761) % 97) as f32 / 97.0;
        let luma = Gray::from_fn(w, h, |c, r| value(streak(c, r)));
        let log = |dx: usize, dy: usize| {
            Gray::from_fn(w, h, |c, r| {
                let v = |c: usize, r: usize| (luma.at(c.min(w - 1), r.min(h - 1)) + DARK).ln();
                (v(c + dx, r + dy) - v(c, r)).abs()
            })
        };
        let texture = Texture {
            along: log(1, 0),
            across: log(0, 1),
        };
        let torn = Torn {
            top: vec![60.0; w],
            bottom: vec![100.0; w],
            ends: (0.0, w as f64),
            inside: 1.0,
            beside: (0.1, 0.1),
        };
        let edge = Edge {
            rows: vec![100.0; w],
        };
        texture.change(&torn, &edge, false)
    }

    #[test]
    fn a_strip_of_other_texture_beside_the_face_is_seen_and_an_even_plate_is_not() {
        // The change lies a third of a width out, against far out of reach.
        assert!(change_below(12) > 1.5);
        assert!(change_below(50) < 0.1);
    }
}
