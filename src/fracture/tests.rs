//! Whole faces painted here, measured through a declared scale.

use super::*;
use crate::scale::{Request, Source};

const PX_PER_MM: f64 = 16.0;
const LENGTH_MM: f64 = 75.0;
const HEIGHT_MM: f64 = 8.0;
/// Photograph rows of the far edge and of the root line.
const FAR_PX: f64 = 48.0;
const ROOT_PX: f64 = FAR_PX + HEIGHT_MM * PX_PER_MM;

/// A number from 0 to 1 that looks random.
fn chance(x: i64, y: i64, seed: u64) -> f64 {
    let mut v = seed
        ^ (x as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15)
        ^ (y as u64).wrapping_mul(0xc2b2_ae3d_27d4_eb4f);
    for _ in 0..3 {
        v = (v ^ (v >> 31)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    }
    (v >> 11) as f64 / (1u64 << 53) as f64
}

/// Uneven ground with bumps of `size` mm, about −1 … 1.
fn bumps(s: f64, h: f64, size: f64, seed: u64) -> f64 {
    let (x, y) = (s / size, h / size);
    let (i, j) = (x.floor(), y.floor());
    let at = |a: f64, b: f64| 2.0 * chance((i + a) as i64, (j + b) as i64, seed) - 1.0;
    let (u, v) = (x - i, y - j);
    let low = at(0.0, 0.0) * (1.0 - u) + at(1.0, 0.0) * u;
    let high = at(0.0, 1.0) * (1.0 - u) + at(1.0, 1.0) * u;
    low * (1.0 - v) + high * v
}

/// What the face shows at a place, beside torn metal.
#[derive(Clone, Copy)]
enum Shows {
    Torn,
    Plate,
    Pore,
}

/// A face of torn metal with whatever `shows` says, under light that falls to
/// `dim` at its right end.
fn photograph(shows: impl Fn(f64, f64) -> Shows, dim: f64) -> Photo {
    let (w, h) = ((LENGTH_MM * PX_PER_MM) as usize, (ROOT_PX + 48.0) as usize);
    let mut rgb = Vec::with_capacity(3 * w * h);
    for y in 0..h {
        for x in 0..w {
            let (s, up) = (
                (x as f64 + 0.5) / PX_PER_MM,
                (ROOT_PX - y as f64 - 0.5) / PX_PER_MM,
            );
            let plate = 95.0 + 2.0 * bumps(s / 8.0, up, 0.15, 3);
            let torn = 110.0
                + 22.0 * bumps(s, up, 0.2, 1)
                + 14.0 * bumps(s, up, 0.35, 2)
                + 6.0 * bumps(s, up, 0.8, 4);
            let tone = match shows(s, up) {
                _ if !(0.0..HEIGHT_MM).contains(&up) => plate,
                Shows::Torn => torn,
                Shows::Plate => plate,
                Shows::Pore => 18.0,
            };
            let light = 1.0 - (1.0 - dim) * s / LENGTH_MM;
            rgb.extend([(tone * light).clamp(0.0, 255.0) as u8; 3]);
        }
    }
    Photo::from_rgb(w, h, rgb).unwrap()
}

fn measured(shows: impl Fn(f64, f64) -> Shows, dim: f64, discard_mm: Option<f64>) -> Fracture {
    let photo = photograph(shows, dim);
    let request = Request::of(Source::Declared {
        px_per_mm: PX_PER_MM,
    });
    let scale = crate::scale::find(&photo, &request).unwrap();
    let line = |y: f64| {
        (0..=75)
            .map(|i| Point::new(f64::from(i) * PX_PER_MM, y))
            .collect()
    };
    let face = Face {
        root_px: line(ROOT_PX),
        far_px: line(FAR_PX),
        far_doubt_px: 0.0,
        whole: true,
        side_confidence: 1.0,
    };
    let declared = Coupon {
        discard_mm,
        ..Coupon::default()
    };
    measure(&photo, &scale, &[face], &declared, 1).unwrap()
}

/// Plate to 1.5 mm above the root line from 20 to 40 mm, a pore of 1.2 mm.
fn faulty(s: f64, h: f64) -> Shows {
    if (20.0..40.0).contains(&s) && h < 1.5 {
        Shows::Plate
    } else if (s - 55.0).hypot(h - 4.0) < 0.6 {
        Shows::Pore
    } else {
        Shows::Torn
    }
}

fn value(fracture: &Fracture, name: &str) -> f64 {
    fracture.measurements[name].value.unwrap()
}

#[test]
fn an_unfused_root_and_a_pore_are_measured() {
    let fracture = measured(faulty, 1.0, None);
    assert!((value(&fracture, "root_unfused_length_mm") - 20.0).abs() < 1.5);
    assert!((value(&fracture, "root_unfused_depth_max_mm") - 1.5).abs() < 0.35);
    assert!((value(&fracture, "root_unfused_area_mm2") - 30.0).abs() < 4.0);
    assert!((value(&fracture, "flaw_sum_mm") - 1.2).abs() < 0.3);
    assert_eq!(value(&fracture, "flaw_count"), 1.0);
    assert!((value(&fracture, "face_area_mm2") - LENGTH_MM * HEIGHT_MM).abs() < 2.0);
    let kinds: Vec<&str> = fracture.findings.iter().map(|f| f.kind.as_str()).collect();
    assert_eq!(kinds, ["lack-of-root-fusion", "pore"]);
    let pore = &fracture.findings[1];
    assert!((pore.at_mm.unwrap() - 55.0).abs() < 0.2);
    assert!((pore.offset_from_root_mm.unwrap() - 4.0).abs() < 0.2);
    let [x, y] = pore.centre_px.unwrap();
    assert!((x - 55.0 * PX_PER_MM).abs() < 4.0 && (y - (ROOT_PX - 4.0 * PX_PER_MM)).abs() < 4.0);
    for (name, m) in &fracture.measurements {
        assert!(m.standard_uncertainty.unwrap().is_finite(), "{name}");
        if let (Some([low, high]), Some(v)) = (m.interval, m.value) {
            assert!(low <= v && v <= high, "{name}: {low} {v} {high}");
        }
    }
}

#[test]
fn a_sound_face_stays_sound_also_under_falling_light() {
    for dim in [1.0, 0.4] {
        let fracture = measured(|_, _| Shows::Torn, dim, None);
        assert_eq!(value(&fracture, "root_unfused_length_mm"), 0.0);
        assert_eq!(value(&fracture, "inter_run_unfused_length_mm"), 0.0);
        assert_eq!(value(&fracture, "flaw_count"), 0.0);
        assert!(value(&fracture, "fractured_area_percent") > 99.0);
    }
    let dimmed = measured(faulty, 0.4, None);
    assert!((value(&dimmed, "root_unfused_length_mm") - 20.0).abs() < 1.5);
}

#[test]
fn discarded_ends_are_seen_and_do_not_count() {
    let fracture = measured(faulty, 1.0, Some(25.0));
    assert!((value(&fracture, "evaluated_length_mm") - 25.0).abs() < 0.1);
    // From 25 to 40 mm of the band; the pore at 55 mm lies in the discard.
    assert!((value(&fracture, "root_unfused_length_mm") - 15.0).abs() < 1.0);
    assert_eq!(value(&fracture, "flaw_sum_mm"), 0.0);
    let root = &fracture.findings[0];
    assert!((root.start_mm.unwrap() - 25.0).abs() < 0.2);
    assert!(root.length_mm.is_some());
    let pore = &fracture.findings[1];
    assert!(pore.at_mm.is_some() && pore.greatest_dimension_mm.is_none());
}

#[test]
fn no_face_is_a_reason_and_no_panic() {
    let photo = photograph(|_, _| Shows::Torn, 1.0);
    let request = Request::of(Source::Declared {
        px_per_mm: PX_PER_MM,
    });
    let scale = crate::scale::find(&photo, &request).unwrap();
    let point = Face {
        root_px: vec![Point::new(5.0, 5.0)],
        far_px: Vec::new(),
        far_doubt_px: 0.0,
        whole: true,
        side_confidence: 0.5,
    };
    for faces in [vec![], vec![point]] {
        let reasons = measure(&photo, &scale, &faces, &Coupon::default(), 1).unwrap_err();
        assert_eq!(reasons[0].code, Code::NotAFracture);
    }
}
