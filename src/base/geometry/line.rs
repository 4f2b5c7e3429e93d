//! Unbounded straight lines.

use super::{Point, Vector};
use nalgebra::{Matrix2, SymmetricEigen};

/// A straight line through `point` along the unit vector `direction`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line<F> {
    /// A point of the line.
    pub point: Point<F>,
    /// Unit direction.
    pub direction: Vector<F>,
}

impl<F> Line<F> {
    /// The line through `point` along `direction` (any length but zero).
    pub fn new(point: Point<F>, direction: Vector<F>) -> Self {
        Self {
            point,
            direction: direction.unit(),
        }
    }

    /// The line from `a` towards `b`.
    pub fn through(a: Point<F>, b: Point<F>) -> Self {
        Self::new(a, b - a)
    }

    /// Unit normal: the direction turned by a quarter from +x towards +y.
    pub fn normal(&self) -> Vector<F> {
        self.direction.turned()
    }

    /// Signed distance of `p`, positive on the side of [`Line::normal`].
    pub fn signed_distance(&self, p: Point<F>) -> f64 {
        (p - self.point).dot(self.normal())
    }

    /// Position of `p`'s foot along the line, from `self.point`.
    pub fn along(&self, p: Point<F>) -> f64 {
        (p - self.point).dot(self.direction)
    }

    /// The point at `t` along the line from `self.point`.
    pub fn at(&self, t: f64) -> Point<F> {
        self.point + self.direction * t
    }

    /// Where two lines cross; `None` when they are parallel to 1e-9 rad.
    pub fn crossing(&self, other: &Self) -> Option<Point<F>> {
        let denominator = self.direction.cross(other.direction);
        if denominator.abs() < 1e-9 {
            return None;
        }
        let t = (other.point - self.point).cross(other.direction) / denominator;
        Some(self.at(t))
    }

    /// Total least-squares line through weighted points: the direction is the
    /// principal axis of the weighted scatter (Pearson, 1901). `None` for
    /// fewer than two points or no spread. The direction's sign points from
    /// the first to the last point.
    pub fn fit(points: &[Point<F>], weights: &[f64]) -> Option<Self> {
        let total: f64 = weights.iter().sum();
        if points.len() < 2 || points.len() != weights.len() || total <= 0.0 {
            return None;
        }
        let mean = |of: fn(&Point<F>) -> f64| {
            points
                .iter()
                .zip(weights)
                .map(|(p, w)| of(p) * w)
                .sum::<f64>()
                / total
        };
        let centre = Point::new(mean(|p| p.x), mean(|p| p.y));
        let mut scatter = Matrix2::zeros();
        for (p, w) in points.iter().zip(weights) {
            let d = *p - centre;
            scatter += Matrix2::new(d.x * d.x, d.x * d.y, d.x * d.y, d.y * d.y) * (*w / total);
        }
        let eigen = SymmetricEigen::new(scatter);
        let main = eigen.eigenvalues.imax();
        if eigen.eigenvalues[main] <= 0.0 {
            return None;
        }
        let axis = eigen.eigenvectors.column(main);
        let mut direction = Vector::new(axis[0], axis[1]);
        if direction.dot(points[points.len() - 1] - points[0]) < 0.0 {
            direction = -direction;
        }
        Some(Self::new(centre, direction))
    }

    /// Robust line: iteratively re-weighted total least squares with Tukey's
    /// biweight, scale from the median absolute deviation but never below
    /// `floor` (frame unit). Returns the line and the final weights in [0, 1].
    pub fn fit_robust(points: &[Point<F>], floor: f64) -> Option<(Self, Vec<f64>)> {
        let mut weights = vec![1.0; points.len()];
        let mut line = Self::fit(points, &weights)?;
        for _ in 0..20 {
            let residuals: Vec<f64> = points.iter().map(|p| line.signed_distance(*p)).collect();
            let mut sizes: Vec<f64> = residuals.iter().map(|r| r.abs()).collect();
            sizes.sort_by(f64::total_cmp);
            let scale = (1.4826 * sizes[sizes.len() / 2]).max(floor);
            for (w, r) in weights.iter_mut().zip(&residuals) {
                let t = r / (4.685 * scale);
                *w = if t.abs() < 1.0 {
                    (1.0 - t * t).powi(2)
                } else {
                    0.0
                };
            }
            let next = Self::fit(points, &weights)?;
            let moved = (next.direction.cross(line.direction)).abs()
                + next.signed_distance(line.point).abs();
            line = next;
            if moved < 1e-9 {
                break;
            }
        }
        Some((line, weights))
    }
}
