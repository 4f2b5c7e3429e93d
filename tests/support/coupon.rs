//! The invented coupon HR-07 as a record, and a plain drawn picture of it.
//!
//! Drawn with no analysis code: shapes in mm, filled by a point-in-polygon test.

use std::collections::BTreeMap;
use toeline::limits::{Profile, judge};
use toeline::record::{
    Code, Coupon, Finding, JointType, Kind, Material, Measurement, Outlines, PhotoFacts, PlacePx,
    Provenance, RECORD_VERSION, Reason, Record, ScaleEvidence, ScaleFacts, Searched, Status, Toes,
    Tool,
};

/// How the coupon lies in its picture.
#[derive(Clone, Copy)]
pub struct Scene {
    pub width: usize,
    pub height: usize,
    pub px_per_mm: f64,
    pub rotation_deg: f64,
}

/// A picture in which the weld fills the middle.
pub const NEAR: Scene = Scene {
    width: 1200,
    height: 900,
    px_per_mm: 50.0,
    rotation_deg: 11.0,
};

/// A 12 MP picture in which the weld is small.
pub const FAR: Scene = Scene {
    width: 4000,
    height: 3000,
    px_per_mm: 60.0,
    rotation_deg: -160.0,
};

type Mm = [f64; 2];

const FACE: &[Mm] = &[
    [0.0, 5.4],
    [0.9, 5.0],
    [2.2, 4.1],
    [3.5, 3.1],
    [4.7, 2.1],
    [5.8, 1.0],
    [6.6, 0.0],
];
const FUSION_BUTTING: &[Mm] = &[
    [0.0, 5.4],
    [-0.7, 4.4],
    [-1.2, 3.0],
    [-1.4, 1.4],
    [-1.5, 0.4],
    [-1.2, -0.5],
];
const FUSION_NONBUTTING: &[Mm] = &[
    [-1.2, -0.5],
    [0.4, -1.5],
    [2.4, -1.8],
    [4.6, -1.4],
    [5.9, -0.7],
    [6.6, 0.0],
];
const BUTTING_PLATE: &[Mm] = &[[-10.0, 0.0], [0.0, 0.0], [0.0, 30.0], [-10.0, 30.0]];
const NONBUTTING_PLATE: &[Mm] = &[[-30.0, -12.0], [30.0, -12.0], [30.0, 0.0], [-30.0, 0.0]];
const PORE: Mm = [2.6, 1.6];
const RULE: &[Mm] = &[[8.0, 12.0], [33.0, 12.0], [33.0, 17.0], [8.0, 17.0]];

impl Scene {
    /// Where a place of the section lies in the picture.
    pub fn px(&self, [x, y]: Mm) -> PlacePx {
        let (sin, cos) = self.rotation_deg.to_radians().sin_cos();
        let (x, y) = (x - 1.5, -(y - 1.5));
        [
            self.width as f64 / 2.0 + self.px_per_mm * (x * cos - y * sin),
            self.height as f64 / 2.0 + self.px_per_mm * (x * sin + y * cos),
        ]
    }

    fn line(&self, mm: &[Mm]) -> Vec<PlacePx> {
        mm.iter().map(|p| self.px(*p)).collect()
    }

    fn mm(&self, [x, y]: PlacePx) -> Mm {
        let (sin, cos) = self.rotation_deg.to_radians().sin_cos();
        let (u, v) = (
            (x - self.width as f64 / 2.0) / self.px_per_mm,
            (y - self.height as f64 / 2.0) / self.px_per_mm,
        );
        [u * cos + v * sin + 1.5, u * sin - v * cos + 1.5]
    }

    /// The picture: interleaved RGB.
    pub fn picture(&self) -> Vec<u8> {
        let weld = weld_outline();
        let wider: Vec<Mm> = weld
            .iter()
            .map(|[x, y]| [1.5 + (x - 1.5) * 1.35, 1.2 + (y - 1.2) * 1.35])
            .collect();
        let mut rgb = Vec::with_capacity(self.width * self.height * 3);
        for row in 0..self.height {
            for column in 0..self.width {
                let p = self.mm([column as f64 + 0.5, row as f64 + 0.5]);
                // A little grain that is the same every time.
                let grain = ((column * 7919 + row * 104_729) % 13) as i32 - 6;
                let in_plate = inside(BUTTING_PLATE, p) || inside(NONBUTTING_PLATE, p);
                let gray = if inside(&weld, p) {
                    if (p[0] - PORE[0]).hypot(p[1] - PORE[1]) < 0.3 {
                        30
                    } else {
                        185
                    }
                } else if in_plate && inside(&wider, p) {
                    95
                } else if in_plate {
                    145
                } else if inside(RULE, p) {
                    let tick = (p[0] - p[0].round()).abs() < 0.07 && p[1] < 14.0;
                    if tick { 40 } else { 215 }
                } else {
                    48
                };
                let value = (gray + grain).clamp(0, 255) as u8;
                rgb.extend([value, value, value.saturating_sub(6)]);
            }
        }
        rgb
    }

    /// The record, with its verdict by the limits profile named.
    pub fn record(&self, profile: &str) -> Record {
        let coupon = coupon();
        let measurements = self.measurements();
        let findings = vec![self.pore()];
        let verdict = judge(
            &Profile::named(profile).unwrap(),
            &coupon,
            &measurements,
            &findings,
            &["pore"],
        );
        Record {
            record: RECORD_VERSION,
            tool: Tool {
                name: "toeline".to_owned(),
                version: "0.1.0".to_owned(),
            },
            kind: Kind::Section,
            coupon,
            photo: PhotoFacts {
                file: "HR-07.jpg".to_owned(),
                sha256: "0".repeat(64),
                width_px: self.width as u32,
                height_px: self.height as u32,
                format: Some("JPEG".to_owned()),
                orientation: Some(1),
                notes: vec!["8-bit colour".to_owned()],
                capture: BTreeMap::from([
                    ("sharpness_mm".to_owned(), 0.06),
                    ("clipped_percent".to_owned(), 0.4),
                ]),
            },
            status: Status::PartlyMeasured,
            searched: vec![Searched::any_size("pore")],
            reasons: vec![Reason::new(
                Code::BoundaryUnclear,
                "passes cannot be told apart in this picture",
                "polish to a finer grit and etch again, a little longer",
            )],
            scale: Some(ScaleFacts {
                source: "rule-mm".to_owned(),
                px_per_mm: self.px_per_mm,
                standard_uncertainty_rel: 0.002,
                tilt_deg: Some(1.2),
                at_px: Some(self.px([20.0, 14.0])),
                evidence: ScaleEvidence {
                    ticks: Some(25),
                    residual_px: Some(0.21),
                    cross_checks: vec!["The two halves of the rule agree to 0.08 %.".to_owned()],
                    outline_px: self.line(RULE),
                    ..ScaleEvidence::default()
                },
            }),
            weld_index: Some(0),
            measurements,
            outlines_px: self.outlines(),
            findings,
            other_welds: vec![],
            verdict: Some(verdict),
            provenance: Provenance {
                settings: BTreeMap::from([
                    ("limits".to_owned(), profile.to_owned()),
                    ("scale".to_owned(), "rule-mm".to_owned()),
                ]),
                random_seed: 7,
                corrections: vec![],
                timings_ms: BTreeMap::from([("photo".to_owned(), 70.0)]),
            },
        }
    }

    fn pore(&self) -> Finding {
        let ring = (0..16).map(|i| {
            let angle = f64::from(i) * std::f64::consts::TAU / 16.0;
            self.px([PORE[0] + 0.3 * angle.cos(), PORE[1] + 0.3 * angle.sin()])
        });
        Finding {
            kind: "pore".to_owned(),
            iso_6520: 2011,
            length_mm: Some(toeline::record::Quantity {
                value: 0.6,
                expanded_uncertainty: 0.1,
            }),
            outline_px: ring.collect(),
            centre_px: Some(self.px(PORE)),
            polyline_px: vec![],
            passes: vec![],
            confidence: 0.8,
            ..Finding::default()
        }
    }

    fn outlines(&self) -> Outlines {
        Outlines {
            weld_metal: self.line(&weld_outline()),
            fusion_boundary_butting: self.line(FUSION_BUTTING),
            fusion_boundary_nonbutting: self.line(FUSION_NONBUTTING),
            face: self.line(FACE),
            toes: Some(Toes {
                butting: self.px([0.0, 5.4]),
                nonbutting: self.px([6.6, 0.0]),
            }),
            joint_root: Some(self.px([0.0, 0.0])),
            passes: vec![],
            plates: vec![
                self.line(&[[0.0, 5.4], [0.0, 20.0]]),
                self.line(&[[6.6, 0.0], [25.0, 0.0]]),
            ],
            ..Outlines::default()
        }
    }

    fn measurements(&self) -> BTreeMap<String, Measurement> {
        let m = |name: &str, value: f64, u: f64, drawn: &[Mm]| {
            (
                name.to_owned(),
                Measurement::measured(value, u, self.line(drawn)),
            )
        };
        let mut all = BTreeMap::from([
            m("leg_butting_mm", 5.4, 0.06, &[[0.0, 0.0], [0.0, 5.4]]),
            m("leg_nonbutting_mm", 6.6, 0.06, &[[0.0, 0.0], [6.6, 0.0]]),
            m("leg_difference_mm", 1.2, 0.08, &[]),
            m("inscribed_throat_mm", 3.82, 0.05, &[[0.0, 0.0], [2.7, 2.7]]),
            m("actual_throat_mm", 4.46, 0.05, &[[0.0, 0.0], [3.2, 3.3]]),
            m(
                "effective_throat_mm",
                5.7,
                0.12,
                &[[-1.2, -0.5], [3.2, 3.3]],
            ),
            m("convexity_mm", 0.54, 0.05, &[]),
            m("face_width_mm", 8.53, 0.07, &[]),
            m("toe_angle_butting_deg", 116.0, 4.0, &[]),
            m("toe_angle_nonbutting_deg", 128.0, 4.0, &[]),
            m("undercut_butting_mm", 0.0, 0.03, &[]),
            m("undercut_nonbutting_mm", 0.0, 0.03, &[]),
            m("overlap_butting_mm", 0.0, 0.03, &[]),
            m("overlap_nonbutting_mm", 0.0, 0.03, &[]),
            m("penetration_butting_mm", 1.5, 0.1, &[]),
            m("penetration_nonbutting_mm", 1.8, 0.1, &[]),
            m("root_penetration_mm", 1.2, 0.15, &[]),
            m("root_gap_mm", 0.1, 0.05, &[]),
            m("weld_area_mm2", 36.2, 0.9, &[]),
        ]);
        all.insert(
            "pass_count".to_owned(),
            Measurement::not_assessed("passes cannot be told apart in this picture"),
        );
        all
    }
}

/// What was declared of HR-07.
pub fn coupon() -> Coupon {
    Coupon {
        id: Some("HR-07".to_owned()),
        joint: Some(JointType::Tee),
        dihedral_deg: Some(90.0),
        thickness_butting_mm: Some(10.0),
        thickness_nonbutting_mm: Some(12.0),
        leg_mm: Some(6.0),
        passes: Some(1),
        material: Some(Material::CarbonSteel),
        ..Coupon::default()
    }
}

/// A record of a photograph in which nothing could be measured.
pub fn refused() -> Record {
    let mut record = NEAR.record("iso5817-c");
    record.status = Status::Refused;
    record.reasons = vec![Reason::new(
        Code::NoScale,
        "no scale was found in the photograph",
        "lay a steel rule beside the section, its marks in the plane of the etched face, or \
         declare the scale with --scale declared:PXPERMM",
    )];
    record.scale = None;
    record.weld_index = None;
    record.measurements.clear();
    record.outlines_px = Outlines::default();
    record.findings.clear();
    record.verdict = None;
    record
}

fn weld_outline() -> Vec<Mm> {
    let mut outline: Vec<Mm> = FACE.to_vec();
    outline.extend(FUSION_NONBUTTING.iter().rev().skip(1));
    outline.extend(FUSION_BUTTING.iter().rev().skip(1));
    outline
}

fn inside(ring: &[Mm], [x, y]: Mm) -> bool {
    let mut odd = false;
    let mut previous = ring[ring.len() - 1];
    for &point in ring {
        if (point[1] > y) != (previous[1] > y)
            && x < point[0] + (y - point[1]) * (previous[0] - point[0]) / (previous[1] - point[1])
        {
            odd = !odd;
        }
        previous = point;
    }
    odd
}
