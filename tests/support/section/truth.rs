//! What is true of a picture, from its geometry alone. Places in px as in the
//! record: x right, y down, the centre of the first pixel at (0.5, 0.5).

use super::camera::{apply, local_scale};
use super::joint::Kind;
use super::measurands::measurands;
use super::rounding::round;
use super::scene::Scene;
use super::shapes::*;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The truth beside a picture.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Truth {
    pub case: String,
    pub seed: u64,
    pub width_px: usize,
    pub height_px: usize,
    /// Px per mm at the weld's centroid.
    pub px_per_mm: f64,
    /// Row-major map from joint mm to px.
    pub joint_mm_to_px: [[f64; 3]; 3],
    pub tilt_deg: f64,
    pub distance_mm: f64,
    pub focal_px: f64,
    pub mirrored: bool,
    pub rotation_deg: f64,
    /// What a user would type.
    pub declared: Declared,
    /// Scale object, when one lies in the picture.
    pub scale_outline_px: Vec<P>,
    pub scale_marks: Vec<Mark>,
    /// By record name; mm, mm², degrees, per cent.
    pub measurements: BTreeMap<String, f64>,
    /// The same of the weld on the other side, where there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub second: Option<BTreeMap<String, f64>>,
    pub outlines_px: Outlines,
    pub outlines_mm: Outlines,
}

/// Command-line options that describe the coupon.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Declared {
    pub scale: String,
    pub joint: String,
    pub dihedral_deg: f64,
    pub thickness_butting_mm: f64,
    pub thickness_nonbutting_mm: f64,
    pub passes: usize,
}

/// A numbered graduation or a square's corner.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Mark {
    pub mm: f64,
    pub px: P,
}

/// Outlines in one frame.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Outlines {
    pub weld_metal: Vec<P>,
    pub face: Vec<P>,
    pub fusion_boundary_butting: Vec<P>,
    pub fusion_boundary_nonbutting: Vec<P>,
    pub toe_butting: P,
    pub toe_nonbutting: P,
    pub joint_root: P,
    pub plates: Vec<Vec<P>>,
    /// Borders between runs.
    pub run_borders: Vec<Vec<P>>,
    /// Centre and outline of every pore.
    pub pores: Vec<Vec<P>>,
}

impl Truth {
    pub fn of(scene: &Scene) -> Self {
        let j = &scene.joint;
        let s = &j.spec;
        let map = scene.mapping();
        let mm = outlines_mm(scene);
        let to_px = |p: P| apply(&map, p);
        let plane_px = |p: P| apply(&scene.camera.to_px, p);
        let reference = scene.spec.reference.as_ref();
        let px_per_mm = local_scale(&map, centroid(&j.weld));
        Self {
            case: scene.spec.name.clone(),
            seed: scene.spec.seed,
            width_px: scene.camera.spec.width,
            height_px: scene.camera.spec.height,
            px_per_mm,
            joint_mm_to_px: map,
            tilt_deg: scene.camera.spec.tilt_deg,
            distance_mm: scene.camera.distance_mm,
            focal_px: scene.camera.focal_px,
            mirrored: scene.spec.mirrored,
            rotation_deg: scene.spec.rotation_deg,
            declared: Declared {
                scale: reference.map_or(format!("declared:{px_per_mm:.3}"), |r| r.argument()),
                joint: if s.kind == Kind::Lap { "lap" } else { "tee" }.to_owned(),
                dihedral_deg: s.dihedral_deg,
                thickness_butting_mm: s.t_butting,
                thickness_nonbutting_mm: s.t_nonbutting,
                passes: s.passes,
            },
            scale_outline_px: reference.map_or(Vec::new(), |r| {
                r.corners().into_iter().map(plane_px).collect()
            }),
            scale_marks: reference.map_or(Vec::new(), |r| {
                r.marks()
                    .into_iter()
                    .map(|(mm, p)| Mark {
                        mm,
                        px: plane_px(p),
                    })
                    .collect()
            }),
            measurements: measurands(j),
            second: scene.second.as_ref().map(measurands),
            outlines_px: mm.mapped(to_px),
            outlines_mm: mm,
        }
    }

    /// As a file: figures rounded to 1e-6, so that it stays readable.
    pub fn to_json(&self) -> String {
        let mut value = serde_json::to_value(self).expect("plain data");
        round(&mut value, 1e6, "joint_mm_to_px");
        serde_json::to_string_pretty(&value).expect("plain data") + "\n"
    }
}

fn outlines_mm(scene: &Scene) -> Outlines {
    let j = &scene.joint;
    let in_butting = |p: &&P| p[1] >= j.spec.gap && dot(**p, j.out) <= 1e-9;
    let in_nonbutting = |p: &&P| p[1] <= 1e-9;
    let circle = |centre: P, radius: f64, n: usize| -> Vec<P> {
        (0..=n)
            .map(|i| {
                let a = std::f64::consts::TAU * i as f64 / n as f64;
                add(centre, [radius * a.cos(), radius * a.sin()])
            })
            .collect()
    };
    let run_borders = (1..j.runs.len())
        .map(|i| {
            let run = j.runs[i];
            let on_show = |p: &P| {
                signed_distance(*p, &j.weld) < 0.0
                    && j.runs[i + 1..]
                        .iter()
                        .all(|later| length(sub(*p, later.centre)) > later.radius)
            };
            let ring = circle(run.centre, run.radius, 360);
            let start = ring.iter().position(|p| !on_show(p)).unwrap_or(0);
            ring.iter()
                .cycle()
                .skip(start)
                .take(361)
                .filter(|p| on_show(p))
                .copied()
                .collect()
        })
        .collect();
    Outlines {
        weld_metal: j.weld.clone(),
        face: j.face.clone(),
        fusion_boundary_butting: j.fusion.iter().rev().filter(in_butting).copied().collect(),
        fusion_boundary_nonbutting: j
            .fusion
            .iter()
            .rev()
            .filter(in_nonbutting)
            .copied()
            .collect(),
        toe_butting: j.face[0],
        toe_nonbutting: j.face[j.face.len() - 1],
        joint_root: [0.0, 0.0],
        plates: vec![j.nonbutting.clone(), j.butting.clone()],
        run_borders,
        pores: j
            .spec
            .pores
            .iter()
            .map(|(c, d)| circle(*c, d / 2.0, 32))
            .collect(),
    }
}

impl Outlines {
    fn mapped(&self, to: impl Fn(P) -> P) -> Self {
        let line = |l: &Vec<P>| l.iter().map(|p| to(*p)).collect::<Vec<P>>();
        let lines = |l: &Vec<Vec<P>>| l.iter().map(line).collect();
        Self {
            weld_metal: line(&self.weld_metal),
            face: line(&self.face),
            fusion_boundary_butting: line(&self.fusion_boundary_butting),
            fusion_boundary_nonbutting: line(&self.fusion_boundary_nonbutting),
            toe_butting: to(self.toe_butting),
            toe_nonbutting: to(self.toe_nonbutting),
            joint_root: to(self.joint_root),
            plates: lines(&self.plates),
            run_borders: lines(&self.run_borders),
            pores: lines(&self.pores),
        }
    }
}
