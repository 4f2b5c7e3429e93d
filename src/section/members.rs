//! The two members: which straight edges are which plate's surface.
//!
//! A fillet weld sits in the corner of two plate surfaces. Seen from the
//! joint root, each surface shows as a straight edge that begins only where
//! the weld ends, and each plate has a second edge parallel to it. Every pair
//! of straight edges is tried in every role; the reading that the picture
//! supports best wins. Nothing assumes an upright or unmirrored photograph.

use super::bare::{BareSide, bare_runs, bare_sides, clear_of_weld};
use super::evidence::{Evidence, Profile, Run, net_along};
use super::lap::{self, Upper};
use super::view::colour_distance;
use crate::base::geometry::{Joint, Line, Mm, Point, Px, Vector};
use crate::base::numeric::{Grid, optimal_path};
use crate::record::{Coupon, JointType};
use crate::scale::PlaneMap;
use rayon::prelude::*;

/// Where the joint lies in the measured plane.
#[derive(Clone, Copy, Debug)]
pub struct JointFrame {
    /// Joint root.
    pub root: Point<Mm>,
    /// Along the nonbutting member's surface, away from the root.
    pub along_nonbutting: Vector<Mm>,
    /// Along the butting member's surface, away from the root.
    pub along_butting: Vector<Mm>,
}

impl JointFrame {
    /// Unit normal of the nonbutting surface, towards the weld.
    pub fn out_of_nonbutting(&self) -> Vector<Mm> {
        let n = self.along_nonbutting.turned();
        if n.dot(self.along_butting) >= 0.0 {
            n
        } else {
            -n
        }
    }

    /// Unit normal of the butting surface, towards the weld.
    pub fn out_of_butting(&self) -> Vector<Mm> {
        let n = self.along_butting.turned();
        if n.dot(self.along_nonbutting) >= 0.0 {
            n
        } else {
            -n
        }
    }

    /// From the plane into the joint's own frame.
    pub fn to_joint(self, p: Point<Mm>) -> Point<Joint> {
        let d = p - self.root;
        Point::new(
            d.dot(self.along_nonbutting),
            d.dot(self.out_of_nonbutting()),
        )
    }

    /// From the joint's own frame into the plane.
    pub fn to_plane(self, p: Point<Joint>) -> Point<Mm> {
        self.root + self.along_nonbutting * p.x + self.out_of_nonbutting() * p.y
    }

    /// Angle between the two surfaces on the weld's side, radians.
    pub fn dihedral(&self) -> f64 {
        self.along_nonbutting
            .dot(self.along_butting)
            .clamp(-1.0, 1.0)
            .acos()
    }

    /// Unit direction of the butting surface in the joint's own frame.
    pub fn butting_direction(&self) -> Vector<Joint> {
        Vector::from_angle(self.dihedral())
    }
}

/// One reading of the picture as a fillet joint.
#[derive(Clone, Copy, Debug)]
pub struct Reading {
    /// Where the joint lies.
    pub frame: JointFrame,
    /// Bare nonbutting surface beyond the weld.
    pub nonbutting: Run,
    /// Bare butting surface beyond the weld.
    pub butting: Run,
    /// Where the colour beside the nonbutting and the butting surface is that
    /// of the surroundings for certain, mm from the root.
    pub clear_from: (f64, f64),
    /// Thickness of the nonbutting member as declared or read, mm.
    pub thickness_nonbutting: f64,
    /// Where the other surface of the nonbutting and of the butting member stands
    /// out, mm from the one at the weld.
    pub back: (Option<f64>, Option<f64>),
    /// How well the picture supports it; only for comparing readings.
    pub score: f64,
    /// The upper plate of a lap whose end face is covered; `butting` is the end face then.
    pub upper: Option<Upper>,
}

/// Thicknesses tried when none was declared, mm.
const THICKNESS_RANGE_MM: (f64, f64) = (2.0, 45.0);
/// How far a declared thickness and the picture may differ: thickness
/// tolerance of plate, rust, and the scale's own error.
const THICKNESS_TOLERANCE: f64 = 0.07;
/// How far a declared dihedral angle and the picture may differ, degrees.
const DIHEDRAL_TOLERANCE_DEG: f64 = 5.0;
/// Longest leg against the thicker declared plate.
const MOST_LEG_OF_PLATE: f64 = 1.75;
/// How well the end face of a lap must end with its plate, mm, and the edge
/// length this coincidence counts as, mm.
const END_FACE_MM: f64 = 0.8;
const END_FACE_WORTH: f64 = 4.0;
/// Net length of edge from which a plate's other surface is beyond doubt, mm.
pub const SURE_BACK_MM: f64 = 8.0;
/// Readings examined with all their plate edges.
const SHORTLIST: usize = 30;
/// Readings whose roots are closer than this and whose members run alike are one, mm.
const SAME_ROOT_MM: f64 = 0.25;

/// All readings worth looking at, best first.
pub fn readings(evidence: &Evidence, edges: &[Line<Px>], declared: &Coupon) -> Vec<Reading> {
    let view = evidence.view;
    let reach = (view.width() as f64).hypot(view.height() as f64) / view.samples_per_mm;
    let lines: Vec<Line<Mm>> = edges.iter().map(|l| to_plane(evidence.map, l)).collect();
    let profiles: Vec<Profile> = lines
        .par_iter()
        .map(|l| evidence.profile(l, 0.0, -reach, reach))
        .collect();

    let mut list = Vec::new();
    for (i, a) in lines.iter().enumerate() {
        for (j, b) in lines.iter().enumerate() {
            if i == j {
                continue;
            }
            let Some(root) = a.crossing(b) else { continue };
            if !view.covers(evidence.map.to_px(root)) {
                continue;
            }
            let (along_a, along_b) = (
                bare_runs(&profiles[i], a.along(root)),
                bare_runs(&profiles[j], b.along(root)),
            );
            for (su, sv) in [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)] {
                let frame = JointFrame {
                    root,
                    along_nonbutting: a.direction * su,
                    along_butting: b.direction * sv,
                };
                let dihedral = frame.dihedral().to_degrees();
                let allowed = match declared.dihedral_deg {
                    Some(d) => (dihedral - d).abs() <= DIHEDRAL_TOLERANCE_DEG,
                    // A declared tee without an angle is a right angle.
                    None if declared.joint.is_some() => {
                        (dihedral - 90.0).abs() <= DIHEDRAL_TOLERANCE_DEG
                    }
                    None => (55.0..=125.0).contains(&dihedral),
                };
                if !allowed {
                    continue;
                }
                let side = |sign: f64| usize::from(sign < 0.0);
                let (u, v) = (frame.along_nonbutting, frame.along_butting);
                let of_n = along_a[side(su)].each(evidence, root, u, frame.out_of_nonbutting());
                let of_b = along_b[side(sv)].each(evidence, root, v, frame.out_of_butting());
                for nonbutting in &of_n {
                    for butting in &of_b {
                        list.extend(first_look(
                            evidence,
                            frame,
                            (*nonbutting, *butting),
                            None,
                            declared,
                        ));
                    }
                }
            }
        }
    }
    for place in lap::places(evidence, &lines, &profiles, declared) {
        let end = Run {
            begin: place.upper.height,
            end: place.upper.height,
            gain: place.upper.bare.gain,
        };
        list.extend(first_look(
            evidence,
            place.frame,
            (place.nonbutting, end),
            Some(place.upper),
            declared,
        ));
    }
    list.sort_by(|x, y| y.score.total_cmp(&x.score));
    let mut list = distinct(list, SAME_ROOT_MM);
    list.truncate(SHORTLIST);
    let mut full: Vec<Reading> = list
        .into_par_iter()
        .map(|r| second_look(evidence, r, declared))
        .collect();
    full.sort_by(|x, y| y.score.total_cmp(&x.score));
    full
}

/// Drops readings that repeat a better one: roots within `apart` mm and both
/// members running the same way.
pub fn distinct(sorted: Vec<Reading>, apart: f64) -> Vec<Reading> {
    let mut kept: Vec<Reading> = Vec::new();
    for r in sorted {
        let repeats = kept.iter().any(|k| {
            k.frame.root.distance(r.frame.root) < apart
                && k.frame.along_nonbutting.dot(r.frame.along_nonbutting) > 0.99
                && k.frame.along_butting.dot(r.frame.along_butting) > 0.99
                && k.upper.is_some() == r.upper.is_some()
        });
        if !repeats {
            kept.push(r);
        }
    }
    kept
}

/// A picture line as a line of the plane.
fn to_plane(map: &PlaneMap, line: &Line<Px>) -> Line<Mm> {
    Line::through(map.to_mm(line.at(-50.0)), map.to_mm(line.at(50.0)))
}

/// Net edge length on a scale on which a long edge cannot outweigh two short ones.
fn saturated(gain: f64) -> f64 {
    8.0 * (1.0 - (-gain / 6.0).exp())
}

/// Evidence for a plate's other edge: saturated when there, a debit when it
/// should be in the picture and is not.
fn credit(net: f64) -> f64 {
    if net > 0.0 {
        saturated(net)
    } else {
        (0.6 * net).max(-5.0)
    }
}

/// Looks at the two bare surfaces only.
fn first_look(
    evidence: &Evidence,
    frame: JointFrame,
    (nonbutting, butting): (Run, Run),
    upper: Option<Upper>,
    declared: &Coupon,
) -> Option<Reading> {
    // Legs of a fillet differ by no more than a factor of about three.
    let ratio = nonbutting.begin / butting.begin;
    if !(0.3..=3.4).contains(&ratio) {
        return None;
    }
    // Nobody lays a fillet much larger than the plates it joins.
    if let (Some(b), Some(n)) = (
        declared.thickness_butting_mm,
        declared.thickness_nonbutting_mm,
    ) && nonbutting.begin.max(butting.begin) > MOST_LEG_OF_PLATE * b.max(n)
    {
        return None;
    }
    // What a large leg leaves bare of a lap's end face is short; that it ends
    // where the declared plate ends stands in for its length.
    let ends_with_plate = declared.joint == Some(JointType::Lap)
        && declared
            .thickness_butting_mm
            .is_some_and(|t| (butting.end - t).abs() < END_FACE_MM);
    let gain_v = if ends_with_plate {
        butting.gain.max(END_FACE_WORTH)
    } else {
        butting.gain
    };
    let (gain_u, gain_v) = (saturated(nonbutting.gain), saturated(gain_v));
    let reading = Reading {
        frame,
        nonbutting,
        butting,
        clear_from: (nonbutting.begin, butting.begin),
        thickness_nonbutting: 0.0,
        back: (None, None),
        upper,
        score: gain_u.min(gain_v) + 0.5 * (gain_u + gain_v),
    };
    let score = reading.score * colour_factor(evidence, &reading);
    Some(Reading { score, ..reading })
}

/// Adds the plates' other edges and their colours.
fn second_look(evidence: &Evidence, reading: Reading, declared: &Coupon) -> Reading {
    let frame = &reading.frame;
    let lap = declared.joint == Some(JointType::Lap);
    let (u, v) = (frame.along_nonbutting, frame.along_butting);
    let surface = Line::new(frame.root, u);
    let riser = Line::new(frame.root, v);
    // Shift along the line's normal that leads into the plate.
    let into = |line: &Line<Mm>, away: Vector<Mm>| {
        if line.normal().dot(away) > 0.0 {
            -1.0
        } else {
            1.0
        }
    };

    // Back of the nonbutting member.
    let (tn, back) = best_parallel(
        evidence,
        &surface,
        into(&surface, v),
        declared.thickness_nonbutting_mm,
        (-10.0, reading.nonbutting.end.min(30.0)),
    );
    // Far side of the butting member: parallel to the riser, or above the
    // nonbutting surface when the upper plate of a lap lies on it.
    let (tb, far) = if lap {
        best_parallel(
            evidence,
            &surface,
            -into(&surface, v),
            declared.thickness_butting_mm,
            (-25.0, -1.0),
        )
    } else {
        best_parallel(
            evidence,
            &riser,
            into(&riser, u),
            declared.thickness_butting_mm,
            (3.0, reading.butting.end.min(30.0)),
        )
    };
    // Nothing of the riser goes on inside the nonbutting member.
    let through = evidence
        .profile(&riser, 0.0, -tn, -0.5)
        .presence(-tn + 0.5, -0.8);
    // The nonbutting surface goes on behind a tee.
    let behind = if lap {
        0.0
    } else {
        evidence
            .profile(&surface, 0.0, -tb - 15.0, -tb - 1.0)
            .net(-tb - 15.0, -tb - 1.0)
    };

    let colours = colour_factor(evidence, &reading);
    let face = face_evidence(evidence, &reading);
    let score = reading.score
        + (10.0 * (face - 0.5)
            + 0.7 * credit(back)
            + 0.7 * credit(far)
            + 0.25 * saturated(behind.max(0.0))
            - 1.0 * through)
            * colours;
    let clear_from = (
        clear_of_weld(
            evidence,
            frame.root,
            u,
            frame.out_of_nonbutting(),
            &reading.nonbutting,
        ),
        match reading.upper {
            Some(upper) => upper.height,
            None => clear_of_weld(
                evidence,
                frame.root,
                v,
                frame.out_of_butting(),
                &reading.butting,
            ),
        },
    );
    let sure = |(mm, net): (f64, f64)| (net >= SURE_BACK_MM).then_some(mm);
    Reading {
        clear_from,
        thickness_nonbutting: tn,
        // What bounds the upper plate of a lap is not parallel to its end face.
        back: (sure((tn, back)), if lap { None } else { sure((tb, far)) }),
        score,
        ..reading
    }
}

/// The parallel at plate thickness with the strongest evidence between two
/// places along the line, mm: (thickness, net evidence).
pub fn best_parallel(
    evidence: &Evidence,
    line: &Line<Mm>,
    side: f64,
    declared: Option<f64>,
    (from, to): (f64, f64),
) -> (f64, f64) {
    let (low, high, samples) = match declared {
        Some(t) => (
            t * (1.0 - THICKNESS_TOLERANCE) - 0.2,
            t * (1.0 + THICKNESS_TOLERANCE) + 0.2,
            1.0,
        ),
        None => (THICKNESS_RANGE_MM.0, THICKNESS_RANGE_MM.1, 1.6),
    };
    let step = samples / evidence.view.samples_per_mm;
    let mut best = (declared.unwrap_or(low), f64::NEG_INFINITY);
    let mut t = low;
    while t <= high {
        let value = net_along(evidence, line, side * t, from, to);
        if value > best.1 {
            best = (t, value);
        }
        t += step;
    }
    best
}

/// Mean edge evidence of the best smooth path between the two bare surfaces
/// across the corner: without a weld face there is no fillet weld.
fn face_evidence(evidence: &Evidence, reading: &Reading) -> f64 {
    let frame = &reading.frame;
    let a = frame.root + frame.along_nonbutting * reading.nonbutting.begin;
    let b = frame.root + frame.along_butting * reading.butting.begin;
    let chord = (b - a).unit();
    let (columns, rows) = (32, 48);
    let mut grid = Grid::filled(columns, rows, 1.0);
    for c in 0..columns {
        let foot = a.lerp(b, (c as f64 + 1.0) / (columns as f64 + 1.0));
        for (r, cost) in grid.column_mut(c).iter_mut().enumerate() {
            // From near the root to well beyond the chord, on rays from the root.
            let p = frame
                .root
                .lerp(foot, 0.4 + 1.4 * r as f64 / (rows - 1) as f64);
            *cost = 1.0 - evidence.near(p, chord, 0.4).unwrap_or(0.5);
        }
    }
    optimal_path(&grid, 2, 0.02).map_or(0.0, |(_, cost)| 1.0 - f64::from(cost) / columns as f64)
}

/// Near 1 when each plate keeps its colour from deep inside up to its surface,
/// both plates have one colour, and what lies outside has another.
fn colour_factor(evidence: &Evidence, reading: &Reading) -> f64 {
    let mean = |side: &BareSide, depths: [f64; 3]| -> Option<[f64; 3]> {
        let (mut sum, mut n) = ([0.0; 3], 0.0);
        let run = &side.run;
        let end = run.end.min(run.begin + 12.0);
        for i in 0..24 {
            let t = run.begin + 0.3 + (end - run.begin - 0.3) * i as f64 / 23.0;
            for d in depths {
                let p = evidence
                    .map
                    .to_px(side.from + side.along * t - side.out * d);
                if evidence.view.covers(p) {
                    for (s, c) in sum.iter_mut().zip(evidence.view.colour(p)) {
                        *s += f64::from(c);
                    }
                    n += 1.0;
                }
            }
        }
        (n > 0.0).then(|| sum.map(|s| s / n))
    };
    let one = |side: &BareSide| {
        let air = mean(side, [-0.4, -0.7, -1.0])?;
        let near = mean(side, [0.4, 0.6, 0.8])?;
        let deep = mean(side, [1.6, 2.2, 2.8])?;
        let apart = colour_distance(near, air);
        Some((
            apart / (apart + colour_distance(near, deep) + 1.0),
            apart,
            deep,
        ))
    };
    let [u, v] = bare_sides(reading);
    let (Some((kept_u, apart_u, deep_u)), Some((kept_v, apart_v, deep_v))) = (one(&u), one(&v))
    else {
        return 0.2;
    };
    let apart = apart_u.min(apart_v);
    let alike = apart / (apart + colour_distance(deep_u, deep_v) + 1.0);
    0.1 + 0.9 * (kept_u * kept_v * alike).cbrt()
}
