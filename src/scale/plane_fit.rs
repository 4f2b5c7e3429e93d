//! The pose of the reference plane from marks whose place along, and where
//! known across, the reference is known.
//!
//! A tick of a rule is a whole line u = const of the plane. The pencil of its
//! ticks fixes the plane's vanishing line: pitch changing along the rule gives
//! one component, ticks that converge the other. Only the foreshortening
//! across the rule needs the focal length. All of it is fitted at once:
//!
//! u = (a₁x + a₂y + a₃) / (c₁x + c₂y + 1), v likewise with b,
//!
//! where x, y are picture coordinates from the picture's centre in units of the
//! half diagonal, straightened by one radial lens term κ. With the focal length
//! φ (same unit) the plane's normal is n ∝ (φc₁, φc₂, 1) and its axes e_u, e_v
//! are orthonormal in the camera's frame, so that a, c and φ fix b up to one
//! shift (derivation: X = D r / (n·r) on the ray r = (x/φ, y/φ, 1); see also
//! Hartley and Zisserman, Multiple View Geometry, 2004, chapter 8).
//!
//! What the marks do not fix is held by prior knowledge of how such
//! photographs are taken, as distributions in the least-squares sum: so a short
//! strip gives a plain scale, a long one with many marks a full perspective, and
//! extrapolation away from the reference stays bounded, its uncertainty included.
//! Tilt and lens term have long tails: a strongly bent lens or a steep view is
//! rare, but where the marks show one they are believed.

use super::plane::{Lens, PlaneMap};
use super::viewing::{Distance, Focal};
use crate::base::geometry::{Homography, Point, Px};
use crate::photo::Photo;
use nalgebra::{Matrix3, Matrix4, SMatrix, SVector, Vector3, Vector4};

/// Standard deviation of each vanishing-line component: a tilt of about 7° at
/// the usual focal length.
const PRIOR_C: f64 = 0.04;
/// Standard deviation of the lens term at the corner of the picture.
const PRIOR_KAPPA: f64 = 0.010;

/// Residuals beyond this many standard deviations count linearly (Huber).
const HUBER: f64 = 2.0;
/// Most Gauss-Newton steps.
const ROUNDS: usize = 30;

/// Parameters: a₁ a₂ a₃ c₁ c₂ κ v₀ ln φ.
const N: usize = 8;
type Params = SVector<f64, N>;

/// A mark: where it is pictured, and its known coordinates on the reference.
#[derive(Clone, Copy, Debug)]
pub struct Mark {
    /// Where it was found.
    pub at: Point<Px>,
    /// Place along the reference, mm.
    pub u: f64,
    /// Place across, mm, where known.
    pub v: Option<f64>,
    /// Standard deviation of its place, px, where it is known to be coarser than
    /// what the marks' own scatter shows; such a mark does not count in the
    /// residual.
    pub sigma_px: Option<f64>,
}

/// A fitted plane.
#[derive(Clone, Debug)]
pub struct PlaneFit {
    params: Params,
    covariance: SMatrix<f64, N, N>,
    centre: Point<Px>,
    radius_px: f64,
    focal: Focal,
    /// Root mean square residual of the marks that count, px.
    pub residual_px: f64,
    /// Each mark's residual along u, px, in the order given.
    pub residuals_px: Vec<f64>,
}

impl PlaneFit {
    /// Fits the plane to `marks` found in `photo`. `None` when there are too few
    /// marks or they fix no plane.
    pub fn new(marks: &[Mark], photo: &Photo) -> Option<Self> {
        let centre = Point::new(photo.width as f64 / 2.0, photo.height as f64 / 2.0);
        let radius_px = centre.x.hypot(centre.y);
        let focal = Focal::of(photo);
        let unit = |p: Point<Px>| ((p.x - centre.x) / radius_px, (p.y - centre.y) / radius_px);
        let start = start(marks, &unit, focal)?;
        let problem = Problem {
            marks,
            unit: marks.iter().map(|m| unit(m.at)).collect(),
            across: marks.iter().any(|m| m.v.is_some()),
            radius_px,
            focal,
        };
        let mut params = start;
        // Wide at first, then what the marks' own scatter shows.
        let mut sigma_px = problem.scatter_px(&params)?;
        let mut covariance = SMatrix::<f64, N, N>::identity();
        for _ in 0..ROUNDS {
            let (normal, right) = problem.equations(&params, sigma_px);
            covariance = normal.try_inverse()?;
            let step = covariance * right;
            let before = problem.cost(&params, sigma_px);
            let taken = (0..8)
                .map(|halvings| step * 0.5f64.powi(halvings))
                .find(|s| problem.cost(&(params + s), sigma_px) < before);
            let Some(taken) = taken else {
                break;
            };
            params += taken;
            let next = problem.scatter_px(&params)?;
            let settled = taken.norm() < 1e-9 && (next / sigma_px - 1.0).abs() < 1e-3;
            sigma_px = next;
            if settled {
                break;
            }
        }
        if params[3].hypot(params[4]) > 0.5 {
            return None;
        }
        let scale = local_px_per_mm(&params, radius_px);
        let residuals_px: Vec<f64> = residuals(&params, marks, &unit)
            .iter()
            .map(|r| r * scale)
            .collect();
        let kept: Vec<f64> = residuals_px
            .iter()
            .zip(marks)
            .filter(|(r, m)| m.sigma_px.is_none() && r.abs() < 5.0 * sigma_px)
            .map(|(r, _)| *r)
            .collect();
        let residual_px =
            (kept.iter().map(|r| r * r).sum::<f64>() / kept.len().max(1) as f64).sqrt();
        Some(Self {
            params,
            covariance,
            centre,
            radius_px,
            focal,
            residual_px,
            residuals_px,
        })
    }

    /// The map between plane and picture.
    pub fn map(&self) -> Option<PlaneMap> {
        let [a, b, c] = rows(&self.params);
        let m = Matrix3::new(a[0], a[1], a[2], b[0], b[1], b[2], c[0], c[1], c[2]);
        let k = 1.0 / self.radius_px;
        let to_unit = Matrix3::new(
            k,
            0.0,
            -k * self.centre.x,
            0.0,
            k,
            -k * self.centre.y,
            0.0,
            0.0,
            1.0,
        );
        let to_px = (m * to_unit).try_inverse()?;
        let lens = Lens {
            centre: self.centre,
            radius_px: self.radius_px,
            kappa: self.params[5],
        };
        Some(PlaneMap::from_homography(Homography::from_matrix(to_px)?)?.with_lens(lens))
    }

    /// Tilt of the plane against the picture plane, degrees.
    pub fn tilt_deg(&self) -> f64 {
        (self.params[7].exp() * self.params[3].hypot(self.params[4]))
            .atan()
            .to_degrees()
    }

    /// Distance from the camera to the plane at the picture's centre, for the
    /// focal length of the fit. Known no better than the focal length was before
    /// the fit: for a plane seen nearly from above the marks say little of it, and
    /// what they seem to say is mostly their own small errors (in pictures of known
    /// distance, claims of ± 3 % were off by up to 58 %).
    pub fn distance(&self) -> Distance {
        Distance {
            mm: self.params[7].exp() / local_px_per_mm(&self.params, 1.0),
            rel: self.focal.ln_sd,
            stated: self.focal.stated,
        }
    }

    /// Local scale at `p`, px/mm: square root of the area ratio.
    pub fn px_per_mm_at(&self, p: Point<Px>) -> f64 {
        scale_at(&self.params, self.unit(p), self.radius_px)
    }

    /// Relative standard uncertainty of the local scale at `p` from the fit
    /// (marks, tilt, lens, focal length), first order.
    pub fn scale_uncertainty_rel(&self, p: Point<Px>) -> f64 {
        let at = self.unit(p);
        let base = scale_at(&self.params, at, self.radius_px);
        let mut gradient = Params::zeros();
        for k in 0..N {
            let h = (self.covariance[(k, k)].sqrt() * 0.1).max(1e-9);
            let mut shifted = self.params;
            shifted[k] += h;
            gradient[k] = (scale_at(&shifted, at, self.radius_px) / base - 1.0) / h;
        }
        (gradient.dot(&(self.covariance * gradient)))
            .max(0.0)
            .sqrt()
    }

    fn unit(&self, p: Point<Px>) -> (f64, f64) {
        (
            (p.x - self.centre.x) / self.radius_px,
            (p.y - self.centre.y) / self.radius_px,
        )
    }
}

/// The least-squares problem at fixed marks.
struct Problem<'a> {
    marks: &'a [Mark],
    unit: Vec<(f64, f64)>,
    across: bool,
    radius_px: f64,
    focal: Focal,
}

impl Problem<'_> {
    /// Prior knowledge of the parameters at `p`: what it adds to the cost, and
    /// (parameter, step towards the mean, weight) for the equations.
    fn priors(&self, p: &Params) -> (f64, [(usize, f64, f64); 5]) {
        let priors = [
            (3, 0.0, PRIOR_C, true),
            (4, 0.0, PRIOR_C, true),
            (5, 0.0, PRIOR_KAPPA, true),
            (6, 0.0, if self.across { 1e6 } else { 1e-3 }, false),
            (7, self.focal.ln, self.focal.ln_sd, false),
        ];
        let mut cost = 0.0;
        let steps = priors.map(|(k, mean, sd, heavy)| {
            let off = mean - p[k];
            let t2 = (off / sd).powi(2);
            // Student's t with one degree of freedom and the same curvature at the
            // mean as the normal distribution.
            let (loss, ease) = if heavy {
                ((0.5 * t2).ln_1p(), 1.0 / (1.0 + 0.5 * t2))
            } else {
                (0.5 * t2, 1.0)
            };
            cost += loss;
            (k, off, ease / (sd * sd))
        });
        (cost, steps)
    }

    /// Robust scatter of the marks, px, never below what printing and engraving
    /// give.
    fn scatter_px(&self, p: &Params) -> Option<f64> {
        let scale = local_px_per_mm(p, self.radius_px);
        let model = Model::of(p);
        let mut sizes: Vec<f64> = Vec::with_capacity(2 * self.marks.len());
        for (m, at) in self.marks.iter().zip(&self.unit) {
            if m.sigma_px.is_some() {
                continue;
            }
            let (u, v) = model.plane_coordinates(*at);
            sizes.push((m.u - u).abs() * scale);
            sizes.extend(m.v.map(|want| (want - v).abs() * scale));
        }
        if sizes.len() < 4 {
            return None;
        }
        let scatter = 1.4826 * crate::base::numeric::median(&sizes);
        scatter.is_finite().then_some(scatter.max(0.05))
    }

    /// Huber's loss of all residuals plus the priors.
    fn cost(&self, p: &Params, sigma_px: f64) -> f64 {
        let scale = local_px_per_mm(p, self.radius_px);
        let loss = |t: f64| {
            if t <= HUBER {
                0.5 * t * t
            } else {
                HUBER * (t - 0.5 * HUBER)
            }
        };
        let model = Model::of(p);
        let mut sum = 0.0;
        for (m, at) in self.marks.iter().zip(&self.unit) {
            let (u, v) = model.plane_coordinates(*at);
            let k = scale / m.sigma_px.unwrap_or(sigma_px);
            sum += loss(k * (m.u - u).abs());
            sum += m.v.map_or(0.0, |want| loss(k * (want - v).abs()));
        }
        sum += self.priors(p).0;
        // Far outside any photograph's geometry nothing is worth a look.
        if sum.is_finite() { sum } else { f64::INFINITY }
    }

    /// Normal equations of one re-weighted Gauss-Newton step.
    fn equations(&self, p: &Params, sigma_px: f64) -> (SMatrix<f64, N, N>, Params) {
        let scale = local_px_per_mm(p, self.radius_px);
        let mut normal = SMatrix::<f64, N, N>::zeros();
        let mut right = Params::zeros();
        let (model, shifted) = (Model::of(p), shifted(p));
        let mut add = |j: &Params, r: f64, w: f64| {
            normal += j * j.transpose() * w;
            right += j * (r * w);
        };
        for (m, at) in self.marks.iter().zip(&self.unit) {
            let (u, v) = model.plane_coordinates(*at);
            let (ju, jv) = gradients(&shifted, *at, (u, v));
            let k = scale / m.sigma_px.unwrap_or(sigma_px);
            let mut push = |j: &Params, r: f64| {
                let t = k * r.abs();
                add(j, r, k * k * if t <= HUBER { 1.0 } else { HUBER / t });
            };
            push(&ju, m.u - u);
            if let Some(want) = m.v {
                push(&jv, want - v);
            }
        }
        for (k, off, weight) in self.priors(p).1 {
            let mut j = Params::zeros();
            j[k] = 1.0;
            add(&j, off, weight);
        }
        (normal, right)
    }
}

/// Rows a, b, c of the map from straightened picture to plane coordinates.
fn rows(p: &Params) -> [Vector3<f64>; 3] {
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
struct Model {
    rows: [Vector3<f64>; 3],
    kappa: f64,
}

impl Model {
    fn of(p: &Params) -> Self {
        Self {
            rows: rows(p),
            kappa: p[5],
        }
    }

    /// Plane coordinates (u, v) of a place in the picture.
    fn plane_coordinates(&self, (x, y): (f64, f64)) -> (f64, f64) {
        let k = 1.0 + self.kappa * (x * x + y * y);
        let straight = Vector3::new(x * k, y * k, 1.0);
        let [a, b, c] = self.rows;
        let w = c.dot(&straight);
        (a.dot(&straight) / w, b.dot(&straight) / w)
    }
}

/// The model with each parameter shifted a little, and by how much.
fn shifted(p: &Params) -> [(Model, f64); N] {
    std::array::from_fn(|k| {
        let h = 1e-6 * p[k].abs().max(1.0);
        let mut moved = *p;
        moved[k] += h;
        (Model::of(&moved), h)
    })
}

fn gradients(shifted: &[(Model, f64); N], at: (f64, f64), (u, v): (f64, f64)) -> (Params, Params) {
    let (mut ju, mut jv) = (Params::zeros(), Params::zeros());
    for (k, (model, h)) in shifted.iter().enumerate() {
        let (su, sv) = model.plane_coordinates(at);
        ju[k] = (su - u) / h;
        jv[k] = (sv - v) / h;
    }
    (ju, jv)
}

fn residuals(p: &Params, marks: &[Mark], unit: &impl Fn(Point<Px>) -> (f64, f64)) -> Vec<f64> {
    let model = Model::of(p);
    marks
        .iter()
        .map(|m| {
            let (u, v) = model.plane_coordinates(unit(m.at));
            match m.v {
                // One figure a mark: the larger of the two misfits.
                Some(want) if (want - v).abs() > (m.u - u).abs() => want - v,
                _ => m.u - u,
            }
        })
        .collect()
}

/// Scale along u at the picture's centre, px/mm; only to weigh residuals.
fn local_px_per_mm(p: &Params, radius_px: f64) -> f64 {
    radius_px / (p[0] - p[2] * p[3]).hypot(p[1] - p[2] * p[4])
}

fn scale_at(p: &Params, (x, y): (f64, f64), radius_px: f64) -> f64 {
    let h = 1e-5;
    let model = Model::of(p);
    let (u0, v0) = model.plane_coordinates((x, y));
    let (ux, vx) = model.plane_coordinates((x + h, y));
    let (uy, vy) = model.plane_coordinates((x, y + h));
    let area = ((ux - u0) * (vy - v0) - (uy - u0) * (vx - v0)).abs() / (h * h);
    radius_px / area.sqrt()
}

/// A plain similarity through the marks: u, and v where known, linear in the
/// picture.
fn start(marks: &[Mark], unit: &impl Fn(Point<Px>) -> (f64, f64), focal: Focal) -> Option<Params> {
    if marks.len() < 4 {
        return None;
    }
    // Unknowns: (p, q, u₀, v₀) with u = p x + q y + u₀, v = −q x + p y + v₀.
    // Only u counts where v is known no better than to a common shift.
    let mut normal = Matrix4::zeros();
    let mut right = Vector4::zeros();
    let mut add = |row: Vector4<f64>, value: f64| {
        normal += row * row.transpose();
        right += row * value;
    };
    for m in marks {
        let (x, y) = unit(m.at);
        add(Vector4::new(x, y, 1.0, 0.0), m.u);
        if let Some(v) = m.v {
            add(Vector4::new(y, -x, 0.0, 1.0), v);
        }
    }
    // A whisper of ridge keeps v₀ finite when no v is known.
    normal += Matrix4::identity() * (1e-9 * normal.trace());
    let s = normal.try_inverse()? * right;
    let mut params = Params::zeros();
    (params[0], params[1], params[2]) = (s[0], s[1], s[2]);
    params[6] = s[3];
    params[7] = focal.ln;
    (s[0].hypot(s[1]) > 0.0 && params.iter().all(|v| v.is_finite())).then_some(params)
}

#[cfg(test)]
mod tests;
