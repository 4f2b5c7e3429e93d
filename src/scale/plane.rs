//! The plane map: measured plane (mm) ↔ photograph (px).

use crate::base::geometry::{Homography, Mm, Point, Px, Vector};

/// Radial lens distortion in the picture: the place without distortion is
/// `centre + (p − centre) · (1 + kappa · (|p − centre| / radius)²)`.
#[derive(Clone, Copy, Debug)]
pub struct Lens {
    /// Centre of distortion.
    pub centre: Point<Px>,
    /// Distance at which `kappa` is the relative shift, px.
    pub radius_px: f64,
    /// Relative shift at `radius_px`; 0 for a perfect lens.
    pub kappa: f64,
}

impl Lens {
    /// Where `p` would have been pictured without distortion.
    pub fn straighten(&self, p: Point<Px>) -> Point<Px> {
        let d = p - self.centre;
        let r2 = d.dot(d) / (self.radius_px * self.radius_px);
        self.centre + d * (1.0 + self.kappa * r2)
    }

    /// Where a place without distortion is pictured, to well below 0.001 px for
    /// |kappa| ≤ 0.1 within the picture: Newton's method for how much nearer to the
    /// centre it lies.
    pub fn bend(&self, p: Point<Px>) -> Point<Px> {
        let want = p - self.centre;
        let q = self.kappa * want.dot(want) / (self.radius_px * self.radius_px);
        let mut s = 1.0 - q;
        for _ in 0..3 {
            let square = q * s * s;
            s -= (s * (1.0 + square) - 1.0) / (1.0 + 3.0 * square).max(0.3);
        }
        self.centre + want * s.max(0.0)
    }
}

/// A perspective map between the measured plane and the photograph, with the
/// lens where the reference showed it.
///
/// Guarantees: finite and orientation-preserving over the photograph it was
/// made for.
#[derive(Clone, Debug)]
pub struct PlaneMap {
    to_px: Homography<Mm, Px>,
    to_mm: Homography<Px, Mm>,
    lens: Option<Lens>,
}

impl PlaneMap {
    /// From a perspective map; `None` when it cannot be inverted.
    pub fn from_homography(to_px: Homography<Mm, Px>) -> Option<Self> {
        let to_mm = to_px.inverse()?;
        Some(Self {
            to_px,
            to_mm,
            lens: None,
        })
    }

    /// The same scale everywhere: a camera looking straight down.
    /// `None` unless `px_per_mm` is positive and finite.
    pub fn uniform(px_per_mm: f64) -> Option<Self> {
        if !(px_per_mm.is_finite() && px_per_mm > 0.0) {
            return None;
        }
        Self::from_homography(Homography::similarity(px_per_mm, [0.0, 0.0])?)
    }

    /// The same map seen through a lens: `self` then maps to and from the
    /// places without distortion.
    pub fn with_lens(mut self, lens: Lens) -> Self {
        self.lens = Some(lens);
        self
    }

    /// Whether the reference could show a lens and tilt, which a single length does
    /// not.
    pub fn shows_lens(&self) -> bool {
        self.lens.is_some()
    }

    /// The map to a parallel plane whose scale is `factor` times this one's.
    /// `None` unless `factor` is positive and finite.
    pub fn rescaled(&self, factor: f64) -> Option<Self> {
        if !(factor.is_finite() && factor > 0.0) {
            return None;
        }
        let stretch = nalgebra::Matrix3::new(factor, 0.0, 0.0, 0.0, factor, 0.0, 0.0, 0.0, 1.0);
        let to_px = Homography::from_matrix(self.to_px.matrix() * stretch)?;
        Some(Self {
            lens: self.lens,
            ..Self::from_homography(to_px)?
        })
    }

    /// Where a point of the plane appears.
    pub fn to_px(&self, p: Point<Mm>) -> Point<Px> {
        let straight = self.to_px.apply(p);
        self.lens.map_or(straight, |lens| lens.bend(straight))
    }

    /// Which point of the plane appears at `p`.
    pub fn to_mm(&self, p: Point<Px>) -> Point<Mm> {
        self.to_mm
            .apply(self.lens.map_or(p, |lens| lens.straighten(p)))
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bending_undoes_straightening() {
        for kappa in [-0.1, -0.02, 0.0, 0.03, 0.1] {
            let lens = Lens {
                centre: Point::new(2000.0, 1500.0),
                radius_px: 2500.0,
                kappa,
            };
            for p in [(0.5, 0.5), (3999.5, 2.0), (2100.0, 1700.0), (1.0, 2990.0)] {
                let p = Point::new(p.0, p.1);
                let back = lens.bend(lens.straighten(p));
                assert!(back.distance(p) < 0.001, "{kappa} {p:?} {back:?}");
            }
        }
    }
}
