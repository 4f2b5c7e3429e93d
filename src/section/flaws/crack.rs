//! Cracks that begin at a toe and run into the plate.
//!
//! At a toe the weld pulls hardest and the plate is hardened; a crack there is a thin
//! dark line that leaves the surface at the toe and ends in the metal. What else is
//! dark and thin there begins elsewhere (a scratch goes on, a grain is one of many) or
//! follows the weld's own border (its etched fusion boundary).
//!
//! Guaranteed: every crack stated begins within [`ASKED`]'s distance of a toe and is as black
//! as a gap of its width can be. Not guaranteed: that none is left; cracks that begin
//! anywhere else are not searched for.

use super::at_toe::{self, Asked};
use super::chain::centre_lines;
use super::geometry::{Side, WeldShape};
use super::line::Conditions;
use super::patch::Patch;
use super::profile::depths_along;
use super::ridge;
use crate::base::geometry::{Joint, Point, Vector, contains, nearest};
use crate::base::numeric::quantile_of;
use crate::photo::Photo;
use crate::scale::PlaneMap;

/// Sampled to both sides of a toe, below and above the surface, mm.
const ASIDE_MM: f64 = 4.0;
const DEEP_MM: f64 = 7.0;
const ABOVE_MM: f64 = 1.2;
/// Kept clear of the surface, mm: its edge is a line of its own.
const CLEAR_MM: f64 = 0.15;
/// Least sine of the angle between a crack and the surface it leaves.
const STEEP: f64 = 0.4;
/// A line of which less than this share is farther than this from the weld's border, mm,
/// may be the etched border itself, and must be so much blacker than else is asked for.
const OFF_BORDER: f64 = 0.6;
const OFF_BORDER_MM: f64 = 0.2;
const ON_BORDER_MERIT: f64 = 1.2;
/// A scratch is followed this far beyond the toe, mm, the way it runs over so much before,
/// give or take some degrees, as far as it lies this much under the weld's face, mm.
const BEFORE_MM: f64 = 1.8;
const AHEAD_MM: f64 = 1.5;
const COURSE_RAD: f64 = 0.03;
const UNDER_FACE_MM: f64 = 0.25;
/// Fewest places under the face for that.
const FEWEST_BEFORE: usize = 5;
/// Depth of a crest, and of one at which a line may begin.
const CREST: (f32, f32) = (0.06, 0.12);
/// A crack is thinner than a lens draws, so that its depth against that of a black line
/// says most: sound metal of 31 rendered sections and 24 of another painter's reached 0.27
/// there, cracks 0.83 and more.
const ASKED: Asked = Asked {
    from_toe_mm: 0.6,
    length_mm: 0.8,
    depth: 0.15,
    over_texture: 8.0,
    fill: 0.65,
};

/// A crack at a toe.
#[derive(Clone, Debug)]
pub struct Crack {
    /// Centre line from the toe inwards.
    pub points: Vec<Point<Joint>>,
    /// Width at half depth less the picture's blur, mm.
    pub width_mm: f64,
    /// How far its evidence lies over what is asked for; 1 = just enough.
    pub merit: f64,
}

/// The cracks at both toes; a sharp edge is drawn `edge_mm` wide.
pub fn find(photo: &Photo, map: &PlaneMap, shape: &WeldShape, edge_mm: f64) -> Vec<Crack> {
    at_toe::toes(shape)
        .filter_map(|(side, toe)| at(photo, map, shape, side, toe, edge_mm))
        .collect()
}

/// Whether a line goes on beyond the toe inside the weld: a scratch. A crack has left the
/// metal there.
fn begins_before_toe(
    patch: &Patch,
    shape: &WeldShape,
    line: &[Point<Joint>],
    width_mm: f64,
    depth: f64,
) -> bool {
    let ahead = line[line.len().min((AHEAD_MM / patch.step_mm) as usize + 1) - 1];
    let back = (line[0] - ahead).angle();
    let in_weld = |p: &Point<Joint>| {
        contains(&shape.metal, *p)
            && nearest(&shape.face, *p).is_some_and(|n| n.distance > UNDER_FACE_MM)
    };
    // Its course over the stretch before is known to some degrees.
    (-3..=3).any(|turn| {
        let way = Vector::from_angle(back + COURSE_RAD * f64::from(turn));
        let before: Vec<Point<Joint>> = (0..=20)
            .map(|k| line[0] + way * (BEFORE_MM * f64::from(k) / 20.0))
            .filter(in_weld)
            .collect();
        before.len() >= FEWEST_BEFORE
            && quantile_of(&mut depths_along(patch, &before, width_mm), 0.5) >= 0.5 * depth
    })
}

/// The crack at one toe, the clearest if there are several.
fn at(
    photo: &Photo,
    map: &PlaneMap,
    shape: &WeldShape,
    side: Side,
    toe: Point<Joint>,
    edge_mm: f64,
) -> Option<Crack> {
    let toe_along = shape.beside(side, toe).0;
    let in_plate = |p: Point<Joint>| {
        let (along, over) = shape.beside(side, p);
        let other = match side {
            Side::Nonbutting => true,
            // The butting plate ends where the other one begins.
            Side::Butting => shape.beside(Side::Nonbutting, p).1 > CLEAR_MM,
        };
        (along - toe_along).abs() <= ASIDE_MM && (-DEEP_MM..-CLEAR_MM).contains(&over) && other
    };
    let corner = |along: f64, over: f64| shape.at(side, toe_along + along, over);
    // Above the surface, too: a scratch goes on there.
    let corners = [
        corner(-ASIDE_MM, ABOVE_MM),
        corner(ASIDE_MM, ABOVE_MM),
        corner(-ASIDE_MM, -DEEP_MM),
        corner(ASIDE_MM, -DEEP_MM),
    ];
    let patch = Patch::of_metal(photo, map, shape, &corners, in_plate)?;
    let ridges = ridge::find(&patch);
    let mut depths: Vec<f64> = ridges
        .depth
        .samples()
        .iter()
        .zip(&patch.open)
        .filter(|(_, open)| **open)
        .map(|(d, _)| f64::from(*d))
        .collect();
    let seen = Conditions {
        texture: quantile_of(&mut depths, 0.5),
        edge_mm,
    };
    centre_lines(&patch, &ridges, CREST.0, CREST.1, ASKED.length_mm)
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
) -> Option<Crack> {
    let line = at_toe::judge(patch, seen, toe, line, &ASKED)?;
    let end = *line.points.last()?;
    let into = shape.beside(side, end).1;
    let steep = -into / end.distance(toe).max(f64::MIN_POSITIVE);
    let off =
        |p: &&Point<Joint>| nearest(&shape.metal, **p).is_none_or(|n| n.distance > OFF_BORDER_MM);
    let off_share = line.points.iter().filter(off).count() as f64 / line.points.len() as f64;
    let least = if off_share < OFF_BORDER {
        ON_BORDER_MERIT
    } else {
        1.0
    };
    let scratch = || begins_before_toe(patch, shape, &line.points, line.pictured_mm, line.depth);
    if steep < STEEP || line.merit < least || scratch() {
        return None;
    }
    // It begins at the toe, under the surface's own edge.
    let mut points = vec![toe];
    points.extend(line.points);
    Some(Crack {
        points,
        width_mm: line.width_mm,
        merit: line.merit,
    })
}
