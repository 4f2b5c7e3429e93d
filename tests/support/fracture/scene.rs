//! One photograph: coupon, bench, reference, light and camera put together and
//! every pixel painted.

use super::bench::Bench;
use super::coupon::{Coupon, CouponSpec};
use super::look::look;
use super::relief;
use crate::support::section::camera::{Camera, CameraSpec, M3, apply, inverse, product};
use crate::support::section::develop::{Light, develop};
use crate::support::section::field::Field;
use crate::support::section::metal::{cover, smooth};
use crate::support::section::noise;
use crate::support::section::reference::Reference;
use crate::support::section::scene::pose;
use crate::support::section::shapes::*;
use rayon::prelude::*;

/// All that makes one picture.
#[derive(Clone, Debug)]
pub struct FractureSpec {
    pub name: String,
    pub seed: u64,
    pub coupon: CouponSpec,
    pub bench: Bench,
    /// `None`: the scale is declared from the truth.
    pub reference: Option<Reference>,
    pub camera: CameraSpec,
    /// Turn of the coupon in the plane, degrees from x towards y (clockwise as
    /// pictured); 0 = root side below.
    pub rotation_deg: f64,
    /// Plane place of the coupon's middle, mm.
    pub at: P,
    /// Direction the stronger light comes from, degrees from plane x towards
    /// plane y.
    pub light_deg: f64,
    /// Light lost towards the corners.
    pub vignette: f64,
}

/// A scene ready to be painted.
pub struct Scene {
    pub spec: FractureSpec,
    pub coupon: Coupon,
    pub camera: Camera,
    pub coupon_to_plane: M3,
    plane_to_coupon: M3,
}

/// Height of the stronger light over the plane, degrees.
const ELEVATION_DEG: f64 = 40.0;

impl Scene {
    pub fn new(spec: FractureSpec) -> Self {
        let coupon = Coupon::build(spec.coupon.clone());
        let middle = [
            spec.coupon.length / 2.0,
            (coupon.top() - spec.coupon.plate) / 2.0,
        ];
        let coupon_to_plane = pose(spec.rotation_deg, false, middle, spec.at);
        Self {
            plane_to_coupon: inverse(&coupon_to_plane),
            camera: Camera::new(spec.camera.clone()),
            coupon,
            coupon_to_plane,
            spec,
        }
    }

    /// Coupon mm → picture px.
    pub fn mapping(&self) -> M3 {
        product(&self.camera.to_px, &self.coupon_to_plane)
    }

    /// The picture as a JPEG file.
    pub fn photograph(&self) -> Vec<u8> {
        let (w, h) = (self.camera.spec.width, self.camera.spec.height);
        let c = &self.coupon;
        let fine = self.fine();
        let low = [-1.0, -c.spec.plate - 1.0];
        let high = [c.spec.length + 1.0, c.top() + 1.0];
        let relief = Field::new(low, high, 0.8 * fine, |q| relief::height(c, q, fine));
        let mut light: Light = vec![[0.0; 3]; w * h];
        light.par_chunks_mut(w).enumerate().for_each(|(y, row)| {
            for (x, out) in row.iter_mut().enumerate() {
                *out = self
                    .pixel([x as f64 + 0.5, y as f64 + 0.5], &relief)
                    .map(|v| v as f32);
            }
        });
        develop(light, &self.camera.spec, self.spec.seed)
    }

    fn fine(&self) -> f64 {
        1.0 / self.camera.spec.px_per_mm
    }

    fn pixel(&self, px: P, relief: &Field) -> [f64; 3] {
        let p = apply(&self.camera.to_mm, px);
        let fine = self.fine();
        let q = apply(&self.plane_to_coupon, p);
        let solid = self.solid(q);
        let share = cover(solid, fine);
        let mut colour = if share < 1.0 {
            self.surroundings(p, fine)
        } else {
            [0.0; 3]
        };
        if share > 0.0 {
            // Saw-cut and sheared borders carry a thin burr.
            let burr = 1.0 - 0.4 * (-(solid / 0.09).powi(2)).exp();
            colour = over(colour, self.lit(q, relief).map(|v| v * burr), share);
        }
        let even = self.evenness(p);
        colour.map(|v| v * even)
    }

    /// The coupon's colour under two lights.
    fn lit(&self, q: P, relief: &Field) -> [f64; 3] {
        let fine = self.fine();
        let look = look(&self.coupon, q, fine);
        let e = fine;
        let at = |dx: f64, dy: f64| relief.at([q[0] + dx, q[1] + dy]);
        let slope = [
            (at(e, 0.0) - at(-e, 0.0)) / (2.0 * e),
            (at(0.0, e) - at(0.0, -e)) / (2.0 * e),
        ];
        // A wall seen from above is never steeper than the pixel shows.
        let steep = length(slope);
        let slope = scale(slope, 1.0 / (1.0 + 0.12 * steep));
        let n = unit([-slope[0], -slope[1], 1.0]);
        let (sin, cos) = ELEVATION_DEG.to_radians().sin_cos();
        let key = self.towards(self.spec.light_deg);
        let back = self.towards(self.spec.light_deg + 165.0);
        let key3 = [cos * key[0], cos * key[1], sin];
        let fill3 = unit([back[0], back[1], 1.4]);
        let dot3 = |a: [f64; 3], b: [f64; 3]| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

        let z = at(0.0, 0.0);
        let mut shade: f64 = 0.0;
        for t in [0.08, 0.18, 0.32, 0.55, 0.9] {
            let rise = at(t * key[0], t * key[1]) - z - t * sin / cos;
            shade = shade.max(smooth(rise / 0.10));
        }
        let direct = dot3(n, key3).max(0.0) / sin * (1.0 - 0.85 * shade);
        let second = dot3(n, fill3).max(0.0) / fill3[2];
        let half = unit([key3[0], key3[1], key3[2] + 1.0]);
        let glint = dot3(n, half).max(0.0).powi(60) * (1.0 - shade);
        let diffuse = 0.16 + 0.62 * direct + 0.22 * second;
        look.colour.map(|v| v * diffuse + 0.5 * look.gloss * glint)
    }

    /// Direction in the coupon's frame towards a light that stands at this
    /// angle in the plane.
    fn towards(&self, angle_deg: f64) -> P {
        let (s, c) = angle_deg.to_radians().sin_cos();
        let m = &self.plane_to_coupon;
        [m[0][0] * c + m[0][1] * s, m[1][0] * c + m[1][1] * s]
    }

    /// Signed distance to the coupon's border in its plane, negative inside.
    fn solid(&self, q: P) -> f64 {
        let c = &self.coupon;
        let rough = 0.03 * noise::value(c.spec.seed ^ 0x5a, q[0] / 0.7, q[1] / 0.7);
        let dx = (-q[0]).max(q[0] - c.spec.length);
        let dy = (-c.spec.plate - q[1]).max(q[1] - c.top());
        let out = if dx > 0.0 && dy > 0.0 {
            dx.hypot(dy)
        } else {
            dx.max(dy)
        };
        out + rough
    }

    /// Bench, shadow, reference and the coupon's side walls.
    fn surroundings(&self, p: P, fine: f64) -> [f64; 3] {
        let depth = self.spec.coupon.depth;
        let bench = self.camera.below(p, depth);
        let (s, c) = self.spec.light_deg.to_radians().sin_cos();
        let lifted = [bench[0] + 0.5 * depth * c, bench[1] + 0.5 * depth * s];
        let coupon = |p: P| self.solid(apply(&self.plane_to_coupon, p));
        let (mut shade, mut near) = (coupon(lifted), coupon(bench));
        if let Some(r) = &self.spec.reference {
            shade = shade.min(r.distance(lifted));
            near = near.min(r.distance(bench));
        }
        let shadow = 0.60 * (1.0 - smooth(shade / (0.6 * depth) * 0.5 + 0.5));
        let contact = 0.30 * (1.0 - smooth(near / 3.0 * 0.5 + 0.5));
        let mut colour = self
            .spec
            .bench
            .colour(bench, fine, self.spec.seed ^ 0xba)
            .map(|v| v * (1.0 - shadow) * (1.0 - contact));

        // Side wall: what lies under the rim on the same line of sight.
        let steps = 8;
        let wall = (1..=steps)
            .map(|k| {
                cover(
                    coupon(
                        self.camera
                            .below(p, depth * f64::from(k) / f64::from(steps)),
                    ),
                    fine,
                )
            })
            .fold(0.0, f64::max);
        let grit = noise::value(self.spec.seed ^ 0x5d, p[0] / 0.25, p[1] / 0.25);
        colour = over(colour, [0.05 * (1.0 + 0.2 * grit); 3], wall);

        if let Some(r) = &self.spec.reference {
            // It lies on packing as high as the coupon.
            let packing = cover(r.distance(self.camera.below(p, 0.5 * depth)), fine);
            let side = cover(r.distance(self.camera.below(p, r.thickness())), fine);
            let top = cover(r.distance(p), fine);
            let face = if top > 0.0 {
                r.colour(p, fine, self.spec.seed ^ 0x5ca1e)
            } else {
                [0.0; 3]
            };
            colour = over(colour, [0.11, 0.075, 0.045], packing);
            colour = over(over(colour, [0.07; 3], side), face.map(|v| 0.8 * v), top);
        }
        colour
    }

    /// Uneven light and the lens's fall-off.
    fn evenness(&self, p: P) -> f64 {
        let half = 0.5 * self.camera.spec.width as f64 / self.camera.spec.px_per_mm;
        let (s, c) = self.spec.light_deg.to_radians().sin_cos();
        let slope = (c * p[0] + s * p[1]) / half;
        let r2 = dot(p, p) / (half * half);
        let patch = noise::value(self.spec.seed ^ 0x119, p[0] / 31.0 + 7.3, p[1] / 31.0);
        (1.0 + 0.08 * slope + 0.04 * patch) * (1.0 - self.spec.vignette * r2)
    }
}

fn unit(a: [f64; 3]) -> [f64; 3] {
    let n = (a[0] * a[0] + a[1] * a[1] + a[2] * a[2]).sqrt();
    a.map(|v| v / n)
}

/// `top` laid over `colour` where it covers `share` of a pixel.
fn over(colour: [f64; 3], top: [f64; 3], share: f64) -> [f64; 3] {
    std::array::from_fn(|k| colour[k] * (1.0 - share) + top[k] * share)
}
