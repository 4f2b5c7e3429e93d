//! Laps whose weld covers the end face of the upper plate, or nearly: no edge of it is
//! left that a reading could find, but its other surface ends at the corner above it.
//!
//! ```text
//!        upper plate   ┌──── other surface ends: corner
//!     ─────────────────┐╲
//!                      │  ╲ weld
//!     ─────────────────┴────╲───────── nonbutting surface
//!                    joint root
//! ```
//!
//! The outline is followed round the corner. What is left of the end face below the
//! corner, else the end of the weld's face, says where the end face stands: a corner
//! that melted away took that knowledge with it.

use super::bare::bare_runs;
use super::evidence::{Evidence, Profile, Run};
use super::members::JointFrame;
use super::outline::Outline;
use super::surface::Surface;
use crate::base::geometry::{Joint, Line, Mm, Point, Vector};
use crate::base::numeric::median;
use crate::record::{Coupon, JointType, Measurement};
use std::collections::BTreeMap;

/// The upper plate's other surface.
#[derive(Clone, Copy, Debug)]
pub struct Upper {
    /// Its height over the nonbutting surface, mm.
    pub height: f64,
    /// What of it is bare, from the corner on.
    pub bare: Run,
}

/// A place where the nonbutting surface and a parallel over it that ends may be a lap.
pub struct Place {
    /// Where the joint lies.
    pub frame: JointFrame,
    /// Bare nonbutting surface beyond the weld.
    pub nonbutting: Run,
    /// The upper plate.
    pub upper: Upper,
}

/// Sine of the angle between the two surfaces at most.
const PARALLEL: f64 = 0.035;
/// How far a declared thickness and the height may differ: share, mm, and mm of gap
/// between the plates.
const THICKNESS: (f64, f64, f64) = (0.07, 0.2, 2.0);
/// Heights tried when no thickness was declared, mm.
const HEIGHTS_MM: (f64, f64) = (2.0, 25.0);
/// Bare surface of the upper plate at least, mm.
const LEAST_BARE_MM: f64 = 4.0;

/// All such places, only where a lap was declared.
pub fn places(
    evidence: &Evidence,
    lines: &[Line<Mm>],
    profiles: &[Profile],
    declared: &Coupon,
) -> Vec<Place> {
    if declared.joint != Some(JointType::Lap) {
        return Vec::new();
    }
    let allowed = match declared.thickness_butting_mm {
        Some(t) => {
            let by = THICKNESS.0 * t + THICKNESS.1;
            (t - by)..=(t + by + THICKNESS.2)
        }
        None => HEIGHTS_MM.0..=HEIGHTS_MM.1,
    };
    let mut found = Vec::new();
    for (j, upper) in lines.iter().enumerate() {
        let Some((from, to, gain)) = profiles[j].longest() else {
            continue;
        };
        if to - from < LEAST_BARE_MM {
            continue;
        }
        for (i, lower) in lines.iter().enumerate() {
            let askew = lower.direction.cross(upper.direction).abs();
            let height = lower.signed_distance(upper.at(0.5 * (from + to))).abs();
            if i == j || askew > PARALLEL || !allowed.contains(&height) {
                continue;
            }
            for (corner, other) in [
                (upper.at(from), upper.at(to)),
                (upper.at(to), upper.at(from)),
            ] {
                let root = lower.at(lower.along(corner));
                if !evidence.view.covers(evidence.map.to_px(root)) {
                    continue;
                }
                // Away from the upper plate.
                let sign = if lower.direction.dot(corner - other) > 0.0 {
                    1.0
                } else {
                    -1.0
                };
                let frame = JointFrame {
                    root,
                    along_nonbutting: lower.direction * sign,
                    along_butting: (corner - root).unit(),
                };
                let bare = Run {
                    begin: 0.0,
                    end: to - from,
                    gain,
                };
                let [forwards, backwards] = bare_runs(&profiles[i], lower.along(root));
                let side = if sign > 0.0 { forwards } else { backwards };
                let (along, out) = (frame.along_nonbutting, frame.out_of_nonbutting());
                found.extend(
                    side.each(evidence, root, along, out)
                        .into_iter()
                        .map(|nonbutting| Place {
                            frame,
                            nonbutting,
                            upper: Upper { height, bare },
                        }),
                );
            }
        }
    }
    found
}

/// The corner is read from the outline this far below the upper surface, mm …
const BELOW_MM: (f64, f64) = (0.08, 0.4);
/// … and the upper surface from this far behind that on, mm. How high it lies is first
/// taken from the outline's last stretch, mm.
const BEHIND_MM: f64 = 1.2;
const TAIL_MM: f64 = 2.0;
/// Fewest places of the upper surface.
const FEWEST: usize = 10;
/// A stretch of end face longer than this would have been found as an edge of its own,
/// mm: this is another kind of joint.
const MOST_END_FACE_MM: f64 = 1.5;
/// An end face runs within this of the square to the nonbutting surface, radians, from a
/// corner that is broken by so much, mm.
const SQUARE: f64 = 0.1;
const BROKEN_MM: f64 = 0.15;

/// An outline up to the corner.
pub struct Cornered {
    /// From the nonbutting surface to the corner.
    pub outline: Outline,
    /// The corner, in the frame the outline has.
    pub corner: Point<Joint>,
}

/// Cuts an outline that goes on along the upper surface at the corner. `None` when it has
/// none, or when so much of the end face is bare that the weld does not reach it.
pub fn cut(outline: Outline) -> Option<Cornered> {
    let points = &outline.points;
    let end = *points.last()?;
    let tail = points
        .iter()
        .rev()
        .take_while(|p| p.distance(end) <= TAIL_MM);
    let level = median(&tail.map(|p| p.y).collect::<Vec<_>>());
    let left = points.iter().rposition(|p| p.y <= level - BELOW_MM.1)?;
    let behind: Vec<Point<Joint>> = points[left..]
        .iter()
        .filter(|p| p.distance(points[left]) > BEHIND_MM)
        .copied()
        .collect();
    let top = Line::fit(&behind, &vec![1.0; behind.len()]).filter(|_| behind.len() >= FEWEST)?;
    let below = |p: &Point<Joint>| {
        let d = top.signed_distance(*p);
        if top.direction.x > 0.0 { -d } else { d }
    };
    // From the upper surface backwards to where the outline has left it for good.
    let last = points.iter().rposition(|p| below(p) >= BELOW_MM.1)?;
    let side: Vec<Point<Joint>> = points[last..]
        .iter()
        .take_while(|p| below(p) >= BELOW_MM.0)
        .copied()
        .collect();
    let keep = last + side.len();
    let side = Line::fit(&side, &vec![1.0; side.len()]).filter(|_| side.len() >= 3)?;
    let corner = side.crossing(&top)?;
    let bare = points[..=last]
        .iter()
        .rev()
        .take_while(|p| (p.x - corner.x).abs() <= BROKEN_MM + SQUARE * (corner.y - p.y))
        .last()
        .map_or(0.0, |p| corner.y - p.y);
    (bare <= MOST_END_FACE_MM && corner.distance(points[last]) < 1.0).then(|| {
        let mut outline = outline;
        outline.points.truncate(keep);
        outline.clarity.truncate(keep);
        outline.points.push(corner);
        let clear = outline.clarity.last().copied().unwrap_or(0.0);
        outline.clarity.push(clear);
        Cornered { outline, corner }
    })
}

/// Standard uncertainty of where the end face stands along the nonbutting surface, mm: a
/// plate's corner is broken or melted by some tenths (a judgement).
const END_FACE_MM: f64 = 0.1;
/// The same of its direction, radians: a sawn or sheared end is square to a degree.
const END_FACE_RAD: f64 = 0.015;

/// The end face as the frame has it, as sure as the upper surface `top` is seen.
pub fn end_face(frame: &JointFrame, top: &Surface, upper: &Upper) -> Surface {
    Surface {
        line: Line::new(frame.root, frame.along_butting),
        middle: frame.root + frame.along_butting * (0.5 * upper.height),
        scatter_mm: END_FACE_MM,
        placed_mm: END_FACE_MM,
        turn: END_FACE_RAD,
        ..*top
    }
}

/// What the record says beside the numbers.
pub const COVERED: &str = "the weld covers the end face of the upper plate; where that stood is taken \
    from the plate's corner, and if the corner melted both legs are too small by as much";

/// Takes back what a bare end face beyond the toe would show.
pub fn withhold(measurements: &mut BTreeMap<String, Measurement>) {
    for name in ["toe_angle_butting_deg", "undercut_butting_mm"] {
        measurements.insert(
            name.to_owned(),
            Measurement::not_assessed("the weld covers the end face of the upper plate"),
        );
    }
}

/// The way along the upper surface, away from the weld, in the plane.
pub fn away(frame: &JointFrame) -> Vector<Mm> {
    -frame.along_nonbutting
}
