//! What is true of a picture, from its geometry alone. Places in px as in the
//! record: x right, y down, the centre of the first pixel at (0.5, 0.5).

use super::measurands::measurands;
use super::scene::Scene;
use crate::support::section::camera::{apply, local_scale};
use crate::support::section::rounding::round;
use crate::support::section::shapes::*;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Distance of the points of an outline in the file, mm; the figures come from
/// finer ones.
const DRAWN: f64 = 0.2;

/// The truth beside a picture.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Truth {
    pub case: String,
    pub seed: u64,
    pub width_px: usize,
    pub height_px: usize,
    /// Px per mm at the middle of the face.
    pub px_per_mm: f64,
    /// Row-major map from coupon mm (s along the weld, h from the root line)
    /// to px.
    pub coupon_mm_to_px: [[f64; 3]; 3],
    pub tilt_deg: f64,
    pub rotation_deg: f64,
    /// What a user types for `--scale`.
    pub scale: String,
    /// By record name; mm, mm², per cent.
    pub measurements: BTreeMap<String, f64>,
    /// Ends of every unfused stretch at the root, mm.
    pub root_stretches_mm: Vec<[f64; 2]>,
    pub pores: Vec<Spot>,
    pub inclusions: Vec<Spot>,
    pub outlines_px: Outlines,
    pub outlines_mm: Outlines,
}

/// A pore or an inclusion.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Spot {
    pub at_mm: P,
    pub at_px: P,
    pub greatest_dimension_mm: f64,
}

/// Outlines in one frame.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Outlines {
    pub face: Vec<P>,
    pub root_line: Vec<P>,
    pub root_unfused: Vec<Vec<P>>,
    pub inter_run_unfused: Vec<Vec<P>>,
    pub sidewall_unfused: Vec<Vec<P>>,
    pub inclusions: Vec<Vec<P>>,
}

impl Truth {
    pub fn of(scene: &Scene) -> Self {
        let c = &scene.coupon;
        let map = scene.mapping();
        let px_per_mm = local_scale(&map, [c.spec.length / 2.0, c.spec.width / 2.0]);
        let spot = |at: P, size: f64| Spot {
            at_mm: at,
            at_px: apply(&map, at),
            greatest_dimension_mm: size,
        };
        let mm = Outlines {
            face: c.face(DRAWN),
            root_line: vec![[0.0, 0.0], [c.spec.length, 0.0]],
            root_unfused: c.root_zones(DRAWN),
            inter_run_unfused: c.patches.clone(),
            sidewall_unfused: c.wall_zones(DRAWN),
            inclusions: c.inclusions.clone(),
        };
        Self {
            case: scene.spec.name.clone(),
            seed: scene.spec.seed,
            width_px: scene.camera.spec.width,
            height_px: scene.camera.spec.height,
            px_per_mm,
            coupon_mm_to_px: map,
            tilt_deg: scene.camera.spec.tilt_deg,
            rotation_deg: scene.spec.rotation_deg,
            scale: scene
                .spec
                .reference
                .as_ref()
                .map_or(format!("declared:{px_per_mm:.3}"), |r| r.argument()),
            measurements: measurands(c),
            root_stretches_mm: c.stretches(|s| c.root_gap(s)),
            pores: c
                .spec
                .pores
                .iter()
                .map(|p| spot(p.at, p.diameter))
                .collect(),
            inclusions: c
                .inclusions
                .iter()
                .map(|ring| spot(centroid(ring), super::measurands::greatest(ring)))
                .collect(),
            outlines_px: mm.mapped(|p| apply(&map, p)),
            outlines_mm: mm,
        }
    }

    /// As a file: figures rounded to 1e-4, so that it stays readable.
    pub fn to_json(&self) -> String {
        let mut value = serde_json::to_value(self).expect("plain data");
        round(&mut value, 1e4, "coupon_mm_to_px");
        serde_json::to_string(&value)
            .expect("plain data")
            .replace("],[", "],\n[")
            + "\n"
    }
}

impl Outlines {
    fn mapped(&self, to: impl Fn(P) -> P) -> Self {
        let line = |l: &Vec<P>| l.iter().map(|p| to(*p)).collect::<Vec<P>>();
        let lines = |l: &Vec<Vec<P>>| l.iter().map(line).collect();
        Self {
            face: line(&self.face),
            root_line: line(&self.root_line),
            root_unfused: lines(&self.root_unfused),
            inter_run_unfused: lines(&self.inter_run_unfused),
            sidewall_unfused: lines(&self.sidewall_unfused),
            inclusions: lines(&self.inclusions),
        }
    }
}
