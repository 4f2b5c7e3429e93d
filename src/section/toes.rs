//! The two toes: where the weld face crosses each member's original surface.
//!
//! Definition (the same in `docs/method.md`): walk along the outline from the
//! middle of the face towards a member. The toe is the place where the outline
//! first comes down to the member's original surface line. Its position is
//! read from a straight line through the last half millimetre of the face
//! above the surface, because the crossing itself lies in the noise of two
//! nearly parallel edges when the face meets the plate at a flat angle; where
//! that line ends and the surface begins is found together with it.

use super::outline::Outline;
use crate::base::geometry::{Joint, Line, Point, Vector, nearest};
use crate::base::numeric::{mad, median};

/// The toes and the face between them.
#[derive(Clone, Debug)]
pub struct Toes {
    /// Toe on the nonbutting member.
    pub nonbutting: Point<Joint>,
    /// Toe on the butting member.
    pub butting: Point<Joint>,
    /// The face from the butting toe to the nonbutting toe.
    pub face: Vec<Point<Joint>>,
    /// Outline beyond the nonbutting toe, outwards.
    pub bare_nonbutting: Vec<Point<Joint>>,
    /// Outline beyond the butting toe, outwards.
    pub bare_butting: Vec<Point<Joint>>,
    /// Mean edge evidence along the face, 0 … 1.
    pub clarity: f64,
    /// Share of the colours near the root that are those of the surroundings.
    pub corner_is_air: f64,
}

/// Face length over which a toe angle is taken, mm.
pub const SECANT_MM: f64 = 1.0;
/// Height at which the outline counts as having reached the surface, mm, at
/// least: a few times the noise of a traced edge.
const REACHED_MM: f64 = 0.06;
/// Largest offset of the outline's bare end from the surface line that is
/// taken as the line's own error (it is fitted again afterwards), mm.
const MOST_OFFSET_MM: f64 = 0.8;
/// The outline beyond the roughly known toe counts as bare from here on, mm.
const BARE_FROM_MM: f64 = 0.8;
/// Height up to which the face is used to find the crossing, and how long a
/// stretch of it at most, mm.
const FITTED_MM: f64 = 0.5;
const LONGEST_MM: f64 = 2.0;
/// Fewest points of a straight end of the face.
const FEWEST: usize = 4;
/// The crossing of the straight end lies within this of the outline's own, mm.
const MOST_FROM_RAW_MM: f64 = 1.0;

/// Finds the toes; `dihedral` in radians. `None` when the outline never
/// leaves a surface or never returns to it.
pub fn find(outline: &Outline, dihedral: f64) -> Option<Toes> {
    let root = Point::<Joint>::new(0.0, 0.0);
    let points = &outline.points;
    let middle_direction = Vector::<Joint>::from_angle(0.5 * dihedral);
    // The middle of the face: the outline point nearest to the bisector.
    let middle = (0..points.len())
        .filter(|&i| (points[i] - root).dot(middle_direction) > 0.0)
        .min_by(|&a, &b| {
            let off = |i: usize| (points[i] - root).unit().cross(middle_direction).abs();
            off(a).total_cmp(&off(b))
        })?;
    let surface_n = Line::new(root, Vector::new(1.0, 0.0));
    let surface_b = Line::new(root, Vector::from_angle(dihedral));
    // Heights above a surface: positive on the weld's side.
    let above_n = |p: Point<Joint>| surface_n.signed_distance(p);
    let above_b = |p: Point<Joint>| -surface_b.signed_distance(p);

    let towards_n: Vec<Point<Joint>> = points[..=middle].iter().rev().copied().collect();
    let towards_b: Vec<Point<Joint>> = points[middle..].to_vec();
    let (toe_n, last_n) = crossing(&towards_n, outline.legs.0, &above_n, &surface_n)?;
    let (toe_b, last_b) = crossing(&towards_b, outline.legs.1, &above_b, &surface_b)?;

    let mut face = vec![toe_b];
    face.extend(towards_b[1..=last_b].iter().rev());
    face.extend(&towards_n[..=last_n]);
    face.push(toe_n);
    let clear = &outline.clarity[middle - last_n..=(middle + last_b)];
    Some(Toes {
        nonbutting: toe_n,
        butting: toe_b,
        face,
        corner_is_air: outline.corner_is_air,
        bare_nonbutting: towards_n[last_n + 1..].to_vec(),
        bare_butting: towards_b[last_b + 1..].to_vec(),
        clarity: clear.iter().map(|c| f64::from(*c)).sum::<f64>() / clear.len() as f64,
    })
}

/// The crossing of a half face with a surface, the toe being roughly `leg` mm
/// from the root, and the index of the last face
/// point above it.
fn crossing(
    half: &[Point<Joint>],
    leg: f64,
    above: &dyn Fn(Point<Joint>) -> f64,
    surface: &Line<Joint>,
) -> Option<(Point<Joint>, usize)> {
    // The bare end tells where the surface is for this outline, and how noisy.
    let root = Point::<Joint>::new(0.0, 0.0);
    let bare: Vec<f64> = half
        .iter()
        .filter(|p| p.distance(root) > leg + BARE_FROM_MM)
        .map(|p| above(*p))
        .collect();
    // Little bare surface in the picture: trust the surface line.
    let (offset, noise) = if bare.len() < 5 {
        (0.0, 0.0)
    } else {
        (median(&bare), mad(&bare))
    };
    if offset.abs() > MOST_OFFSET_MM {
        return None;
    }
    let above = |p: Point<Joint>| above(p) - offset;
    let reached = half
        .iter()
        .position(|p| above(*p) <= REACHED_MM.max(3.0 * noise))?;
    if reached < 4 {
        return None;
    }
    let last = reached - 1;
    let raw = surface.at(surface.along(half[last].lerp(half[reached], {
        let (a, b) = (above(half[last]), above(half[reached]));
        (a / (a - b).max(1e-9)).clamp(0.0, 3.0)
    })));
    let toe = bend(&half[..reached], &above)
        .and_then(|face| face.crossing(surface))
        .filter(|p| p.distance(raw) <= MOST_FROM_RAW_MM)
        .unwrap_or(raw);
    // What lies beyond the toe is surface, even where noise lifts it a little.
    let beyond = surface.along(toe);
    let last = half[..reached]
        .iter()
        .rposition(|p| surface.along(*p) < beyond || above(*p) > REACHED_MM.max(3.0 * noise))?;
    Some((toe, last))
}

/// The straight end of a face that comes down to its surface: of all ways to
/// split its last stretch into a straight line and the surface itself, the one
/// that leaves least over. `None` when too little of the face is so low.
fn bend(half: &[Point<Joint>], above: &dyn Fn(Point<Joint>) -> f64) -> Option<Line<Joint>> {
    let end = *half.last()?;
    let low = half
        .iter()
        .rev()
        .take_while(|p| above(**p) <= FITTED_MM && p.distance(end) <= LONGEST_MM)
        .count();
    let stretch = &half[half.len() - low..];
    // On the surface: what is left over above it. Below it an undercut may be.
    let mut beyond = vec![0.0; stretch.len() + 1];
    for (i, p) in stretch.iter().enumerate().rev() {
        beyond[i] = beyond[i + 1] + above(*p).max(0.0).powi(2);
    }
    (FEWEST..=stretch.len())
        .filter_map(|k| {
            let line = Line::fit(&stretch[..k], &vec![1.0; k])?;
            let face: f64 = stretch[..k]
                .iter()
                .map(|p| line.signed_distance(*p).powi(2))
                .sum();
            Some((face + beyond[k], line))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, line)| line)
}

/// Depth of an undercut beside a toe: how far the bare outline dips below the
/// original surface within `reach` mm of the toe, mm; 0 when it does not.
pub fn dip(
    bare: &[Point<Joint>],
    toe: Point<Joint>,
    above: &dyn Fn(Point<Joint>) -> f64,
    reach: f64,
) -> f64 {
    bare.iter()
        .filter(|p| p.distance(toe) <= reach)
        .map(|p| -above(*p))
        .fold(0.0, f64::max)
}

/// Angle from which on a face runs out flat, degrees. Of 70 toes of rendered sections the
/// flattest had 158°; on a real one with 165° the leg was 2.4 mm longer than a person saw it.
pub const FLAT_DEG: f64 = 160.0;

impl Toes {
    /// Angles through the air between face and members, nonbutting and butting, degrees;
    /// `riser` = direction of the butting surface.
    pub fn air_angles(&self, riser: Vector<Joint>) -> [Option<f64>; 2] {
        let from_nonbutting: Vec<Point<Joint>> = self.face.iter().rev().copied().collect();
        [
            air_angle(&from_nonbutting, Vector::new(1.0, 0.0), SECANT_MM),
            air_angle(&self.face, riser, SECANT_MM),
        ]
    }

    /// Whether the face runs out flat at both members: a rounded corner or a bent edge,
    /// no weld.
    pub fn both_flat(&self, riser: Vector<Joint>) -> bool {
        let flat = |angle: Option<f64>| angle.is_some_and(|a| a > FLAT_DEG);
        self.air_angles(riser).into_iter().all(flat)
    }
}

/// Angle through the air between the surface beyond the toe (unit direction
/// `away` from the root) and the face, over the first `secant` mm of face, degrees.
fn air_angle(face_from_toe: &[Point<Joint>], away: Vector<Joint>, secant: f64) -> Option<f64> {
    let toe = *face_from_toe.first()?;
    let mut travelled = 0.0;
    for w in face_from_toe.windows(2) {
        let piece = w[0].distance(w[1]);
        if travelled + piece >= secant {
            let end = w[0].lerp(w[1], (secant - travelled) / piece.max(1e-12));
            let along = (end - toe).unit();
            return Some(along.dot(away).clamp(-1.0, 1.0).acos().to_degrees());
        }
        travelled += piece;
    }
    None
}

/// Shortest distance from `p` to the face and the nearest point, mm.
pub fn to_face(face: &[Point<Joint>], p: Point<Joint>) -> Option<(f64, Point<Joint>)> {
    nearest(face, p).map(|n| (n.distance, n.point))
}
