//! Plane-to-plane perspective maps.

use super::Point;
use nalgebra::{DMatrix, Matrix3, Vector3};
use std::marker::PhantomData;

/// A perspective map from frame `A` to frame `B`.
pub struct Homography<A, B> {
    matrix: Matrix3<f64>,
    frames: PhantomData<(A, B)>,
}

impl<A, B> Clone for Homography<A, B> {
    fn clone(&self) -> Self {
        Self {
            matrix: self.matrix,
            frames: PhantomData,
        }
    }
}
impl<A, B> std::fmt::Debug for Homography<A, B> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Homography({:?})", self.matrix)
    }
}

impl<A, B> Homography<A, B> {
    /// From its 3 × 3 matrix, acting on columns (x, y, 1). `None` when the
    /// matrix is singular or not finite.
    pub fn from_matrix(matrix: Matrix3<f64>) -> Option<Self> {
        let usable = matrix.iter().all(|v| v.is_finite()) && matrix.determinant().abs() > 0.0;
        usable.then(|| Self {
            matrix: matrix / matrix.norm(),
            frames: PhantomData,
        })
    }

    /// A plain enlargement: `b = a · factor + shift`.
    pub fn similarity(factor: f64, shift: [f64; 2]) -> Option<Self> {
        Self::from_matrix(Matrix3::new(
            factor, 0.0, shift[0], 0.0, factor, shift[1], 0.0, 0.0, 1.0,
        ))
    }

    /// The map through four or more pairs by the normalised direct linear
    /// transform (Hartley, In defense of the eight-point algorithm, 1997;
    /// Hartley and Zisserman, Multiple View Geometry, 2004, algorithm 4.2).
    /// `None` for fewer than four pairs or a degenerate set.
    pub fn fit(from: &[Point<A>], to: &[Point<B>]) -> Option<Self> {
        if from.len() < 4 || from.len() != to.len() {
            return None;
        }
        let (na, nb) = (normaliser(from)?, normaliser(to)?);
        let mut rows = DMatrix::zeros(2 * from.len().max(5), 9);
        for (i, (a, b)) in from.iter().zip(to).enumerate() {
            let (p, q) = (
                na * Vector3::new(a.x, a.y, 1.0),
                nb * Vector3::new(b.x, b.y, 1.0),
            );
            for k in 0..3 {
                rows[(2 * i, k)] = p[k];
                rows[(2 * i, 6 + k)] = -q[0] * p[k];
                rows[(2 * i + 1, 3 + k)] = p[k];
                rows[(2 * i + 1, 6 + k)] = -q[1] * p[k];
            }
        }
        let svd = rows.svd(false, true);
        let v = svd.v_t?;
        let least = svd.singular_values.imin();
        // A second vanishing singular value means the points fix no map.
        let mut sizes: Vec<f64> = svd.singular_values.iter().copied().collect();
        sizes.sort_by(f64::total_cmp);
        if sizes[1] < 1e-9 * sizes[sizes.len() - 1] {
            return None;
        }
        let h = Matrix3::from_fn(|r, c| v[(least, 3 * r + c)]);
        Self::from_matrix(nb.try_inverse()? * h * na)
    }

    /// The image of `p`; the coordinates are not finite on the horizon.
    pub fn apply(&self, p: Point<A>) -> Point<B> {
        let v = self.matrix * Vector3::new(p.x, p.y, 1.0);
        Point::new(v[0] / v[2], v[1] / v[2])
    }

    /// The inverse map.
    pub fn inverse(&self) -> Option<Homography<B, A>> {
        Homography::from_matrix(self.matrix.try_inverse()?)
    }

    /// The matrix, scaled to Frobenius norm 1.
    pub fn matrix(&self) -> Matrix3<f64> {
        self.matrix
    }
}

/// Translation to the centroid and scaling to a mean distance of √2.
fn normaliser<F>(points: &[Point<F>]) -> Option<Matrix3<f64>> {
    let n = points.len() as f64;
    let (cx, cy) = points
        .iter()
        .fold((0.0, 0.0), |(x, y), p| (x + p.x / n, y + p.y / n));
    let spread = points
        .iter()
        .map(|p| (p.x - cx).hypot(p.y - cy))
        .sum::<f64>()
        / n;
    if spread.is_nan() || spread <= 0.0 {
        return None;
    }
    let k = std::f64::consts::SQRT_2 / spread;
    Some(Matrix3::new(
        k,
        0.0,
        -k * cx,
        0.0,
        k,
        -k * cy,
        0.0,
        0.0,
        1.0,
    ))
}
