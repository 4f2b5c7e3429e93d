//! One photograph: joint, etch, table, reference and camera put together and
//! every pixel painted.

use super::background::Background;
use super::camera::{Camera, CameraSpec, M3, apply, inverse, product};
use super::develop::{Light, develop};
use super::field::Field;
use super::joint::{Joint, JointSpec};
use super::metal::{self, Etch, cover, smooth};
use super::noise;
use super::reference::Reference;
use super::shapes::*;
use rayon::prelude::*;
use std::sync::OnceLock;

/// All that makes one picture.
#[derive(Clone, Debug)]
pub struct SectionSpec {
    pub name: String,
    pub seed: u64,
    pub joint: JointSpec,
    /// The weld on the other side of an upright butting member, as if seen from there.
    pub second: Option<JointSpec>,
    pub etch: Etch,
    pub background: Background,
    /// `None`: the scale is declared from the truth.
    pub reference: Option<Reference>,
    pub camera: CameraSpec,
    /// Turn of the specimen in the plane, degrees from x towards y (clockwise
    /// as pictured), and whether it is seen from the other side.
    pub rotation_deg: f64,
    pub mirrored: bool,
    /// Plane place of the weld's centroid, mm.
    pub at: P,
    /// Depth of the slice under the etched face, mm.
    pub depth_mm: f64,
    pub light_deg: f64,
}

/// The specimen's pose: joint mm → plane mm.
pub fn pose(rotation_deg: f64, mirrored: bool, centroid: P, at: P) -> M3 {
    let (s, c) = rotation_deg.to_radians().sin_cos();
    let m = if mirrored { -1.0 } else { 1.0 };
    // Joint y points up, plane y down as pictured.
    let turn = [[c * m, s], [s * m, -c]];
    let x = at[0] - turn[0][0] * centroid[0] - turn[0][1] * centroid[1];
    let y = at[1] - turn[1][0] * centroid[0] - turn[1][1] * centroid[1];
    [
        [turn[0][0], turn[0][1], x],
        [turn[1][0], turn[1][1], y],
        [0.0, 0.0, 1.0],
    ]
}

/// A scene ready to be painted.
pub struct Scene {
    pub spec: SectionSpec,
    pub joint: Joint,
    pub second: Option<Joint>,
    pub camera: Camera,
    pub joint_to_plane: M3,
    plane_to_joint: M3,
    /// Distance to the metal and to the weld metal; made when first painted.
    fields: OnceLock<(Field, Field)>,
}

impl Scene {
    pub fn new(spec: SectionSpec) -> Self {
        let joint = Joint::build(spec.joint.clone());
        let camera = Camera::new(spec.camera.clone());
        let joint_to_plane = pose(
            spec.rotation_deg,
            spec.mirrored,
            centroid(&joint.weld),
            spec.at,
        );
        let second = spec.second.clone().map(Joint::build);
        Self {
            second,
            plane_to_joint: inverse(&joint_to_plane),
            spec,
            joint,
            camera,
            joint_to_plane,
            fields: OnceLock::new(),
        }
    }

    fn fields(&self) -> &(Field, Field) {
        self.fields.get_or_init(|| {
            let j = &self.joint;
            let (low, high) = bounds(&j.weld, 4.0);
            let weld = Field::new(low, high, 0.05, |p| signed_distance(p, &j.weld));
            let all = [&j.nonbutting[..], &j.butting, &j.weld].concat();
            let (low, high) = bounds(&all, 3.0);
            (Field::new(low, high, 0.1, |p| self.solid_at(p)), weld)
        })
    }

    fn solid(&self, p: P) -> f64 {
        self.fields().0.at(p)
    }

    /// Signed distance to the metal, both welds counted.
    fn solid_at(&self, p: P) -> f64 {
        let main = solid_distance(&self.joint, p);
        match &self.second {
            Some(second) => main.min(signed_distance(self.across(p), &second.weld)),
            None => main,
        }
    }

    /// A place as seen from the other side of the butting member, and back.
    pub fn across(&self, p: P) -> P {
        [-self.joint.spec.t_butting - p[0], p[1]]
    }

    /// Joint mm → picture px.
    pub fn mapping(&self) -> M3 {
        product(&self.camera.to_px, &self.joint_to_plane)
    }

    /// The picture as a JPEG file.
    pub fn photograph(&self) -> Vec<u8> {
        let (w, h) = (self.camera.spec.width, self.camera.spec.height);
        let mut light: Light = vec![[0.0; 3]; w * h];
        light.par_chunks_mut(w).enumerate().for_each(|(y, row)| {
            for (x, out) in row.iter_mut().enumerate() {
                *out = self
                    .pixel([x as f64 + 0.5, y as f64 + 0.5])
                    .map(|v| v as f32);
            }
        });
        develop(light, &self.camera.spec, self.spec.seed)
    }

    fn pixel(&self, px: P) -> [f64; 3] {
        let p = apply(&self.camera.to_mm, px);
        let fine = 1.0 / self.camera.spec.px_per_mm;
        let q = apply(&self.plane_to_joint, p);
        let mut solid = self.solid(q);
        if solid.abs() < 0.3 {
            solid = self.solid_at(q);
        }
        let share = cover(solid, fine);
        let mut colour = if share < 1.0 {
            self.surroundings(p, fine)
        } else {
            [0.0; 3]
        };
        if share > 0.0 {
            let mut weld = self.fields().1.at(q);
            if weld.abs() < 0.2 {
                weld = signed_distance(q, &self.joint.weld);
            }
            let (mut joint, mut at) = (&self.joint, q);
            if let Some(second) = &self.second {
                let seen = self.across(q);
                let other = signed_distance(seen, &second.weld);
                if other < weld {
                    (joint, at, weld) = (second, seen, other);
                }
            }
            let face = metal::colour(joint, &self.spec.etch, at, weld, fine, self.spec.seed);
            // The rounded rim of the ground face throws less light back.
            let rim = 1.0 - 0.35 * (-(solid / 0.07).powi(2)).exp();
            colour = over(colour, face.map(|v| v * rim), share);
        }
        let lit = self.light(p);
        colour.map(|v| v * lit)
    }

    /// Table, shadow, reference and the slice's side wall.
    fn surroundings(&self, p: P, fine: f64) -> [f64; 3] {
        let depth = self.spec.depth_mm;
        let table = self.camera.below(p, depth);
        let (s, c) = self.spec.light_deg.to_radians().sin_cos();
        let lifted = [table[0] - 0.45 * depth * c, table[1] - 0.45 * depth * s];
        let mut shade = self.solid(apply(&self.plane_to_joint, lifted));
        let mut near = self.solid(apply(&self.plane_to_joint, table));
        if let Some(r) = &self.spec.reference {
            shade = shade.min(r.distance(lifted) + 0.5);
            near = near.min(r.distance(table));
        }
        let soft = 0.55 * depth;
        let shadow = 0.62 * (1.0 - smooth(shade / soft * 0.5 + 0.5));
        let contact = 0.30 * (1.0 - smooth(near / 2.5 * 0.5 + 0.5));
        let mut colour = self
            .spec
            .background
            .colour(table, fine, self.spec.seed ^ 0xba)
            .map(|v| v * (1.0 - shadow) * (1.0 - contact));

        // Side wall: what lies under the rim on the same line of sight.
        let steps = 10;
        let (mut share, mut deep) = (0.0f64, 0.0);
        for k in 1..=steps {
            let d = depth * f64::from(k) / f64::from(steps);
            let here = cover(
                self.solid(apply(&self.plane_to_joint, self.camera.below(p, d))),
                fine,
            );
            if here > share {
                share = here;
                deep = d / depth;
            }
        }
        if share > 0.0 {
            let grit = noise::value(self.spec.seed ^ 0xa11, p[0] / 0.5, p[1] / 0.5);
            let v = (0.055 * (1.0 - 0.65 * deep) * (1.0 + 0.25 * grit)).max(0.004);
            colour = over(colour, [v; 3], share);
        }

        if let Some(r) = &self.spec.reference {
            let side = cover(r.distance(self.camera.below(p, r.thickness())), fine);
            let top = cover(r.distance(p), fine);
            let face = if top > 0.0 {
                r.colour(p, fine, self.spec.seed ^ 0x5ca1e)
            } else {
                [0.0; 3]
            };
            colour = over(over(colour, [0.09; 3], side), face, top);
        }
        colour
    }

    /// Uneven light and the lens's fall-off.
    fn light(&self, p: P) -> f64 {
        let half = 0.5 * self.camera.spec.width as f64 / self.camera.spec.px_per_mm;
        let (s, c) = self.spec.light_deg.to_radians().sin_cos();
        let slope = -(c * p[0] + s * p[1]) / half;
        let r2 = (p[0] * p[0] + p[1] * p[1]) / (half * half);
        let patch = noise::value(self.spec.seed ^ 0x119, p[0] / 23.0 + 7.3, p[1] / 23.0);
        (1.0 + 0.09 * slope + 0.04 * patch) * (1.0 - 0.07 * r2)
    }
}

/// Signed distance to the metal: plates less the undercut grooves, and weld.
fn solid_distance(j: &Joint, p: P) -> f64 {
    let mut plates = signed_distance(p, &j.nonbutting).min(signed_distance(p, &j.butting));
    // The faying gap is painted on the face, so the metal counts as closed there.
    let rear = j.butting[3][0].max(j.nonbutting[0][0]);
    let shut = [
        [rear, -0.01],
        [0.0, -0.01],
        [0.0, j.spec.gap + 0.01],
        [rear, j.spec.gap + 0.01],
    ];
    plates = plates.min(signed_distance(p, &shut));
    for groove in &j.grooves {
        plates = plates.max(-signed_distance(p, groove));
    }
    plates.min(signed_distance(p, &j.weld))
}

/// `top` laid over `colour` where it covers `share` of a pixel.
fn over(colour: [f64; 3], top: [f64; 3], share: f64) -> [f64; 3] {
    std::array::from_fn(|k| colour[k] * (1.0 - share) + top[k] * share)
}

/// Corners of the box round `points`, `margin` wider.
pub fn bounds(points: &[P], margin: f64) -> (P, P) {
    points.iter().fold(
        ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]),
        |(lo, hi), p| {
            (
                [lo[0].min(p[0] - margin), lo[1].min(p[1] - margin)],
                [hi[0].max(p[0] + margin), hi[1].max(p[1] + margin)],
            )
        },
    )
}
