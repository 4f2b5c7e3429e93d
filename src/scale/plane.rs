//! The plane map: measured plane (mm) ↔ photograph (px).

use crate::base::geometry::{Homography, Mm, Point, Px, Vector};

/// A perspective map between the measured plane and the photograph.
///
/// Guarantees: finite and orientation-preserving over the photograph it was
/// made for.
#[derive(Clone, Debug)]
pub struct PlaneMap {
    to_px: Homography<Mm, Px>,
    to_mm: Homography<Px, Mm>,
}

impl PlaneMap {
    /// From a perspective map; `None` when it cannot be inverted.
    pub fn from_homography(to_px: Homography<Mm, Px>) -> Option<Self> {
        let to_mm = to_px.inverse()?;
        Some(Self { to_px, to_mm })
    }

    /// The same scale everywhere: a camera looking straight down.
    /// `None` unless `px_per_mm` is positive and finite.
    pub fn uniform(px_per_mm: f64) -> Option<Self> {
        if !(px_per_mm.is_finite() && px_per_mm > 0.0) {
            return None;
        }
        Self::from_homography(Homography::similarity(px_per_mm, [0.0, 0.0])?)
    }

    /// Where a point of the plane appears.
    pub fn to_px(&self, p: Point<Mm>) -> Point<Px> {
        self.to_px.apply(p)
    }

    /// Which point of the plane appears at `p`.
    pub fn to_mm(&self, p: Point<Px>) -> Point<Mm> {
        self.to_mm.apply(p)
    }

    /// Local scale at a point of the plane: square root of the area ratio, px/mm.
    pub fn px_per_mm_at(&self, p: Point<Mm>) -> f64 {
        let step = 0.01;
        let centre = self.to_px(p);
        let x = self.to_px(p + Vector::new(step, 0.0)) - centre;
        let y = self.to_px(p + Vector::new(0.0, step)) - centre;
        x.cross(y).abs().sqrt() / step
    }
}
