//! The look of the ground and etched face: brushed plates, heat-affected
//! band, columnar weld metal, dark fusion line, pores.

use super::joint::Joint;
use super::noise::value;
use super::shapes::*;

/// Tones and textures of one etched face.
#[derive(Clone, Debug)]
pub struct Etch {
    /// Linear reflectance of the parent metal and its tint.
    pub parent: f64,
    pub tint: [f64; 3],
    /// Weld metal and band against the parent metal (1 = alike).
    pub weld: f64,
    pub band: f64,
    pub band_mm: f64,
    /// Darkness of the fusion line (0 … 1) and its half-width, mm.
    pub line: f64,
    pub line_mm: f64,
    /// Strength of grains and of grinding marks, direction of the marks.
    pub grain: f64,
    pub marks: f64,
    pub marks_deg: f64,
}

/// Linear colour of the face at `p` (joint mm), which must lie on the metal.
/// `weld` = signed distance to the weld metal there.
pub fn colour(j: &Joint, etch: &Etch, p: P, weld: f64, fine: f64, seed: u64) -> [f64; 3] {
    let brush = brushed(etch, p, fine, seed);
    let stain = value(seed ^ 0x57, p[0] / 6.0, p[1] / 6.0);
    let parent =
        etch.parent * (1.0 + etch.marks * brush + 0.03 * stain) * band(etch, p, weld, seed);
    let metal = etch.parent
        * etch.weld
        * columnar(j, etch, p, fine, seed)
        * (1.0 + 0.35 * etch.marks * brush);
    // The transition is a few hundredths of a millimetre wide, as etching leaves it.
    let t = smooth(weld / (0.03 + 0.5 * fine) * 0.5 + 0.5);
    let mut v = metal * (1.0 - t) + parent * t;

    let ragged = weld + 0.02 * value(seed ^ 0x11, p[0] / 0.15, p[1] / 0.15);
    v *= 1.0 - etch.line * (-(ragged / etch.line_mm).powi(2)).exp();

    // The faying line, as far as the weld has not replaced it.
    let shown = j.spec.gap.max(0.05);
    let gap = (p[1] - j.spec.gap / 2.0).abs() - shown / 2.0;
    let behind = if p[0] < 0.0 && weld > -0.02 { gap } else { 1.0 };
    v *= 1.0 - 0.93 * cover(behind, fine);
    for (centre, diameter) in &j.spec.pores {
        let d = length(sub(p, *centre)) - diameter / 2.0;
        v *= 1.0 - 0.93 * cover(d, fine.max(0.03));
    }
    for (course, width) in &j.spec.gaps {
        let d = to_polyline(p, course).0 - width / 2.0;
        v *= 1.0 - 0.93 * cover(d, fine.max(0.01));
    }
    let warm = if weld < 0.0 { 0.985 } else { 1.0 };
    [v * etch.tint[0], v * etch.tint[1], v * etch.tint[2] * warm]
}

/// Grinding marks: noise drawn out along one direction, and some scratches.
fn brushed(etch: &Etch, p: P, fine: f64, seed: u64) -> f64 {
    let (s, c) = etch.marks_deg.to_radians().sin_cos();
    let along = c * p[0] + s * p[1];
    let across = -s * p[0] + c * p[1] + 0.05 * value(seed ^ 0x31, along / 9.0, 0.0);
    let mut sum = 0.0;
    for (k, (width, reach, weight)) in [
        (0.55, 22.0, 0.5),
        (0.20, 12.0, 0.45),
        (0.08, 7.0, 0.55),
        (0.035, 4.0, 0.45),
    ]
    .into_iter()
    .enumerate()
    {
        if width > 0.6 * fine {
            sum += weight * value(seed ^ (0x41 + k as u64), across / width, along / reach);
        }
    }
    // A few deeper scratches at another angle.
    let skewed = -0.42 * p[0] + 0.91 * p[1];
    let along2 = 0.91 * p[0] + 0.42 * p[1];
    let scratch = (value(seed ^ 0x51, skewed / 0.09, along2 / 11.0) - 0.80).max(0.0) * 3.0;
    sum + scratch
}

/// The heat-affected band as a factor: darker (or lighter) next to the weld,
/// falling off over `band_mm` with an uneven border.
fn band(etch: &Etch, p: P, weld: f64, seed: u64) -> f64 {
    let width = etch.band_mm * (1.0 + 0.18 * value(seed ^ 0x61, p[0] / 1.8, p[1] / 1.8));
    let t = (weld / width).max(0.0);
    let edge = 1.0 - smooth((t - 0.72) / 0.38);
    let coarse = 0.35 * (-(t / 0.3).powi(2)).exp();
    let mottle = 0.10 * value(seed ^ 0x62, p[0] / 0.12, p[1] / 0.12);
    1.0 + (etch.band - 1.0) * edge * (0.72 + coarse + mottle)
}

/// Weld metal: per run, grains that fan out from the run's heart.
fn columnar(j: &Joint, etch: &Etch, p: P, fine: f64, seed: u64) -> f64 {
    let (run, border) = j.run_at(p);
    let r = &j.runs[run];
    let seed = seed ^ ((run as u64 + 1) << 20);
    let d = sub(p, r.heart);
    let radius = length(d);
    let warp = 0.035 * value(seed ^ 0x71, p[0] / 1.1, p[1] / 1.1)
        + 0.012 * value(seed ^ 0x72, p[0] / 0.3, p[1] / 0.3);
    let angle = d[1].atan2(d[0]) + warp;
    // Grains: long thin wedges, each with its own tone and a sharp border;
    // further from the heart they split, so that they stay about as wide.
    let mut sum = 0.0;
    for (k, (grains, reach, weight)) in [
        (9.0, 3.2, 0.35),
        (21.0, 2.2, 0.55),
        (47.0, 1.5, 0.55),
        (110.0, 0.9, 0.35),
    ]
    .into_iter()
    .enumerate()
    {
        let wide = radius / grains;
        if wide > 0.4 * fine && wide > 0.02 {
            let ragged =
                angle * grains + 0.6 * value(seed ^ (0x91 + k as u64), radius / 0.8, angle * 3.0);
            let v = value(seed ^ (0x81 + k as u64), ragged, radius / reach);
            sum += weight * (v * 3.0).clamp(-1.0, 1.0) * (wide / 0.05).min(1.0);
        }
    }
    let tone = 1.0 + 0.10 * (run as f64 - 0.5 * (j.runs.len() - 1) as f64);
    let mut v = tone * (1.0 + etch.grain * sum);
    if j.runs.len() > 1 {
        // A thin line between runs and a reheated rim on the earlier one.
        v *= 1.0 - 0.40 * (-(border / 0.05).powi(2)).exp();
        let last = run + 1 == j.runs.len();
        if !last {
            v *= 1.0 + 0.14 * (-(border / 0.5).powi(2)).exp();
        }
    }
    v.max(0.1)
}

/// Share of a pixel of size `fine` inside a border at signed distance `d`.
pub fn cover(d: f64, fine: f64) -> f64 {
    (0.5 - d / fine).clamp(0.0, 1.0)
}

pub fn smooth(t: f64) -> f64 {
    let t = t.clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}
