//! Thin dark lines that begin at a toe: a crack into the plate, the gap under an overlap.

use super::geometry::{Side, WeldShape};
use super::line::{Conditions, MOST_WIDTH_MM, drawn_depth};
use super::patch::Patch;
use super::profile::{across, depths_along};
use crate::base::geometry::{Joint, Point, length, resample};
use crate::base::numeric::quantile_of;

/// The members' toes, with the side they lie on.
pub fn toes(shape: &WeldShape) -> impl Iterator<Item = (Side, Point<Joint>)> {
    [
        (Side::Butting, shape.face.first()),
        (Side::Nonbutting, shape.face.last()),
    ]
    .into_iter()
    .filter_map(|(side, toe)| Some((side, *toe?)))
}

/// What is asked of such a line.
pub struct Asked {
    /// It begins within this of the toe, mm.
    pub from_toe_mm: f64,
    /// Its length at least, mm.
    pub length_mm: f64,
    /// Share of light missing over four fifths of it.
    pub depth: f64,
    /// The same against the texture's own lines.
    pub over_texture: f64,
    /// Its depth against that of a black line which takes as much light.
    pub fill: f64,
}

/// A line that begins at a toe.
pub struct Line {
    /// Centre line from the toe on, evenly spaced.
    pub points: Vec<Point<Joint>>,
    /// Width at half depth as pictured, mm.
    pub pictured_mm: f64,
    /// The same less the picture's blur, mm.
    pub width_mm: f64,
    /// Share of light missing over four fifths of it.
    pub depth: f64,
    /// How far its evidence lies over what is asked for; 1 = just enough.
    pub merit: f64,
}

/// Judges a centre line. `None` where it begins elsewhere, is short, or too wide for a line.
pub fn judge(
    patch: &Patch,
    seen: &Conditions,
    toe: Point<Joint>,
    mut line: Vec<Point<Joint>>,
    asked: &Asked,
) -> Option<Line> {
    if line.last()?.distance(toe) < line[0].distance(toe) {
        line.reverse();
    }
    let points = resample(&line, patch.step_mm);
    if points[0].distance(toe) > asked.from_toe_mm || length(&points) < asked.length_mm {
        return None;
    }
    let profile = across(patch, &points)?;
    if profile.width_mm > MOST_WIDTH_MM.hypot(seen.edge_mm) {
        return None;
    }
    let depth = quantile_of(&mut depths_along(patch, &points, profile.width_mm), 0.2);
    let fill = profile.depth / drawn_depth(profile.black_mm, seen.edge_mm);
    Some(Line {
        points,
        pictured_mm: profile.width_mm,
        width_mm: (profile.width_mm.powi(2) - seen.edge_mm.powi(2))
            .max(profile.black_mm.powi(2))
            .sqrt(),
        depth,
        merit: (depth / asked.depth)
            .min(depth / (asked.over_texture * seen.texture.max(1e-3)))
            .min(fill / asked.fill),
    })
}
