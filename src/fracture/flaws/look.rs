//! How strongly a dark spot speaks for a flaw, as natural log-odds against a
//! shadow of the torn metal.
//!
//! Nine weights, the same for every picture, fitted by logistic regression to
//! the flaws of 24 rendered faces and to those shadows that come near to looking
//! like one; flaws and shadows count the same. With each picture judged by weights
//! fitted to the others, and what is asked set for each face as in
//! [`super::Flaws::find`], 83 % of the flaws of half a millimetre and more were
//! found at 0.8 false ones a picture.

use super::spot::Spot;
use super::tones::Tones;
use crate::base::numeric::median;
use crate::base::raster::Gray;

/// The ring around a spot against which it is compared, mm.
const RING_MM: (f64, f64) = (0.12, 0.35);

/// What speaks for or against a flaw.
#[derive(Clone, Copy, Debug)]
struct Look {
    /// Median tone of the ring less the spot's: a cavity is darker.
    contrast: f64,
    /// ln(area in mm²): shadows of facets are small.
    size: f64,
    /// Share of its ellipse that it fills.
    fill: f64,
    /// ln(elongation).
    long: f64,
    /// Mean gradient on its rim, tone per 0.1 mm: a cavity has an edge.
    edge: f64,
    /// Share of its rim that meets an edge of the face.
    touch: f64,
    /// ln(such spots a cm² at this darkness): many are the metal's own.
    crowd: f64,
    /// Median roughness inside against torn metal.
    roughness: f64,
    /// Share of its surroundings in an unfused zone, whose border is dark.
    beside_zone: f64,
}

impl Look {
    fn odds(&self) -> f64 {
        3.28 * self.contrast.clamp(0.0, 3.0)
            + 1.73 * self.size.clamp(-3.5, 1.5)
            + 5.34 * self.fill.min(1.05)
            - 1.83 * self.long.min(1.5)
            + 7.29 * self.edge.clamp(0.0, 1.5)
            - 9.49 * self.touch
            - 0.45 * self.crowd.clamp(-3.0, 4.0)
            + 2.26 * self.roughness.clamp(-2.0, 1.5)
            - 22.7 * self.beside_zone.min(0.6)
            - 4.18
    }
}

/// Log-odds of a spot found in `smooth` tones with slope `slope`; `None` when
/// it has no surroundings on the face. `crowd` is the number of spots a cm² at
/// its level.
pub fn odds(
    spot: &Spot,
    tones: &Tones,
    smooth: &Gray,
    slope: &Gray,
    px_per_mm: f64,
    crowd: f64,
) -> Option<f64> {
    let columns = smooth.width();
    let shape = spot.shape();
    let distances = spot.distances();
    let near = (RING_MM.0 * px_per_mm).round().max(2.0) as f32;
    let far = ((RING_MM.1 * px_per_mm).round() as f32).max(near + 2.0);
    let values = |of: &Gray, samples: &[usize]| -> Vec<f64> {
        let value = |i: &usize| f64::from(of.samples()[spot.in_raster(*i, columns)]);
        samples.iter().map(value).collect()
    };
    let around = |low: f32, high: f32| -> Vec<usize> {
        let in_ring = |i: &usize| distances[*i] > low && distances[*i] <= high;
        (0..distances.len()).filter(in_ring).collect()
    };
    let on_face = |i: &usize| tones.face[spot.in_raster(*i, columns)];
    let ring: Vec<usize> = around(near, far).into_iter().filter(on_face).collect();
    if ring.len() < 5 || spot.rim.is_empty() {
        return None;
    }
    let members = spot.members();
    let beside = around(0.0, near + 1.0);
    let unfused = beside
        .iter()
        .filter(|i| tones.unfused[spot.in_raster(**i, columns)])
        .count();
    let off_face = around(0.0, 1.5).iter().filter(|i| !on_face(i)).count();
    let rim = values(slope, &spot.rim);
    let area_mm2 = shape.area / (px_per_mm * px_per_mm);
    let look = Look {
        contrast: median(&values(&tones.tone, &ring)) - median(&values(smooth, &members)),
        size: area_mm2.ln(),
        fill: shape.fill,
        long: shape.elongation.ln(),
        edge: 0.1 * px_per_mm * rim.iter().sum::<f64>() / rim.len() as f64,
        touch: off_face as f64 / spot.rim.len() as f64,
        crowd: (crowd + 0.05).ln(),
        roughness: median(&values(&tones.roughness, &spot.inner())),
        beside_zone: unfused as f64 / beside.len().max(1) as f64,
    };
    Some(look.odds())
}
