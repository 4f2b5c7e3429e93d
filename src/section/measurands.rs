//! From the traced outlines to the numbers. Definitions and equations stand in
//! `docs/method.md`; names in `docs/record.md`.

use super::fusion::Fusion;
use super::members::JointFrame;
use super::passes::Passes;
use super::toes::{SECANT_MM, Toes, dip, to_face};
use crate::base::geometry::{Joint, Line, Point, Vector, area, clip_by_half_plane};
use crate::record::{Measurement, PlacePx};
use crate::scale::Scale;
use std::collections::BTreeMap;

/// An undercut is looked for within this distance of the toe, mm.
const UNDERCUT_REACH_MM: f64 = 2.5;

/// Bare surface seen beyond a toe at least, mm: shorter ones may hide an undercut.
const LEAST_BARE_MM: f64 = 0.8;

/// Measurements that rest on the fusion boundary.
const FUSION_NAMES: [&str; 7] = [
    "penetration_butting_mm",
    "penetration_nonbutting_mm",
    "root_penetration_mm",
    "effective_throat_mm",
    "weld_area_mm2",
    "melted_parent_area_mm2",
    "dilution_percent",
];

/// Everything the measurements are computed from, in the joint's frame.
pub struct Traced<'a> {
    /// Where the joint lies.
    pub frame: &'a JointFrame,
    /// The two toes and the face.
    pub toes: &'a Toes,
    /// The fusion boundary, or why it was not used.
    pub fusion: Result<&'a Fusion, &'a str>,
    /// Gap between the members, mm; 0 where none is known.
    pub gap_mm: f64,
    /// The passes; `None` where they were not looked for.
    pub passes: Option<&'a Passes>,
    /// Standard uncertainty of an outline position, mm.
    pub outline_mm: f64,
    /// Standard uncertainty of the joint root along either surface, mm.
    pub root_mm: f64,
    /// Standard uncertainty of a fusion boundary position, mm.
    pub fusion_mm: f64,
}

/// The parts of the weld metal, in the joint's frame.
pub struct Parts {
    /// Weld metal outside the original plates, closed.
    pub deposit: Vec<Point<Joint>>,
    /// Whole weld metal, closed; empty without a fusion boundary.
    pub metal: Vec<Point<Joint>>,
    /// Boundary in the butting member, from its toe to its end: the faying line, or the
    /// gap over it.
    pub in_butting: Vec<Point<Joint>>,
    /// Weld metal in the gap between the members, mm²: part of no plate.
    pub in_gap_mm2: f64,
    /// Boundary in the nonbutting member, from the faying line to its toe.
    pub in_nonbutting: Vec<Point<Joint>>,
}

const ROOT: Point<Joint> = Point::new(0.0, 0.0);

/// Splits the weld metal into its parts; `gap_mm` lies between the members.
pub fn parts(toes: &Toes, fusion: Option<&Fusion>, gap_mm: f64) -> Parts {
    let mut deposit = vec![ROOT];
    deposit.extend(&toes.face);
    let (mut metal, mut in_butting, mut in_nonbutting) = (Vec::new(), Vec::new(), Vec::new());
    let mut in_gap_mm2 = 0.0;
    if let Some(fusion) = fusion {
        let points = &fusion.points;
        metal.extend(&toes.face);
        metal.extend(&points[1..points.len() - 1]);
        let (before, place) = faying(points);
        in_nonbutting.push(place);
        in_nonbutting.extend(points[..=before].iter().rev());
        let behind: Vec<Point<Joint>> = points[before + 1..].iter().rev().copied().collect();
        let end = behind.iter().rposition(|p| p.y >= gap_mm);
        in_butting.extend(&behind[..end.map_or(0, |end| end + 1)]);
        in_butting.push(match (end, end.and_then(|end| behind.get(end + 1))) {
            (Some(end), Some(next)) => {
                let last = behind[end];
                last.lerp(*next, (last.y - gap_mm) / (last.y - next.y))
            }
            _ => place,
        });
        in_gap_mm2 = metal_in_gap(&metal, toes.butting, gap_mm);
    }
    Parts {
        deposit,
        metal,
        in_butting,
        in_nonbutting,
        in_gap_mm2,
    }
}

/// How much weld metal lies behind the butting surface and over the nonbutting one by no
/// more than the gap between them, mm².
fn metal_in_gap(metal: &[Point<Joint>], toe: Point<Joint>, gap_mm: f64) -> f64 {
    if gap_mm <= 0.0 {
        return 0.0;
    }
    let x = Vector::<Joint>::new(1.0, 0.0);
    let over = clip_by_half_plane(metal, &Line::new(ROOT, x));
    let under = clip_by_half_plane(&over, &Line::new(Point::new(0.0, gap_mm), -x));
    area(&clip_by_half_plane(&under, &Line::through(ROOT, toe)))
}

/// Where the boundary passes the faying line (the nonbutting surface carried
/// on behind the root): the index before it, and the place.
pub fn faying(points: &[Point<Joint>]) -> (usize, Point<Joint>) {
    for i in (1..points.len().saturating_sub(2)).rev() {
        let (a, b) = (points[i], points[i + 1]);
        if a.y <= 0.0 && b.y > 0.0 && a.x < 0.5 {
            return (i, a.lerp(b, -a.y / (b.y - a.y)));
        }
    }
    let nearest = (1..points.len() - 1)
        .min_by(|a, b| {
            points[*a]
                .distance(ROOT)
                .total_cmp(&points[*b].distance(ROOT))
        })
        .unwrap_or(0);
    (nearest, points[nearest])
}

/// Collects measurements, adding the scale's share to each uncertainty.
struct Book<'a> {
    scale: &'a Scale,
    frame: &'a JointFrame,
    entries: BTreeMap<String, Measurement>,
}

impl Book<'_> {
    /// A length and the line that shows it.
    fn length(&mut self, name: &str, value: f64, own: f64, line: &[Point<Joint>]) {
        self.scaled(name, value, own, 1.0, line);
    }

    /// A quantity that grows with the scale's `power`-th power.
    fn scaled(&mut self, name: &str, value: f64, own: f64, power: f64, line: &[Point<Joint>]) {
        let drawn = line.iter().map(|p| self.px(*p)).collect();
        let share = power * self.scale.standard_uncertainty_rel * value;
        self.entries.insert(
            name.to_owned(),
            Measurement::measured(value, own.hypot(share), drawn),
        );
    }

    fn missing(&mut self, name: &str, why: &str) {
        self.entries
            .insert(name.to_owned(), Measurement::not_assessed(why));
    }

    fn px(&self, p: Point<Joint>) -> PlacePx {
        self.scale.map.to_px(self.frame.to_plane(p)).to_array()
    }
}

/// All section measurements by their record names, each with a first estimate of
/// its uncertainty from three standard uncertainties of position.
pub fn measure(traced: &Traced, scale: &Scale) -> BTreeMap<String, Measurement> {
    let mut book = Book {
        scale,
        frame: traced.frame,
        entries: BTreeMap::new(),
    };
    outline(traced, &mut book);
    match &traced.fusion {
        Ok(fusion) => fused(traced, fusion, &mut book),
        Err(why) => FUSION_NAMES.iter().for_each(|name| book.missing(name, why)),
    }
    match traced.passes.map(Passes::count) {
        Some(Ok((passes, own))) => book.scaled("pass_count", passes as f64, own, 0.0, &[]),
        Some(Err(why)) => book.missing("pass_count", &why),
        None => book.missing(
            "pass_count",
            "passes are told apart by notches in the face and the fusion boundary, and the fusion boundary is not known",
        ),
    }
    for name in ["overlap_butting_mm", "overlap_nonbutting_mm"] {
        book.missing(
            name,
            "the picture is not sharp enough, or too washed out, to show lines as thin as the gap under overlap",
        );
    }
    book.entries
}

/// What the outline alone gives.
fn outline(traced: &Traced, book: &mut Book) {
    let (toes, psi) = (traced.toes, traced.frame.dihedral());
    let (leg_n, leg_b) = (toes.nonbutting.x, toes.butting.distance(ROOT));

    let [angle_n, angle_b] = toes.air_angles(traced.frame.butting_direction());
    // A toe is the crossing of two edges: the flatter they meet, the less
    // certain is its place along the plate.
    let along_plate = |angle: Option<f64>| {
        let flatness = angle.unwrap_or(135.0).to_radians().sin().abs().max(0.2);
        1.4 * traced.outline_mm / flatness
    };
    let (toe_n, toe_b) = (along_plate(angle_n), along_plate(angle_b));
    let (own_n, own_b) = (toe_n.hypot(traced.root_mm), toe_b.hypot(traced.root_mm));
    book.length("leg_nonbutting_mm", leg_n, own_n, &[ROOT, toes.nonbutting]);
    book.length("leg_butting_mm", leg_b, own_b, &[ROOT, toes.butting]);
    book.length(
        "leg_difference_mm",
        (leg_n - leg_b).abs(),
        own_n.hypot(own_b),
        &[],
    );

    // Largest isosceles triangle with its apex at the root that fits under the
    // face: in oblique coordinates along the two surfaces its base is α + β = side.
    let side = toes
        .face
        .iter()
        .map(|p| {
            let beta = p.y / psi.sin();
            p.x - beta * psi.cos() + beta
        })
        .fold(leg_n.min(leg_b), f64::min);
    let throat = side * (0.5 * psi).cos();
    let tip = ROOT + Vector::from_angle(0.5 * psi) * throat;
    let throat_own = traced.root_mm.hypot(1.3 * traced.outline_mm);
    book.length("inscribed_throat_mm", throat, throat_own, &[ROOT, tip]);
    if let Some((distance, foot)) = to_face(&toes.face, ROOT) {
        book.length("actual_throat_mm", distance, throat_own, &[ROOT, foot]);
    }

    // Outwards is away from the root.
    let chord = Line::through(toes.nonbutting, toes.butting);
    let sign = -chord.signed_distance(ROOT).signum();
    let excursion = |p: &Point<Joint>| sign * chord.signed_distance(*p);
    let by_excursion = |a: &&Point<Joint>, b: &&Point<Joint>| excursion(a).total_cmp(&excursion(b));
    if let (Some(top), Some(bottom)) = (
        toes.face.iter().max_by(by_excursion),
        toes.face.iter().min_by(by_excursion),
    ) {
        let at = if excursion(top) >= -excursion(bottom) {
            top
        } else {
            bottom
        };
        let foot = chord.at(chord.along(*at));
        book.length(
            "convexity_mm",
            excursion(at),
            1.3 * traced.outline_mm,
            &[foot, *at],
        );
    }
    let width = toes.nonbutting.distance(toes.butting);
    book.length(
        "face_width_mm",
        width,
        0.7 * own_n.hypot(own_b),
        &[toes.butting, toes.nonbutting],
    );

    for (name, angle) in [
        ("toe_angle_nonbutting_deg", angle_n),
        ("toe_angle_butting_deg", angle_b),
    ] {
        match angle {
            Some(a) => book.scaled(
                name,
                a,
                (2.0 * traced.outline_mm / SECANT_MM).atan().to_degrees(),
                0.0,
                &[],
            ),
            None => book.missing(
                name,
                "the face is shorter than the length a toe angle is taken over",
            ),
        }
    }
    let above_n = |p: Point<Joint>| p.y;
    let in_front = Vector::<Joint>::new(psi.sin(), -psi.cos());
    let above_b = |p: Point<Joint>| (p - ROOT).dot(in_front);
    let own = 1.3 * traced.outline_mm;
    let mut undercut =
        |name: &str, bare: &[Point<Joint>], toe, above: &dyn Fn(Point<Joint>) -> f64| {
            if bare.iter().any(|p| p.distance(toe) >= LEAST_BARE_MM) {
                book.length(name, dip(bare, toe, above, UNDERCUT_REACH_MM), own, &[]);
            } else {
                book.missing(
                    name,
                    "too little of the bare surface beside the toe is in the picture",
                );
            }
        };
    undercut(
        "undercut_nonbutting_mm",
        &toes.bare_nonbutting,
        toes.nonbutting,
        &above_n,
    );
    undercut(
        "undercut_butting_mm",
        &toes.bare_butting,
        toes.butting,
        &above_b,
    );

    let deposit = area(&parts(toes, None, 0.0).deposit);
    let border = leg_n + leg_b + width;
    book.scaled(
        "deposit_area_mm2",
        deposit,
        0.4 * border * traced.outline_mm.hypot(traced.root_mm),
        2.0,
        &[],
    );
}

/// What needs the fusion boundary as well.
fn fused(traced: &Traced, fusion: &Fusion, book: &mut Book) {
    let (toes, psi) = (traced.toes, traced.frame.dihedral());
    let pieces = parts(toes, Some(fusion), traced.gap_mm);
    let own = traced.fusion_mm;
    // What the picture leaves open about the boundary at a place.
    let own_at = |p: Point<Joint>| own.hypot(fusion.deviation_near(p));
    let in_front = Vector::<Joint>::new(psi.sin(), -psi.cos());
    let below_n = |p: &Point<Joint>| -p.y;
    let below_b = |p: &Point<Joint>| -(*p - ROOT).dot(in_front);

    let deepest = |points: &[Point<Joint>], depth: &dyn Fn(&Point<Joint>) -> f64| {
        points
            .iter()
            .max_by(|a, b| depth(a).total_cmp(&depth(b)))
            .map(|p| (depth(p).max(0.0), *p))
    };
    if let Some((depth, at)) = deepest(&pieces.in_nonbutting, &below_n) {
        book.length(
            "penetration_nonbutting_mm",
            depth,
            own_at(at),
            &[Point::new(at.x, 0.0), at],
        );
    }
    if let Some((depth, at)) = deepest(&pieces.in_butting, &below_b) {
        book.length(
            "penetration_butting_mm",
            depth,
            own_at(at),
            &[at + in_front * depth, at],
        );
    }
    // Along the faying line of the butting member, from the joint root.
    let (_, place) = faying(&fusion.points);
    book.length(
        "root_penetration_mm",
        -place.x,
        1.3 * own_at(place),
        &[ROOT, place],
    );

    // The weld root: the boundary point deepest against the bisector among
    // those within 45° of it as seen from the joint root.
    let inwards = -Vector::<Joint>::from_angle(0.5 * psi);
    let weld_root = fusion
        .points
        .iter()
        .filter(|p| (**p - ROOT).unit().dot(inwards) >= std::f64::consts::FRAC_1_SQRT_2)
        .max_by(|a, b| {
            (**a - ROOT)
                .dot(inwards)
                .total_cmp(&(**b - ROOT).dot(inwards))
        })
        .copied()
        .unwrap_or(ROOT);
    if let Some((distance, foot)) = to_face(&toes.face, weld_root) {
        book.length(
            "effective_throat_mm",
            distance,
            own_at(weld_root).hypot(traced.outline_mm),
            &[weld_root, foot],
        );
    }

    let metal = area(&pieces.metal);
    let deposit = area(&pieces.deposit) + pieces.in_gap_mm2;
    if pieces.in_gap_mm2 > 0.0
        && let Some(stated) = book.entries.get_mut("deposit_area_mm2")
    {
        stated.value = Some(deposit);
    }
    let melted = (metal - deposit).max(0.0);
    let boundary: f64 = fusion.points.windows(2).map(|w| w[0].distance(w[1])).sum();
    // Positions err together over lengths near those of a whole run.
    let open: f64 = fusion
        .points
        .windows(2)
        .zip(&fusion.deviation_mm)
        .map(|(w, d)| w[0].distance(w[1]) * d)
        .sum();
    let melted_own = 0.5 * (boundary * own).hypot(open);
    book.scaled(
        "weld_area_mm2",
        metal,
        melted_own.hypot(0.4 * boundary * traced.outline_mm),
        2.0,
        &[],
    );
    book.scaled("melted_parent_area_mm2", melted, melted_own, 2.0, &[]);
    let dilution = 100.0 * melted / metal;
    book.scaled(
        "dilution_percent",
        dilution,
        100.0 * melted_own * deposit / (metal * metal),
        0.0,
        &[],
    );
}

#[cfg(test)]
mod tests;
