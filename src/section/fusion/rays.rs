//! The rays along which the boundary is looked for: from a point of the deposit through
//! the two original surfaces into the members.

use crate::base::geometry::{Joint, Mm, Point, Vector, centroid};
use crate::photo::Photo;
use crate::scale::PlaneMap;
use crate::section::members::JointFrame;
use crate::section::strip::Strip;
use crate::section::toes::Toes;

/// Width of a column at the original surface, mm.
pub const COLUMN_MM: f64 = 0.12;
/// Looked at before the rays' starts, mm: an edge shows from both its sides.
const BEFORE_MM: f64 = 0.3;
/// Weld metal for certain reaches this far before them, mm.
const INSIDE_MM: f64 = 1.4;
/// Rays start on a curve that rounds the corner of the two surfaces over this much of
/// either, mm. Along the surfaces themselves a boundary that runs evenly round the root
/// would have to bend away from the corner, and came out 0.12 mm too deep.
const ROUNDED_MM: f64 = 3.0;
/// Neighbouring rays stay within a column's width down to this depth, mm.
const FANNED_MM: f64 = 1.5;
/// Entry points this near to the root have rays between them.
const FANNED_ENTRIES: usize = 12;

/// One ray a column, from the nonbutting toe round the root to the butting toe.
pub struct Rays {
    /// Where the rays meet.
    centre: Point<Joint>,
    /// Where each is counted from.
    starts: Vec<Point<Joint>>,
    /// From there to the original surface, mm.
    pub to_surface_mm: Vec<f64>,
}

impl Rays {
    /// The rays under a face. `None` where it has no middle.
    pub fn new(frame: &JointFrame, toes: &Toes) -> Option<Self> {
        let root = Point::<Joint>::new(0.0, 0.0);
        let riser = frame.butting_direction();
        let centre = centroid(&[root, toes.nonbutting, toes.butting])?;
        let (leg_n, leg_b) = (toes.nonbutting.x, toes.butting.distance(root));
        let count = |leg: f64| (leg / COLUMN_MM).ceil() as usize;
        let (n, b) = (count(leg_n), count(leg_b));
        let mut entries: Vec<Point<Joint>> = (0..n)
            .map(|i| Point::new(leg_n * (1.0 - i as f64 / n as f64), 0.0))
            .collect();
        entries.extend((0..=b).map(|i| root + riser * (leg_b * i as f64 / b as f64)));
        let entries = fan(entries, n, centre);
        let to_surface_mm = rounding(&entries, centre, riser, leg_n.min(leg_b));
        let starts = entries
            .iter()
            .zip(&to_surface_mm)
            .map(|(p, mm)| *p - (*p - centre).unit() * *mm)
            .collect();
        Some(Self {
            centre,
            starts,
            to_surface_mm,
        })
    }

    /// Rays.
    pub fn count(&self) -> usize {
        self.starts.len()
    }

    /// The photograph along the rays, down to `depth_mm` under the surfaces.
    pub fn strip(
        &self,
        photo: &Photo,
        map: &PlaneMap,
        frame: &JointFrame,
        depth_mm: f64,
        step_mm: f64,
    ) -> Strip {
        let most = self.to_surface_mm.iter().copied().fold(0.0, f64::max);
        self.between(photo, map, frame, (-BEFORE_MM, depth_mm + most), step_mm)
    }

    /// The photograph along the rays before what [`strip`](Self::strip) shows: weld metal.
    pub fn inside(&self, photo: &Photo, map: &PlaneMap, frame: &JointFrame, step_mm: f64) -> Strip {
        self.between(photo, map, frame, (-INSIDE_MM, -BEFORE_MM), step_mm)
    }

    fn between(
        &self,
        photo: &Photo,
        map: &PlaneMap,
        frame: &JointFrame,
        (low, high): (f64, f64),
        step_mm: f64,
    ) -> Strip {
        let spine: Vec<Point<Mm>> = self.starts.iter().map(|p| frame.to_plane(*p)).collect();
        let across = self
            .starts
            .iter()
            .zip(&spine)
            .map(|(p, s)| frame.to_plane(*p + (*p - self.centre).unit()) - *s)
            .collect();
        Strip::new(photo, map, spine, across, low, high, step_mm)
    }
}

/// How far before its entry point each ray starts, mm.
fn rounding(
    entries: &[Point<Joint>],
    centre: Point<Joint>,
    riser: Vector<Joint>,
    leg: f64,
) -> Vec<f64> {
    let root = Point::<Joint>::new(0.0, 0.0);
    let ray = (root - centre).unit();
    let reach = ROUNDED_MM.min(0.5 * leg);
    // As much at the root as leaves no kink between the two halves.
    let slope = 0.5 * (-ray.dot(Vector::new(1.0, 0.0)) - ray.dot(riser)).max(0.0);
    let most = 0.5 * reach * slope;
    entries
        .iter()
        .map(|p| most * (1.0 - p.distance(root) / reach).max(0.0).powi(2))
        .collect()
}

/// Adds entry points near the root, where the rays fan out fast, so that neighbours stay
/// within a column's width at some depth.
fn fan(entries: Vec<Point<Joint>>, at_root: usize, centre: Point<Joint>) -> Vec<Point<Joint>> {
    let mut out = Vec::new();
    for (i, p) in entries.iter().enumerate() {
        out.push(*p);
        let Some(next) = entries.get(i + 1) else {
            break;
        };
        if i.abs_diff(at_root) > FANNED_ENTRIES {
            continue;
        }
        let spread = ((*p - centre).unit() - (*next - centre).unit()).length()
            * (centre.distance(*p) + FANNED_MM);
        let extra = (spread / COLUMN_MM).round() as usize;
        for k in 1..extra {
            out.push(p.lerp(*next, k as f64 / extra as f64));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A boundary that runs round the root as a circle about the rays' meeting point lies
    /// at one distance from the starts nearly everywhere round it.
    #[test]
    fn the_starts_have_no_corner_at_the_root() {
        let root = Point::<Joint>::new(0.0, 0.0);
        let riser = Vector::<Joint>::new(0.0, 1.0);
        let centre = Point::new(3.0, 3.0);
        let entries: Vec<Point<Joint>> = (-20..=20)
            .map(|i| {
                let a = 0.1 * f64::from(i);
                if a < 0.0 {
                    Point::new(-a, 0.0)
                } else {
                    root + riser * a
                }
            })
            .collect();
        let before = rounding(&entries, centre, riser, 9.0);
        let reach: Vec<f64> = entries
            .iter()
            .zip(&before)
            .map(|(p, mm)| p.distance(centre) - mm)
            .collect();
        // Without rounding the distance falls by 0.07 a step on both sides of the root.
        let kink = |d: &[f64]| (d[19] + d[21] - 2.0 * d[20]).abs();
        let sharp: Vec<f64> = entries.iter().map(|p| p.distance(centre)).collect();
        assert!(kink(&sharp) > 0.12, "{}", kink(&sharp));
        assert!(kink(&reach) < 0.02, "{}", kink(&reach));
        assert_eq!(before[0], before[40]);
    }
}
