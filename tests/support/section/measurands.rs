//! The exact figures of a built joint, by their record names.

use super::joint::{Joint, Nose};
use super::shapes::*;
use std::collections::BTreeMap;

/// Face length over which a toe angle is taken, mm.
const TOE_SECANT_MM: f64 = 1.0;

/// Every figure the record may state, mm, mm², degrees, per cent.
pub fn measurands(j: &Joint) -> BTreeMap<String, f64> {
    let s = &j.spec;
    let psi = s.dihedral_deg.to_radians();
    let (toe_b, toe_n) = (j.face[0], j.face[j.face.len() - 1]);
    let chord = sub(toe_n, toe_b);
    let outward = scale([-chord[1], chord[0]], 1.0 / length(chord));
    let (mut over, mut under) = (0.0f64, 0.0f64);
    for p in &j.face {
        let h = dot(sub(*p, toe_b), outward);
        over = over.max(h);
        under = under.max(-h);
    }

    // In oblique coordinates p = u·x̂ + v·up the base of an isosceles triangle
    // with its apex at the root is u + v = side.
    let side = j
        .face
        .iter()
        .map(|p| {
            let v = p[1] / psi.sin();
            p[0] - v * psi.cos() + v
        })
        .fold(f64::INFINITY, f64::min);

    let bisector = [(psi / 2.0).cos(), (psi / 2.0).sin()];
    let root = *root_point(j, bisector);
    let reversed: Vec<P> = j.face.iter().rev().copied().collect();
    let angle_at = |line: &[P], away: P| {
        let d = sub(at_length(line, TOE_SECANT_MM), line[0]);
        (dot(d, away) / length(d))
            .clamp(-1.0, 1.0)
            .acos()
            .to_degrees()
    };

    let weld_area = area(&j.weld);
    let melted: f64 = [&j.nonbutting, &j.butting]
        .iter()
        .map(|plate| area(&clip_convex(&j.weld, plate)))
        .sum();
    let depth_n = j.weld.iter().map(|p| -p[1]).fold(0.0, f64::max);
    let depth_b = j
        .weld
        .iter()
        .filter(|p| p[1] >= s.gap)
        .map(|p| -dot(*p, j.out))
        .fold(0.0, f64::max);

    [
        ("leg_nonbutting_mm", s.leg_nonbutting),
        ("leg_butting_mm", s.leg_butting),
        (
            "leg_difference_mm",
            (s.leg_nonbutting - s.leg_butting).abs(),
        ),
        ("inscribed_throat_mm", side * (psi / 2.0).cos()),
        ("actual_throat_mm", to_polyline([0.0, 0.0], &j.face).0),
        ("effective_throat_mm", to_polyline(root, &j.face).0),
        ("convexity_mm", if over >= under { over } else { -under }),
        ("face_width_mm", length(chord)),
        ("toe_angle_butting_deg", angle_at(&j.face, j.up)),
        ("toe_angle_nonbutting_deg", angle_at(&reversed, [1.0, 0.0])),
        ("undercut_butting_mm", s.undercut_butting),
        ("undercut_nonbutting_mm", s.undercut_nonbutting),
        (
            "overlap_butting_mm",
            reach_beyond(j, s.overlap_butting, j.up, s.leg_butting),
        ),
        (
            "overlap_nonbutting_mm",
            reach_beyond(j, s.overlap_nonbutting, [1.0, 0.0], s.leg_nonbutting),
        ),
        ("penetration_butting_mm", depth_b),
        ("penetration_nonbutting_mm", depth_n),
        ("root_penetration_mm", -j.faying_end),
        ("root_gap_mm", s.gap),
        ("weld_area_mm2", weld_area),
        ("melted_parent_area_mm2", melted),
        ("deposit_area_mm2", weld_area - melted),
        ("dilution_percent", 100.0 * melted / weld_area),
        ("pass_count", s.passes as f64),
    ]
    .into_iter()
    .map(|(k, v)| (k.to_owned(), v))
    .collect()
}

/// How far weld metal, its nose included, lies beyond where fusion ends, along a surface.
fn reach_beyond(j: &Joint, nose: Option<Nose>, away: P, leg: f64) -> f64 {
    nose.map_or(0.0, |nose| {
        let toe = scale(away, leg);
        let near = |p: &&P| length(sub(**p, toe)) <= 1.5 * nose.size;
        let reach = j.face.iter().filter(near).map(|p| dot(*p, away) - leg);
        reach.fold(0.0, f64::max) + nose.unfused
    })
}

/// The weld boundary point deepest against the bisector among those within
/// 45° of it as seen from the joint root.
pub fn root_point(j: &Joint, bisector: P) -> &P {
    j.fusion
        .iter()
        .filter(|p| -dot(**p, bisector) >= length(**p) * std::f64::consts::FRAC_1_SQRT_2)
        .max_by(|a, b| (-dot(**a, bisector)).total_cmp(&-dot(**b, bisector)))
        .expect("the fusion reaches behind the root")
}
