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
//!
//! A print's two directions need not have the same scale, and a strip of two
//! rows is known across it to the width of an ink edge only. The shape of its
//! cells alone therefore must not say "tilted": one stretch ε of everything
//! across the reference is fitted with the rest, held by what is known of it.
//! A second graduated edge of a rule joins in with a zero of its own: it lies
//! across from the first, so its pitch shows the tilt that one edge cannot.

mod model;

use super::plane::{Lens, PlaneMap};
use super::viewing::{Distance, Focal};
use crate::base::geometry::{Homography, Point, Px};
use crate::base::numeric::median;
use crate::photo::Photo;
use model::{Model, gradients, local_px_per_mm, rows_of, scale_at, shifted};
use nalgebra::{Matrix3, Matrix4, SMatrix, SVector, Vector4};

/// Standard deviation of each vanishing-line component: a tilt of about 7° at
/// the usual focal length.
const PRIOR_C: f64 = 0.04;
/// Standard deviation of the lens term at the corner of the picture.
const PRIOR_KAPPA: f64 = 0.010;

/// Distances across are never known better than this against those along: the
/// pixels of a sensor are square to about as much (common practice, no source).
const LEAST_STRETCH: f64 = 1e-4;

/// Relative standard uncertainty of the unit of a rule's second edge against the
/// first: far less than either against the metre, as both are made from one master
/// (common practice, no source).
const SECOND_EDGE_REL: f64 = 0.001;

/// Residuals beyond this many standard deviations count linearly (Huber).
const HUBER: f64 = 2.0;
/// Most Gauss-Newton steps.
const ROUNDS: usize = 30;

/// Parameters: a₁ a₂ a₃ c₁ c₂ κ v₀ ln φ ε, zero of a second edge, its unit.
const N: usize = 11;
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
    /// Whether it stands on a second edge, whose marks are counted from another
    /// zero.
    pub second: bool,
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
    /// Fits the plane to `marks` found in `photo`. `stretch_rel` is the relative
    /// standard uncertainty of distances across the reference against those along
    /// it. `None` when there are too few marks or they fix no plane.
    pub fn new(marks: &[Mark], photo: &Photo, stretch_rel: f64) -> Option<Self> {
        let centre = Point::new(photo.width as f64 / 2.0, photo.height as f64 / 2.0);
        let radius_px = centre.x.hypot(centre.y);
        let focal = Focal::of(photo);
        let unit = |p: Point<Px>| ((p.x - centre.x) / radius_px, (p.y - centre.y) / radius_px);
        let start = start(marks, &unit, focal)?;
        let problem = Problem {
            marks,
            unit: marks.iter().map(|m| unit(m.at)).collect(),
            across: marks.iter().any(|m| m.v.is_some()),
            second: marks.iter().any(|m| m.second),
            radius_px,
            focal,
            stretch_rel: stretch_rel.max(LEAST_STRETCH),
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
        let [a, b, c] = rows_of(&self.params);
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

    /// Distance from the camera to the plane at the picture's centre. How well it
    /// is known follows from the fit: a plane seen nearly from above says nothing
    /// of the focal length beyond what was known before, one seen aslant does. (In
    /// 55 pictures of known distance the error was 0.7 of the stated uncertainty,
    /// root mean square; it was many times that as long as the shape of a print's
    /// cells was trusted without end.)
    pub fn distance(&self) -> Distance {
        Distance {
            mm: self.params[7].exp() / local_px_per_mm(&self.params, 1.0),
            rel: self.covariance[(7, 7)].sqrt().min(self.focal.ln_sd),
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
    second: bool,
    radius_px: f64,
    focal: Focal,
    stretch_rel: f64,
}

impl Problem<'_> {
    /// Prior knowledge of the parameters at `p`: what it adds to the cost, and
    /// (parameter, step towards the mean, weight) for the equations.
    fn priors(&self, p: &Params) -> (f64, [(usize, f64, f64); 8]) {
        let priors = [
            (3, 0.0, PRIOR_C, true),
            (4, 0.0, PRIOR_C, true),
            (5, 0.0, PRIOR_KAPPA, true),
            (6, 0.0, if self.across { 1e6 } else { 1e-3 }, false),
            (7, self.focal.ln, self.focal.ln_sd, false),
            (8, 0.0, self.stretch_rel, false),
            (9, 0.0, if self.second { 1e6 } else { 1e-3 }, false),
            (10, 0.0, SECOND_EDGE_REL, false),
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
            let (u, v) = model.marked(*at, m.second);
            sizes.push((m.u - u).abs() * scale);
            sizes.extend(m.v.map(|want| (want - v).abs() * scale));
        }
        if sizes.len() < 4 {
            return None;
        }
        let scatter = 1.4826 * median(&sizes);
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
            let (u, v) = model.marked(*at, m.second);
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
            let (u, v) = model.marked(*at, m.second);
            let (ju, jv) = gradients(&shifted, *at, m.second, (u, v));
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

fn residuals(p: &Params, marks: &[Mark], unit: &impl Fn(Point<Px>) -> (f64, f64)) -> Vec<f64> {
    let model = Model::of(p);
    marks
        .iter()
        .map(|m| {
            let (u, v) = model.marked(unit(m.at), m.second);
            match m.v {
                // One figure a mark: the larger of the two misfits.
                Some(want) if (want - v).abs() > (m.u - u).abs() => want - v,
                _ => m.u - u,
            }
        })
        .collect()
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
    for m in marks.iter().filter(|m| !m.second) {
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
    let model = Model::of(&params);
    let zeros: Vec<f64> = marks
        .iter()
        .filter(|m| m.second)
        .map(|m| model.plane_coordinates(unit(m.at)).0 - m.u)
        .collect();
    if !zeros.is_empty() {
        params[9] = median(&zeros);
    }
    (s[0].hypot(s[1]) > 0.0 && params.iter().all(|v| v.is_finite())).then_some(params)
}

#[cfg(test)]
mod tests;
