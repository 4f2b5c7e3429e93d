//! The map from picture to plane that one set of parameters stands for.

use super::{N, Params};
use nalgebra::Vector3;

/// Rows a, b, c of the map from straightened picture to plane coordinates.
pub fn rows_of(p: &Params) -> [Vector3<f64>; 3] {
    let a = Vector3::new(p[0], p[1], p[2]);
    let c = Vector3::new(p[3], p[4], 1.0);
    let focal = p[7].exp();
    let camera = Vector3::new(focal, focal, 1.0);
    let normal = c.component_mul(&camera);
    // The shift u₀ that leaves e_u in the plane: e_u · n = 0.
    let u0 = a.component_mul(&camera).dot(&normal) / normal.norm_squared();
    let along = (a - c * u0).component_mul(&camera);
    let across = normal.normalize().cross(&along);
    // v₀ is the v of the picture's centre, whatever the focal length: a shift
    // that moved with it would bend the valley that the steps follow.
    let b = across.component_div(&camera) + c * (p[6] - across.z);
    [a, b, c]
}

/// The map of one set of parameters, worked out once for all marks.
#[derive(Clone, Copy)]
pub struct Model {
    rows: [Vector3<f64>; 3],
    kappa: f64,
    stretch: f64,
    second: (f64, f64),
}

impl Model {
    /// The map of `p`.
    pub fn of(p: &Params) -> Self {
        Self {
            rows: rows_of(p),
            kappa: p[5],
            stretch: p[8],
            second: (p[9], p[10]),
        }
    }

    /// What the reference says of a place in the picture: plane coordinates, those
    /// across with the print's own stretch; a second edge counts from its own zero,
    /// in its own unit.
    pub fn marked(&self, at: (f64, f64), second: bool) -> (f64, f64) {
        let (u, v) = self.plane_coordinates(at);
        let u = if second {
            (u - self.second.0) * (1.0 + self.second.1)
        } else {
            u
        };
        (u, v * (1.0 + self.stretch))
    }

    /// Plane coordinates (u, v) of a place in the picture.
    pub fn plane_coordinates(&self, (x, y): (f64, f64)) -> (f64, f64) {
        let k = 1.0 + self.kappa * (x * x + y * y);
        let straight = Vector3::new(x * k, y * k, 1.0);
        let [a, b, c] = self.rows;
        let w = c.dot(&straight);
        (a.dot(&straight) / w, b.dot(&straight) / w)
    }
}

/// The model with each parameter shifted a little, and by how much.
pub fn shifted(p: &Params) -> [(Model, f64); N] {
    std::array::from_fn(|k| {
        let h = 1e-6 * p[k].abs().max(1.0);
        let mut moved = *p;
        moved[k] += h;
        (Model::of(&moved), h)
    })
}

/// Derivatives of what [`Model::marked`] gives, which is (u, v).
pub fn gradients(
    shifted: &[(Model, f64); N],
    at: (f64, f64),
    second: bool,
    (u, v): (f64, f64),
) -> (Params, Params) {
    let (mut ju, mut jv) = (Params::zeros(), Params::zeros());
    for (k, (model, h)) in shifted.iter().enumerate() {
        let (su, sv) = model.marked(at, second);
        ju[k] = (su - u) / h;
        jv[k] = (sv - v) / h;
    }
    (ju, jv)
}

/// Scale along u at the picture's centre, px/mm; only to weigh residuals.
pub fn local_px_per_mm(p: &Params, radius_px: f64) -> f64 {
    radius_px / (p[0] - p[2] * p[3]).hypot(p[1] - p[2] * p[4])
}

/// Scale at a place in the picture, px/mm: square root of the area ratio.
pub fn scale_at(p: &Params, (x, y): (f64, f64), radius_px: f64) -> f64 {
    let h = 1e-5;
    let model = Model::of(p);
    let (u0, v0) = model.plane_coordinates((x, y));
    let (ux, vx) = model.plane_coordinates((x + h, y));
    let (uy, vy) = model.plane_coordinates((x, y + h));
    let area = ((ux - u0) * (vy - v0) - (uy - u0) * (vx - v0)).abs() / (h * h);
    radius_px / area.sqrt()
}
