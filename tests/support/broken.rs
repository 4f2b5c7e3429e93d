//! The invented broken coupon HR-21 as a record, and plain pictures of it.
//!
//! s runs along the weld from the left end, h from the root line to the cap,
//! both in mm; no analysis code.

use std::collections::BTreeMap;
use toeline::limits::{Profile, judge};
use toeline::record::{
    Coupon, Finding, JointType, Kind, Measurement, Outlines, PhotoFacts, PlacePx, Provenance,
    Quantity, RECORD_VERSION, Record, ScaleEvidence, ScaleFacts, Searched, Status, Tool, Zone,
};
use toeline::report::Straightened;

/// Kinds of finding that are searched for on a face.
pub const SEARCHED: &[&str] = &[
    "inclusion",
    "lack-of-inter-run-fusion",
    "lack-of-root-fusion",
    "lack-of-sidewall-fusion",
    "pore",
    "wormhole",
];

/// The photograph: 1500 × 500 px, 12 px/mm, the coupon turned by 4°.
pub const PHOTO: (usize, usize) = (1500, 500);
const PX_PER_MM: f64 = 12.0;
const TURN_DEG: f64 = 4.0;
/// Length of the coupon and height of its face, mm.
pub const LENGTH_MM: f64 = 110.0;
pub const FACE_MM: f64 = 7.0;

type Sh = [f64; 2];

/// Where a place of the face lies in the photograph.
pub fn px([s, h]: Sh) -> PlacePx {
    let (sin, cos) = TURN_DEG.to_radians().sin_cos();
    let (x, y) = (PX_PER_MM * s, -PX_PER_MM * h);
    [90.0 + x * cos - y * sin, 250.0 + x * sin + y * cos]
}

/// The inverse of [`px`].
pub fn place([x, y]: PlacePx) -> Sh {
    let (sin, cos) = TURN_DEG.to_radians().sin_cos();
    let (x, y) = (x - 90.0, y - 250.0);
    [
        (x * cos + y * sin) / PX_PER_MM,
        (x * sin - y * cos) / PX_PER_MM,
    ]
}

fn line(sh: &[Sh]) -> Vec<PlacePx> {
    sh.iter().map(|p| px(*p)).collect()
}

fn block(start: f64, end: f64, low: f64, high: f64) -> Vec<Sh> {
    vec![[start, low], [end, low], [end, high], [start, high]]
}

fn ring(s: f64, h: f64, diameter: f64) -> Vec<Sh> {
    (0..20)
        .map(|i| {
            let angle = f64::from(i) * std::f64::consts::TAU / 20.0;
            [
                s + diameter / 2.0 * angle.cos(),
                h + diameter / 2.0 * angle.sin(),
            ]
        })
        .collect()
}

fn quantity(value: f64, expanded_uncertainty: f64) -> Option<Quantity> {
    Some(Quantity {
        value,
        expanded_uncertainty,
    })
}

/// Lack of fusion from `start` to `end`, `low` to `high` above the root line.
pub fn unfused(kind: &str, start: f64, end: f64, low: f64, high: f64) -> Finding {
    let iso_6520 = match kind {
        "lack-of-root-fusion" => 4013,
        "lack-of-inter-run-fusion" => 4012,
        _ => 4011,
    };
    Finding {
        kind: kind.to_owned(),
        iso_6520,
        length_mm: quantity(end - start, 0.8),
        start_mm: Some(start),
        end_mm: Some(end),
        depth_max_mm: quantity(high - low, 0.3),
        depth_mean_mm: quantity(0.8 * (high - low), 0.3),
        area_mm2: quantity((end - start) * (high - low), 1.0),
        offset_from_root_mm: Some((low + high) / 2.0),
        outline_px: line(&block(start, end, low, high)),
        centre_px: Some(px([(start + end) / 2.0, (low + high) / 2.0])),
        confidence: 0.97,
        ..Finding::default()
    }
}

/// A pore, wormhole or inclusion.
pub fn flaw(kind: &str, at: f64, h: f64, size: f64) -> Finding {
    Finding {
        kind: kind.to_owned(),
        iso_6520: match kind {
            "pore" => 2011,
            "wormhole" => 2016,
            _ => 300,
        },
        at_mm: Some(at),
        offset_from_root_mm: Some(h),
        greatest_dimension_mm: quantity(size, 0.1),
        area_mm2: quantity(0.7 * size * size, 0.1),
        outline_px: line(&ring(at, h, size)),
        centre_px: Some(px([at, h])),
        confidence: 0.88,
        ..Finding::default()
    }
}

/// HR-21: root not fused over 9 mm, 14 mm not fused between passes, a pore, two
/// small ones, an inclusion, and a pore in the discarded left end.
pub fn findings() -> Vec<Finding> {
    let mut discarded = flaw("pore", 2.0, 3.0, 0.9);
    discarded.greatest_dimension_mm = None;
    discarded.area_mm2 = None;
    vec![
        discarded,
        unfused("lack-of-root-fusion", 20.0, 29.0, 0.0, 1.5),
        unfused("lack-of-inter-run-fusion", 42.0, 56.0, 3.0, 4.8),
        flaw("pore", 63.0, 2.4, 1.2),
        flaw("pore", 66.0, 3.4, 0.5),
        flaw("pore", 68.0, 3.6, 0.6),
        flaw("inclusion", 80.0, 4.0, 2.0),
    ]
}

/// What a face with these findings measures, over 100 mm of weld.
pub fn measurements(findings: &[Finding]) -> BTreeMap<String, Measurement> {
    let length = |kind: &str| -> f64 {
        let of_kind = findings.iter().filter(|f| f.kind == kind);
        of_kind.filter_map(|f| f.length_mm).map(|q| q.value).sum()
    };
    let sizes: Vec<f64> = findings
        .iter()
        .filter_map(|f| f.greatest_dimension_mm)
        .map(|q| q.value)
        .collect();
    let (evaluated, face) = (100.0, 100.0 * FACE_MM);
    let root = length("lack-of-root-fusion");
    let inter_run = length("lack-of-inter-run-fusion");
    let sidewall = length("lack-of-sidewall-fusion");
    let mut all = BTreeMap::new();
    let mut put = |name: &str, value: f64, u: f64| {
        all.insert(name.to_owned(), Measurement::measured(value, u, vec![]));
    };
    put("evaluated_length_mm", evaluated, 0.3);
    put("discard_left_mm", 5.0, 0.5);
    put("discard_right_mm", 5.0, 0.5);
    put("face_area_mm2", face, 8.0);
    put("root_unfused_length_mm", root, 0.4);
    put("root_unfused_percent", root, 0.4);
    put("root_unfused_longest_mm", root, 0.4);
    put("root_unfused_depth_max_mm", 1.5, 0.15);
    put("root_unfused_area_mm2", 13.5, 0.6);
    put("inter_run_unfused_length_mm", inter_run, 0.4);
    put("inter_run_unfused_percent", inter_run, 0.4);
    put("inter_run_unfused_area_mm2", 25.2, 1.0);
    put("sidewall_unfused_length_mm", sidewall, 0.4);
    put("sidewall_unfused_percent", sidewall, 0.4);
    put("sidewall_unfused_area_mm2", 0.0, 0.1);
    put("flaw_sum_mm", sizes.iter().sum(), 0.1);
    put(
        "flaw_largest_mm",
        sizes.iter().copied().fold(0.0, f64::max),
        0.05,
    );
    put("flaw_count", sizes.len() as f64, 0.2);
    put("unfused_area_percent", 5.5, 0.4);
    put("fractured_area_percent", 94.0, 0.5);
    for (name, ends) in [
        ("unfused_area_percent", [5.1, 7.0]),
        ("fractured_area_percent", [92.4, 94.6]),
    ] {
        all.get_mut(name).unwrap().interval = Some(ends);
    }
    all.get_mut("evaluated_length_mm").unwrap().drawn_px = line(&[[5.0, 0.0], [105.0, 0.0]]);
    all
}

/// What was declared of HR-21.
pub fn coupon() -> Coupon {
    Coupon {
        id: Some("HR-21".to_owned()),
        joint: Some(JointType::Tee),
        throat_mm: Some(5.0),
        passes: Some(3),
        discard_mm: Some(5.0),
        ..Coupon::default()
    }
}

/// The record of HR-21, with its verdict by the limits profile named.
pub fn record(profile: Option<&str>) -> Record {
    with(coupon(), findings(), profile)
}

/// A record of these findings.
pub fn with(coupon: Coupon, findings: Vec<Finding>, profile: Option<&str>) -> Record {
    let measurements = measurements(&findings);
    let verdict = profile.map(|name| {
        judge(
            &Profile::named(name).unwrap(),
            &coupon,
            &measurements,
            &findings,
            SEARCHED,
        )
    });
    let class = |finding: &Finding| {
        match finding.kind.as_str() {
            "lack-of-root-fusion" => "root-unfused",
            "lack-of-inter-run-fusion" => "inter-run-unfused",
            "lack-of-sidewall-fusion" => "sidewall-unfused",
            other => other,
        }
        .to_owned()
    };
    let face = block(0.0, LENGTH_MM, 0.0, FACE_MM);
    Record {
        record: RECORD_VERSION,
        tool: Tool {
            name: "toeline".to_owned(),
            version: "0.1.0".to_owned(),
        },
        kind: Kind::Fracture,
        coupon,
        photo: PhotoFacts {
            file: "HR-21.jpg".to_owned(),
            sha256: "0".repeat(64),
            width_px: PHOTO.0 as u32,
            height_px: PHOTO.1 as u32,
            format: Some("JPEG".to_owned()),
            orientation: Some(1),
            notes: vec![],
            capture: BTreeMap::new(),
        },
        status: Status::Measured,
        searched: SEARCHED
            .iter()
            .map(|kind| Searched::any_size(kind))
            .collect(),
        reasons: vec![],
        scale: Some(ScaleFacts {
            source: "length:110".to_owned(),
            px_per_mm: PX_PER_MM,
            standard_uncertainty_rel: 0.01,
            tilt_deg: None,
            at_px: None,
            evidence: ScaleEvidence::default(),
        }),
        weld_index: Some(0),
        outlines_px: Outlines {
            face_strip: line(&face),
            root_side: line(&[[0.0, 0.0], [LENGTH_MM, 0.0]]),
            zones: findings
                .iter()
                .map(|finding| Zone {
                    class: class(finding),
                    outline: finding.outline_px.clone(),
                })
                .collect(),
            ..Outlines::default()
        },
        measurements,
        findings,
        other_welds: vec![],
        verdict,
        provenance: Provenance::default(),
    }
}

/// The photograph: torn metal a middle grey, all else darker; interleaved RGB.
pub fn photograph() -> Vec<u8> {
    let (width, height) = PHOTO;
    let mut rgb = Vec::with_capacity(3 * width * height);
    for y in 0..height {
        for x in 0..width {
            let [s, h] = place([x as f64 + 0.5, y as f64 + 0.5]);
            let on_face = (0.0..LENGTH_MM).contains(&s) && (0.0..FACE_MM).contains(&h);
            rgb.extend([if on_face { 128 } else { 60 }; 3]);
        }
    }
    rgb
}

/// The face laid straight, 15 px/mm with a millimetre to spare above and
/// below, all of one grey.
pub fn straightened() -> Straightened<'static> {
    let (width, height) = (
        (LENGTH_MM * 15.0) as usize,
        ((FACE_MM + 2.0) * 15.0) as usize,
    );
    Straightened {
        rgb: vec![128; 3 * width * height],
        width,
        height,
        px_per_mm: 15.0,
        top_mm: FACE_MM + 1.0,
        place: Box::new(place),
    }
}
