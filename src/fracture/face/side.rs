//! Which long edge is the root line.

use super::band::Band;
use super::edges::Edge;
use super::roughness::DARK;
use super::texture::Texture;
use super::torn::Torn;
use crate::base::numeric::{median, quantile};
use crate::base::raster::Gray;
use nalgebra::{Matrix3, Vector3};

/// Strips outside an edge whose tones are compared, in torn widths from it: a
/// cap or groove ends within about two thirds of a width, a plate goes on.
const ZONES: [(f64, f64); 3] = [(0.05, 0.2), (0.2, 0.35), (0.35, 0.55)];

/// What tells the sides apart; the first of each pair is above the face in
/// the band, the second below.
#[derive(Clone, Copy, Debug)]
pub(super) struct Features {
    /// Roughness close outside the face as a share of that inside: a cap has
    /// ripples, a plate hardly anything.
    pub ripples: [f64; 2],
    /// Scatter about a parabola (10 to 90 %) of the edge taken as a root line,
    /// in torn widths: the plate's corner is straight, a torn edge is not.
    pub uneven: [f64; 2],
    /// Change of mean tone between a strip close outside and the next one.
    pub step: [f64; 2],
    /// How much the texture changes from strip to strip outside ([`Texture`]):
    /// cap or groove and then the plate, or the plate alone.
    pub texture: [f64; 2],
}

impl Features {
    /// Log odds that the root line is the lower edge.
    pub fn log_odds(&self) -> f64 {
        let difference = |f: [f64; 2], most: f64| (f[0] - f[1]).clamp(-most, most);
        // Logistic regression with a prior of variance 8 on each feature's scale,
        // on 55 faces of two painters; left out one picture at a time all are read
        // the right way round, fourteen of them at less than 10 : 1.
        10.7 * difference(self.ripples, 0.4)
            + 39.2 * difference(self.uneven, 0.12)
            + 11.4 * difference(self.step, 0.3)
            + 0.5 * difference(self.texture, 1.5)
    }
}

/// Reads them; `found[side][kind]` as found for (above, below) × (root, far).
pub(super) fn features(
    band: &Band,
    torn: &Torn,
    found: &[[Option<Edge>; 2]; 2],
) -> Option<Features> {
    let (columns, rows) = band.size();
    let (first, last) = (torn.ends.0 as usize, (torn.ends.1 as usize).min(columns));
    let width = torn.width();
    let texture = Texture::of(band);
    let mut f = Features {
        ripples: [0.0; 2],
        uneven: [0.0; 2],
        step: [0.0; 2],
        texture: [0.0; 2],
    };
    for (side, [root, far]) in found.iter().enumerate() {
        let (root, far) = (root.as_ref()?, far.as_ref()?);
        let sign = if side == 0 { -1.0 } else { 1.0 };
        let strip = |edge: &Edge, from: f64, to: f64, raster: &Gray, scale: f64| {
            let mut values = Vec::new();
            for c in (first..last).step_by(2) {
                let mut t = from * width;
                while t < to * width {
                    let row = edge.rows[c] + sign * t;
                    if row > 1.0 && row < rows as f64 - 1.0 {
                        values.push(f64::from(raster.sample(c as f64 * scale, row * scale)));
                    }
                    t += 1.0;
                }
            }
            values
        };
        f.ripples[side] = quantile(&strip(far, 0.1, 0.35, &band.rough, 0.5), 0.5) / torn.inside;
        // An edge taken for the wrong kind may lie on the next change of tone;
        // taken as both kinds, only the root line has an even plate outside.
        for edge in [root, far] {
            let tones: Vec<f64> = ZONES
                .iter()
                .map(|(from, to)| {
                    let luma = strip(edge, *from, *to, &band.luma, 1.0);
                    (median(&luma) + f64::from(DARK)).ln()
                })
                .collect();
            let steps = tones.windows(2).map(|w| (w[1] - w[0]).abs());
            f.step[side] += 0.5 * steps.fold(0.0, f64::max);
        }
        let off: Vec<f64> = off_parabola(&root.rows[first..last])
            .iter()
            .map(|rows| rows / width)
            .collect();
        f.uneven[side] = quantile(&off, 0.9) - quantile(&off, 0.1);
        let change = |edge: &Edge| texture.change(torn, edge, side == 0);
        f.texture[side] = change(root) + change(far);
    }
    Some(f)
}

/// Distances from the parabola fitted robustly (values far off left out anew,
/// four times).
fn off_parabola(rows: &[f64]) -> Vec<f64> {
    let n = rows.len();
    let x = |i: usize| 2.0 * i as f64 / (n.max(2) - 1) as f64 - 1.0;
    let mut off = vec![0.0; n];
    let mut kept = vec![true; n];
    for _ in 0..ROUNDS {
        let (mut normal, mut right) = (Matrix3::zeros(), Vector3::zeros());
        for i in (0..n).filter(|i| kept[*i]) {
            let basis = Vector3::new(1.0, x(i), x(i) * x(i));
            normal += basis * basis.transpose();
            right += basis * rows[i];
        }
        let Some(p) = normal.lu().solve(&right) else {
            return off;
        };
        for (i, o) in off.iter_mut().enumerate() {
            *o = rows[i] - p[0] - p[1] * x(i) - p[2] * x(i) * x(i);
        }
        let sizes: Vec<f64> = (0..n).filter(|i| kept[*i]).map(|i| off[i].abs()).collect();
        let limit = FAR_OFF * (1.48 * median(&sizes) + 0.3);
        (0..n).for_each(|i| kept[i] = off[i].abs() < limit);
    }
    off
}

/// Rounds of the fit, and how many standard deviations off a value is left out.
const ROUNDS: usize = 4;
const FAR_OFF: f64 = 2.5;
