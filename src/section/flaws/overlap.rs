//! Overlap: weld metal that lies on a plate beyond where it fused (ISO 6520-1 no. 506).
//!
//! Under it the plate's own surface is still there, as a thin dark line that begins at
//! the toe and runs inwards on it. Where no such line shows, metal may lie on the plate so
//! tightly that no gap is left: that there is no overlap is only said where the fusion
//! boundary lies clearly under the surface close to the toe.

use super::at_toe::{self, Asked};
use super::chain::centre_lines;
use super::finding::Book;
use super::geometry::{Side, WeldShape};
use super::line::{Conditions, Place, Unfused};
use super::patch::Patch;
use super::ridge;
use crate::base::geometry::{Joint, Point, nearest};
use crate::base::numeric::{quantile, quantile_of};
use crate::photo::Photo;
use crate::record::Measurement;
use crate::scale::PlaneMap;
use std::collections::BTreeMap;

/// Looked at from the toe inwards along the surface, and to both sides of it, mm.
const INWARDS_MM: f64 = 6.0;
const BESIDE_MM: f64 = 1.0;
/// Looked at beyond the toe, mm.
const BEYOND_MM: f64 = 0.6;
/// The surface is known to so much, mm.
const ON_SURFACE_MM: f64 = 0.2;
/// Kept clear of the face, mm.
const CLEAR_MM: f64 = 0.06;
/// Shortest such line, mm.
pub const LEAST_LENGTH_MM: f64 = 0.25;
/// Depth of a crest, and of one at which a line may begin.
const CREST: (f32, f32) = (0.06, 0.12);
/// Gaps of painted sections are 0.91 and more as deep as a black line, an etched boundary
/// close to the surface 0.83.
const ASKED: Asked = Asked {
    from_toe_mm: 0.45,
    length_mm: LEAST_LENGTH_MM,
    depth: 0.06,
    over_texture: 6.0,
    fill: 0.87,
};
/// So far inside the toe, mm, the fusion boundary lies at least so deep, mm, where the toe
/// is fused.
const INSIDE_TOE_MM: (f64, f64) = (0.3, 0.6);
const FUSED_DEPTH_MM: f64 = 0.15;
/// Standard uncertainty of there being none then, mm: what is shorter than the stretch
/// looked at could still be there.
const NONE_MM: f64 = 0.1;
/// The nose of the bead is looked for so far above the surface, mm.
const NOSE_MM: f64 = 2.0;

/// Weld metal that lies unfused on a surface.
#[derive(Clone, Debug)]
pub struct Overlap {
    /// The surface it lies on.
    pub side: Side,
    /// From the toe to where fusion begins.
    pub points: Vec<Point<Joint>>,
    /// From where fusion begins to the farthest weld metal, along the surface, mm.
    pub reach_mm: f64,
    /// Width of the gap less the picture's blur, mm.
    pub width_mm: f64,
    /// How far its evidence lies over what is asked for; 1 = just enough.
    pub merit: f64,
}

impl Overlap {
    /// Whether a line found by itself is the one under this overlap.
    pub fn holds(&self, shape: &WeldShape, line: &Unfused) -> bool {
        let Place::SideWall(side) = line.place else {
            return false;
        };
        let along = |p: &Point<Joint>| shape.beside(side, *p).0;
        let from = self.points.last().map_or(f64::INFINITY, along);
        let within = line.points.iter().filter(|p| along(p) >= from).count();
        side == self.side && 2 * within >= line.points.len()
    }
}

/// States the overlap on both members, or why it is not known.
pub fn state(
    book: &Book<'_>,
    overlaps: &[Overlap],
    measurements: &mut BTreeMap<String, Measurement>,
) {
    for (side, member) in [(Side::Butting, "butting"), (Side::Nonbutting, "nonbutting")] {
        let share = |mm: f64| mm * book.scale.standard_uncertainty_rel;
        let stated = match overlaps.iter().find(|o| o.side == side) {
            Some(overlap) => Measurement::measured(
                overlap.reach_mm,
                (std::f64::consts::SQRT_2 * book.end_mm).hypot(share(overlap.reach_mm)),
                book.draw(&overlap.points),
            ),
            None if is_fused(book.shape, side) => Measurement::measured(0.0, NONE_MM, Vec::new()),
            None => Measurement::not_assessed(
                "no gap shows under the weld at this toe, but the fusion boundary does not lie clearly under the surface there: look with a glass whether metal lies on the plate unfused",
            ),
        };
        measurements.insert(format!("overlap_{member}_mm"), stated);
    }
}

/// Whether weld metal reaches into the plate close to its toe.
fn is_fused(shape: &WeldShape, side: Side) -> bool {
    let Some((_, toe)) = at_toe::toes(shape).find(|(at, _)| *at == side) else {
        return false;
    };
    let toe = shape.beside(side, toe).0;
    let depths: Vec<f64> = shape
        .metal
        .iter()
        .map(|p| shape.beside(side, *p))
        .filter(|(along, over)| {
            *over <= 0.0 && (INSIDE_TOE_MM.0..INSIDE_TOE_MM.1).contains(&(toe - along))
        })
        .map(|(_, over)| -over)
        .collect();
    !depths.is_empty() && quantile(&depths, 0.5) >= FUSED_DEPTH_MM
}

/// The overlap at both toes; a sharp edge is drawn `edge_mm` wide.
pub fn find(photo: &Photo, map: &PlaneMap, shape: &WeldShape, edge_mm: f64) -> Vec<Overlap> {
    at_toe::toes(shape)
        .filter_map(|(side, toe)| at(photo, map, shape, side, toe, edge_mm))
        .collect()
}

fn at(
    photo: &Photo,
    map: &PlaneMap,
    shape: &WeldShape,
    side: Side,
    toe: Point<Joint>,
    edge_mm: f64,
) -> Option<Overlap> {
    let toe_along = shape.beside(side, toe).0;
    let inwards = INWARDS_MM.min(toe_along);
    let under_toe = |p: Point<Joint>| {
        let (along, over) = shape.beside(side, p);
        let clear = || nearest(&shape.face, p).is_none_or(|n| n.distance > CLEAR_MM);
        over.abs() <= ON_SURFACE_MM
            && (toe_along - inwards..toe_along).contains(&along)
            && (over < 0.0 || clear())
    };
    let corner = |along: f64, over: f64| shape.at(side, toe_along + along, over);
    let corners = [
        corner(-inwards, BESIDE_MM),
        corner(BEYOND_MM, BESIDE_MM),
        corner(-inwards, -BESIDE_MM),
        corner(BEYOND_MM, -BESIDE_MM),
    ];
    let patch = Patch::of_metal(photo, map, shape, &corners, under_toe)?;
    let ridges = ridge::find(&patch);
    // The texture of the metal on both sides of the surface, not of the surface itself.
    let mut depths: Vec<f64> = (0..ridges.depth.samples().len())
        .filter(|i| {
            let w = patch.width();
            let p = patch.place((i % w) as f64, (i / w) as f64);
            let (along, over) = shape.beside(side, p);
            over.abs() > 2.0 * ON_SURFACE_MM
                && along < toe_along
                && nearest(&shape.face, p).is_none_or(|n| n.distance > ON_SURFACE_MM)
        })
        .map(|i| f64::from(ridges.depth.samples()[i]))
        .collect();
    let seen = Conditions {
        texture: quantile_of(&mut depths, 0.5),
        edge_mm,
    };
    centre_lines(&patch, &ridges, CREST.0, CREST.1, LEAST_LENGTH_MM)
        .into_iter()
        .filter_map(|line| judge(&patch, shape, &seen, side, toe, line))
        .max_by(|a, b| a.merit.total_cmp(&b.merit))
}

fn judge(
    patch: &Patch,
    shape: &WeldShape,
    seen: &Conditions,
    side: Side,
    toe: Point<Joint>,
    line: Vec<Point<Joint>>,
) -> Option<Overlap> {
    let line = at_toe::judge(patch, seen, toe, line, &ASKED).filter(|line| line.merit >= 1.0)?;
    let along = |p: &Point<Joint>| shape.beside(side, *p).0;
    let fused = along(line.points.last()?);
    let nose = shape
        .face
        .iter()
        .filter(|p| p.distance(toe) <= NOSE_MM)
        .map(along)
        .fold(along(&toe), f64::max);
    let mut points = vec![toe];
    points.extend(line.points);
    Some(Overlap {
        side,
        points,
        reach_mm: nose - fused,
        width_mm: line.width_mm,
        merit: line.merit,
    })
}
