//! From what was found to the record's findings, and the measurements that an
//! unfused root changes.

use super::crack::Crack;
use super::geometry::WeldShape;
use super::line::{Place, Unfused};
use super::overlap::Overlap;
use super::profile::direction;
use super::root::Shortfall;
use super::spot::Kind;
use super::{Found, OpenRoot};
use crate::base::geometry::{Joint, Point, Px, Vector, contains, length, resample};
use crate::record::{Finding, Measurement, PassOutline, PlacePx, Quantity};
use crate::scale::Scale;
use crate::section::toes::to_face;
use std::collections::BTreeMap;

/// Name and ISO 6520-1 number of each kind.
pub const ROOT: (&str, u32) = ("lack-of-root-fusion", 4013);
/// On an original surface away from the root.
pub const SIDE_WALL: (&str, u32) = ("lack-of-sidewall-fusion", 4011);
/// Inside the weld metal.
pub const INTER_RUN: (&str, u32) = ("lack-of-inter-run-fusion", 4012);
/// A gas pore.
pub const PORE: (&str, u32) = ("pore", 2011);
/// A solid inclusion.
pub const INCLUSION: (&str, u32) = ("inclusion", 300);
/// Weld metal that lies unfused on a plate.
pub const OVERLAP: (&str, u32) = ("overlap", 506);
/// A crack.
const CRACK: (&str, u32) = ("crack", 100);

/// Points of a centre line in the record are this far apart, mm.
const DRAWN_MM: f64 = 0.1;
/// The runs beside a line are looked up this far from it, mm.
const BESIDE_MM: f64 = 0.25;
/// Merit grows into confidence with this power: half again the evidence asked
/// for gives five to one. A judgement, not a frequency: too few sections with
/// known truth were seen to count.
const STEEPNESS: i32 = 4;
/// Standard uncertainties of a crack's length, mm and share of it: its tip thins out
/// below what a lens shows, and its smaller turns are smoothed away.
const CRACK_TIP_MM: f64 = 0.12;
const CROOKED: f64 = 0.04;
/// A crack at the weld root begins within this of it, mm, and runs within this angle of the
/// bisector over this length, mm.
const AT_WELD_ROOT_MM: f64 = 0.6;
const ALONG_BISECTOR_RAD: f64 = 0.5;
const COURSE_MM: f64 = 1.5;
/// Confidence in one at most: two root runs side by side could meet there, too.
const ROOT_CRACK: f64 = 0.8;
/// Confidence in a kind that is named only because no other is left.
const DOUBTFUL: f64 = 0.45;

/// What turning places into findings needs.
pub struct Book<'a> {
    /// Millimetres to pixels.
    pub scale: &'a Scale,
    /// The weld.
    pub shape: &'a WeldShape,
    /// Standard uncertainty of a flaw's end, mm.
    pub end_mm: f64,
    /// Runs told apart, if any were.
    pub passes: &'a [PassOutline],
    /// Whether the weld was declared to be one run: then nothing can lie
    /// between two.
    pub single_pass: bool,
}

impl Book<'_> {
    /// Everything found, as the record has it: cracks, then from the root outwards, lines first.
    pub fn findings(&self, found: &Found) -> Vec<Finding> {
        let cracks = found.cracks.iter().map(|crack| self.crack(crack));
        let mut findings: Vec<Finding> = cracks.collect();
        findings.extend(found.overlaps.iter().map(|o| self.overlap(o)));
        findings.extend(found.void.iter().map(|v| self.void(v)));
        let rank = |line: &Unfused| match line.place {
            Place::Root(_) => 0,
            Place::SideWall(_) => 1,
            Place::Inside => 2,
        };
        let mut lines: Vec<&Unfused> = found.lines.iter().collect();
        lines.sort_by_key(|line| rank(line));
        // The void's own edges are not lines beside it.
        findings.extend(
            lines
                .into_iter()
                .filter(|line| found.void.is_none() || !matches!(line.place, Place::Root(_)))
                .map(|line| self.line(line)),
        );
        findings.extend(found.spots.iter().map(|(blob, kind, merit)| {
            let kind = if *kind == Kind::Pore { PORE } else { INCLUSION };
            Finding {
                greatest_dimension_mm: Some(self.quantity(blob.greatest_mm, 1.0)),
                area_mm2: Some(Quantity {
                    value: blob.area_mm2,
                    expanded_uncertainty: 2.0
                        * (length(&blob.outline) * 0.5 * self.end_mm)
                            .hypot(2.0 * blob.area_mm2 * self.scale.standard_uncertainty_rel),
                }),
                outline_px: self.draw(&blob.outline),
                centre_px: Some(self.px(blob.centre)),
                ..named(kind, confidence(*merit))
            }
        }));
        findings
    }

    /// An open void: one flaw, along both surfaces.
    fn void(&self, open: &OpenRoot) -> Finding {
        let void = &open.void;
        let corner = Point::new(0.0, 0.0);
        let reach = void.reach_mm.0.max(void.reach_mm.1);
        Finding {
            length_mm: Some(self.quantity(reach, 1.0)),
            polyline_px: self.draw(&[void.tips.0, corner, void.tips.1]),
            ..named(ROOT, confidence(open.merit))
        }
    }

    fn line(&self, line: &Unfused) -> Finding {
        let (kind, sure) = match line.place {
            Place::Root(_) => (ROOT, 1.0),
            Place::SideWall(_) => (SIDE_WALL, 1.0),
            Place::Inside if from_weld_root(self.shape, &line.points) => (CRACK, ROOT_CRACK),
            Place::Inside if self.single_pass => (CRACK, DOUBTFUL),
            Place::Inside => (INTER_RUN, 1.0),
        };
        let points = resample(&line.points, DRAWN_MM);
        Finding {
            length_mm: Some(self.quantity(length(&line.points), std::f64::consts::SQRT_2)),
            width_mm: Some(Quantity {
                value: line.width_mm,
                expanded_uncertainty: 2.0
                    * line
                        .width_own_mm
                        .hypot(line.width_mm * self.scale.standard_uncertainty_rel),
            }),
            passes: self.passes_beside(&points),
            polyline_px: self.draw(&points),
            ..named(kind, confidence(line.merit).min(sure))
        }
    }

    fn crack(&self, crack: &Crack) -> Finding {
        let points = resample(&crack.points, DRAWN_MM);
        let long = length(&crack.points);
        Finding {
            length_mm: Some(Quantity {
                value: long,
                expanded_uncertainty: 2.0
                    * (CRACK_TIP_MM + CROOKED * long)
                        .hypot(self.end_mm)
                        .hypot(long * self.scale.standard_uncertainty_rel),
            }),
            width_mm: Some(self.quantity(crack.width_mm, 1.0)),
            polyline_px: self.draw(&points),
            ..named(CRACK, confidence(crack.merit))
        }
    }

    fn overlap(&self, overlap: &Overlap) -> Finding {
        Finding {
            length_mm: Some(self.quantity(overlap.reach_mm, std::f64::consts::SQRT_2)),
            width_mm: Some(self.quantity(overlap.width_mm, 1.0)),
            polyline_px: self.draw(&resample(&overlap.points, DRAWN_MM)),
            ..named(OVERLAP, confidence(overlap.merit))
        }
    }

    /// A length whose ends, `ends` of them in quadrature, are uncertain.
    fn quantity(&self, value: f64, ends: f64) -> Quantity {
        let own = ends * self.end_mm;
        Quantity {
            value,
            expanded_uncertainty: 2.0 * own.hypot(value * self.scale.standard_uncertainty_rel),
        }
    }

    /// The runs on both sides of a line's middle.
    fn passes_beside(&self, points: &[Point<Joint>]) -> Vec<u32> {
        let middle = points.len() / 2;
        let Some(normal) = direction(points, middle).map(|d| d.turned()) else {
            return Vec::new();
        };
        let mut beside: Vec<u32> = [BESIDE_MM, -BESIDE_MM]
            .into_iter()
            .filter_map(|t| {
                let [x, y] = self.px(points[middle] + normal * t);
                // The run laid last covers those before it.
                self.passes
                    .iter()
                    .rev()
                    .find(|pass| {
                        let ring: Vec<Point<Px>> = pass
                            .outline_px
                            .iter()
                            .map(|p| Point::new(p[0], p[1]))
                            .collect();
                        contains(&ring, Point::new(x, y))
                    })
                    .map(|pass| pass.number)
            })
            .collect();
        beside.sort_unstable();
        beside.dedup();
        beside
    }

    /// Root penetration and effective throat as the unfused root leaves them.
    pub fn correct(&self, short: &Shortfall, measurements: &mut BTreeMap<String, Measurement>) {
        let scale_share = |value: f64| value * self.scale.standard_uncertainty_rel;
        let root = Point::<Joint>::new(0.0, 0.0);
        // Where the joint root and the face lie is as sure as the throat between them.
        let placed_mm = measurements
            .get("actual_throat_mm")
            .and_then(|m| m.standard_uncertainty)
            .unwrap_or(0.0);
        let own_mm = |value: f64| self.end_mm.hypot(placed_mm).hypot(scale_share(value));
        measurements.insert(
            "root_penetration_mm".to_owned(),
            Measurement::measured(
                -short.reach_mm,
                own_mm(short.reach_mm),
                self.draw(&[root, short.tip]),
            ),
        );
        if let Some((throat, foot)) = to_face(&self.shape.face, short.weld_root) {
            measurements.insert(
                "effective_throat_mm".to_owned(),
                Measurement::measured(throat, own_mm(throat), self.draw(&[short.weld_root, foot])),
            );
        }
    }

    fn px(&self, p: Point<Joint>) -> PlacePx {
        self.scale
            .map
            .to_px(self.shape.frame.to_plane(p))
            .to_array()
    }

    /// Places as the record has them.
    pub fn draw(&self, points: &[Point<Joint>]) -> Vec<PlacePx> {
        points.iter().map(|p| self.px(*p)).collect()
    }
}

/// Takes back what a line or a void at the root, `length_mm` long, leaves open.
pub fn withhold_root(length_mm: f64, measurements: &mut BTreeMap<String, Measurement>) {
    let why = format!(
        "a dark place {length_mm:.1} mm long at the joint root may be an unfused root: polish and etch again, and look there with a glass"
    );
    for name in ["root_penetration_mm", "effective_throat_mm"] {
        measurements.insert(name.to_owned(), Measurement::not_assessed(why.clone()));
    }
}

/// Whether a line inside the weld begins at the weld root and runs towards the face. No
/// border between runs does: the first run covers the root.
fn from_weld_root(shape: &WeldShape, line: &[Point<Joint>]) -> bool {
    let (Some(first), Some(last)) = (line.first(), line.last()) else {
        return false;
    };
    let towards_face = Vector::<Joint>::from_angle(0.5 * shape.riser.angle());
    let root = shape.weld_root();
    let (begin, ahead) = if first.distance(root) <= last.distance(root) {
        let ahead = line.iter().find(|p| p.distance(*first) >= COURSE_MM);
        (first, ahead.unwrap_or(last))
    } else {
        let ahead = line.iter().rev().find(|p| p.distance(*last) >= COURSE_MM);
        (last, ahead.unwrap_or(first))
    };
    let course = *ahead - *begin;
    begin.distance(root) <= AT_WELD_ROOT_MM
        && course.length() > 0.0
        && course.unit().dot(towards_face) >= ALONG_BISECTOR_RAD.cos()
}

fn named((kind, iso_6520): (&str, u32), confidence: f64) -> Finding {
    Finding {
        kind: kind.to_owned(),
        iso_6520,
        confidence,
        ..Finding::default()
    }
}

/// Merit 1 = just enough gives even odds.
fn confidence(merit: f64) -> f64 {
    let odds = merit.powi(STEEPNESS);
    odds / (1.0 + odds)
}
