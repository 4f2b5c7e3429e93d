//! How wide the picture draws a sharp edge.

use super::geometry::WeldShape;
use super::patch::Patch;
use super::profile::direction;
use crate::base::geometry::resample;
use crate::base::numeric::quantile_of;

/// Profiles across the face reach this far to each side, mm.
const REACH_MM: f64 = 0.3;
/// Edges fainter than this, grey levels, are no measure.
const LEAST_STEP: f64 = 25.0;
/// Fewest profiles that are a measure.
const FEWEST: usize = 10;
/// Share of face profiles that are sharper than the one taken: shadow and
/// bevel widen an edge, nothing sharpens it.
const SHARPEST: f64 = 0.25;

/// Width of a sharp edge in the picture, mm: its change of lightness by its
/// steepest slope, read across the weld face. At least one sample and a half. `None` where
/// too little of the face stands out from what lies beyond it.
pub fn edge_width_mm(patch: &Patch, shape: &WeldShape) -> Option<f64> {
    let face = resample(&shape.face, 0.1);
    let step = 0.5 * patch.step_mm;
    let half = (REACH_MM / step) as i64;
    let mut widths: Vec<f64> = Vec::new();
    for i in 0..face.len() {
        let Some(normal) = direction(&face, i).map(|d| d.turned()) else {
            continue;
        };
        let profile: Vec<f64> = (-half..=half)
            .map(|k| f64::from(patch.lightness(face[i] + normal * (k as f64 * step))))
            .collect();
        let (low, high) = profile
            .iter()
            .fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(*v), h.max(*v)));
        let slope = profile
            .windows(3)
            .map(|w| (w[2] - w[0]).abs() / (2.0 * step))
            .fold(0.0, f64::max);
        if high - low >= LEAST_STEP && slope > 0.0 {
            widths.push((high - low) / slope);
        }
    }
    let enough = widths.len() >= FEWEST;
    enough.then(|| quantile_of(&mut widths, SHARPEST).max(1.5 * patch.step_mm))
}
