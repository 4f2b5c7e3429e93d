//! The joint root: an open void there, and how far fusion falls short of it.

use super::blob::Blob;
use super::geometry::{Side, WeldShape};
use super::line::{Place, Unfused};
use super::patch::Patch;
use crate::base::geometry::{Joint, Point, length};

/// A void at the root reaches at least this far along both surfaces, mm.
const LEAST_REACH_MM: f64 = 0.3;
/// It begins within this of the joint root, mm.
const BEGINS_MM: f64 = 0.35;
/// Seam along the surfaces that the gap's own blurred end may fill, mm.
const SEAM_MM: f64 = 0.1;
/// Least area of a void clear of both seams, mm².
const LEAST_AREA_MM2: f64 = 0.03;
/// A place lies on a surface within this distance, mm.
const ON_SURFACE_MM: f64 = 0.15;

/// Merit from which on a line or a void at the root is an unfused one.
pub const SURE: f64 = 1.0;

/// An open void in the corner.
#[derive(Clone, Debug)]
pub struct Void {
    /// Ends of the unfused surfaces: on the nonbutting, on the butting member.
    pub tips: (Point<Joint>, Point<Joint>),
    /// How far it reaches along the nonbutting and the butting surface, mm.
    pub reach_mm: (f64, f64),
    /// Place of the weld metal nearest to the joint root.
    pub weld_root: Point<Joint>,
}

/// The void at the joint root that a dark spot shows. `None` when the spot is
/// none: a gap that ends at the weld root does not reach in front of it.
pub fn void(patch: &Patch, shape: &WeldShape, blob: &Blob) -> Option<Void> {
    let w = patch.width();
    let origin = Point::<Joint>::new(0.0, 0.0);
    let (mut reach_n, mut reach_b, mut clear, mut nearest) = (0.0f64, 0.0f64, 0.0, f64::MAX);
    let cell = patch.step_mm * patch.step_mm;
    for &i in &blob.cells {
        let p = patch.place((i % w) as f64, (i / w) as f64);
        let (along_n, over_n) = shape.beside(Side::Nonbutting, p);
        let (along_b, over_b) = shape.beside(Side::Butting, p);
        if over_n < -ON_SURFACE_MM || over_b < -ON_SURFACE_MM {
            continue;
        }
        nearest = nearest.min(p.distance(origin));
        if over_n.abs() <= ON_SURFACE_MM {
            reach_n = reach_n.max(along_n);
        }
        if over_b.abs() <= ON_SURFACE_MM {
            reach_b = reach_b.max(along_b);
        }
        if over_n > SEAM_MM && over_b > SEAM_MM {
            clear += cell;
        }
    }
    if nearest > BEGINS_MM || reach_n.min(reach_b) < LEAST_REACH_MM || clear < LEAST_AREA_MM2 {
        return None;
    }
    // Between the surfaces, the way out of the void that is shortest.
    let inside: std::collections::HashSet<usize> = blob.cells.iter().copied().collect();
    let is_void = |p: Point<Joint>| {
        let (c, r) = patch.cell(p);
        inside.contains(&(r.round().max(0.0) as usize * w + c.round().max(0.0) as usize))
    };
    let psi = shape.riser.angle();
    let weld_root = (3..=17)
        .filter_map(|k| {
            let u = crate::base::geometry::Vector::<Joint>::from_angle(psi * f64::from(k) / 20.0);
            let steps = (reach_n.max(reach_b) / patch.step_mm) as usize;
            let exit = (0..=steps)
                .rev()
                .find(|&s| is_void(origin + u * (s as f64 * patch.step_mm)))?;
            Some(origin + u * ((exit as f64 + 0.5) * patch.step_mm))
        })
        .min_by(|a, b| a.distance(origin).total_cmp(&b.distance(origin)))?;
    Some(Void {
        tips: (Point::new(reach_n, 0.0), origin + shape.riser * reach_b),
        reach_mm: (reach_n, reach_b),
        weld_root,
    })
}

/// How far fusion falls short of the joint root.
#[derive(Clone, Copy, Debug)]
pub struct Shortfall {
    /// From the joint root along the surface, mm.
    pub reach_mm: f64,
    /// Where the unfused surface ends.
    pub tip: Point<Joint>,
    /// Where the weld metal begins.
    pub weld_root: Point<Joint>,
}

/// The longest line at the joint root that may or may not be an unfused root, mm.
pub fn doubtful_mm(lines: &[Unfused]) -> Option<f64> {
    lines
        .iter()
        .filter(|line| matches!(line.place, Place::Root(_)) && line.merit < SURE)
        .map(|line| length(&line.points))
        .max_by(f64::total_cmp)
}

/// The farthest shortfall of all that was found at the root.
pub fn shortfall(shape: &WeldShape, void: Option<&Void>, lines: &[Unfused]) -> Option<Shortfall> {
    let from_void = void.map(|v| {
        let (reach_mm, tip) = if v.reach_mm.0 >= v.reach_mm.1 {
            (v.reach_mm.0, v.tips.0)
        } else {
            (v.reach_mm.1, v.tips.1)
        };
        Shortfall {
            reach_mm,
            tip,
            weld_root: v.weld_root,
        }
    });
    if from_void.is_some() {
        return from_void;
    }
    lines
        .iter()
        .filter_map(|line| {
            let Place::Root(side) = line.place else {
                return None;
            };
            // What is unsure gives no number.
            if line.merit < SURE {
                return None;
            }
            let tip = *line.points.last()?;
            Some(Shortfall {
                reach_mm: shape.beside(side, tip).0,
                tip,
                weld_root: tip,
            })
        })
        .max_by(|a, b| a.reach_mm.total_cmp(&b.reach_mm))
}
