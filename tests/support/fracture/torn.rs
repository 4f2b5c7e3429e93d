//! The relief of torn metal: fibrous (dull, pulled out) and crystalline
//! (cleavage facets that catch the light), mixed in patches.

use crate::support::section::metal::smooth;
use crate::support::section::noise::{hash, value};
use crate::support::section::shapes::*;

/// Share of crystalline metal at a place, 0 … 1.
pub fn crystalline(seed: u64, share: f64, q: P) -> f64 {
    let patch = value(seed ^ 0xc1, q[0] / 6.0, q[1] / 3.0)
        + 0.4 * value(seed ^ 0xc2, q[0] / 1.7, q[1] / 1.3);
    smooth(0.5 + 1.1 * (patch + 2.0 * share - 1.0))
}

/// Height in mm at a place; detail finer than `fine` is left out.
pub fn height(seed: u64, share: f64, q: P, fine: f64) -> f64 {
    let cleaved = crystalline(seed, share, q);
    let mut z = 0.22 * value(seed ^ 1, q[0] / 3.5, q[1] / 2.4);
    for (k, size) in [1.3, 0.7, 0.4, 0.23, 0.13, 0.075].into_iter().enumerate() {
        if size < 1.6 * fine {
            break;
        }
        // Turned lattices, so that no grain of the noise looks square.
        let (sin, cos) = (0.5 + 1.1 * k as f64).sin_cos();
        let (x, y) = (cos * q[0] - sin * q[1], sin * q[0] + cos * q[1]);
        let n = value(seed ^ (0x11 + k as u64), x / size, y / size);
        // Tear ridges: sharp crests, round cups between them.
        let ridged = 1.0 - 2.4 * n.abs().min(0.8);
        z += 0.36 * f64::powf(size, 0.85) * (0.6 * n + 0.32 * ridged);
    }
    for (k, size) in [0.62, 0.30, 0.16].into_iter().enumerate() {
        if size > 2.2 * fine {
            let grain = facets(seed ^ (0x31 + k as u64), q, size);
            let cups = -facets(seed ^ (0x41 + k as u64), q, 0.8 * size);
            z += size * (0.95 * cleaved * grain + 0.7 * (1.0 - cleaved) * cups);
        }
    }
    z
}

/// The upper hull of low domes over jittered grains, each with its own slope:
/// facets that meet in creases, without cliffs between them.
fn facets(seed: u64, q: P, size: f64) -> f64 {
    let (x, y) = (q[0] / size, q[1] / size);
    let (cx, cy) = (x.floor() as i64, y.floor() as i64);
    let mut hull = f64::NEG_INFINITY;
    for i in -1..=1 {
        for j in -1..=1 {
            let (gx, gy) = (cx + i, cy + j);
            let h = hash(
                seed ^ (gx as u64).wrapping_mul(0x9e37_79b1)
                    ^ (gy as u64).wrapping_mul(0x85eb_ca77_c2b2_ae3d),
            );
            let part = |k: u32| ((h >> (16 * k)) & 0xffff) as f64 / 65535.0;
            let d = [x - gx as f64 - part(0), y - gy as f64 - part(1)];
            let g = [2.0 * part(2) - 1.0, 2.0 * part(3) - 1.0];
            hull = hull.max(0.75 * dot(g, d) - 0.6 * dot(d, d));
        }
    }
    hull
}
