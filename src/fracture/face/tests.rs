//! Painted coupons: a plate, torn metal, a cap and the other plate on a bench.

use super::*;
use crate::base::geometry::{contains, nearest};
use crate::base::raster::{Gray, gaussian_blur};
use crate::record::Code;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

const SIZE: (usize, usize) = (1100, 900);
/// Half length of the coupon; root line, far edge, toe and the plates' ends
/// across it, px from its middle, root side positive.
const HALF: f64 = 420.0;
const ACROSS: [f64; 5] = [130.0, 45.0, -30.0, -65.0, -170.0];

/// How far the far edge lies off its place: a break does not run straight.
fn wobble(s: f64) -> f64 {
    4.0 * (s / 23.0).sin() + 2.0 * (s / 9.0).cos()
}

/// The coupon turned by `deg`; `torn` false: smooth metal in place of the face.
fn photo(deg: f64, torn: bool) -> Photo {
    let tone = if torn { None } else { Some(110.0) };
    painted(deg, |_, h| tone.filter(|_| h > ACROSS[4]))
}

/// The coupon with `smooth` metal of some tone in place of the torn one at
/// (along the weld, across it), px from its middle.
fn painted(deg: f64, smooth: impl Fn(f64, f64) -> Option<f32>) -> Photo {
    let mut random = ChaCha8Rng::seed_from_u64(11);
    let white = Gray::from_fn(SIZE.0, SIZE.1, |_, _| random.random::<f32>() - 0.5);
    let grains = gaussian_blur(&white, 2.0);
    let streaks: Vec<f32> = (0..2000).map(|_| random.random::<f32>() - 0.5).collect();
    let (sin, cos) = deg.to_radians().sin_cos();
    let luma = Gray::from_fn(SIZE.0, SIZE.1, |x, y| {
        let (dx, dy) = (x as f64 - 549.5, y as f64 - 449.5);
        let (s, h) = (dx * cos + dy * sin, dy * cos - dx * sin);
        let streak = streaks[(s + 1000.0) as usize % 2000];
        let tone = if s.abs() > HALF || !(ACROSS[4]..=ACROSS[0]).contains(&h) {
            60.0
        } else if h > ACROSS[1] {
            125.0 + 14.0 * streak
        } else if h > ACROSS[2] + wobble(s) {
            smooth(s, h).unwrap_or(110.0 + 420.0 * grains.at(x, y))
        } else if h > ACROSS[3] + 4.0 * (s / 47.0).sin() {
            185.0 + 12.0 * (s / 9.0).sin() as f32
        } else {
            100.0
        };
        tone + 4.0 * white.at(x, y)
    });
    let luma = gaussian_blur(&luma, 0.7);
    let rgb = luma
        .samples()
        .iter()
        .flat_map(|v| [v.clamp(0.0, 255.0) as u8; 3])
        .collect();
    Photo::from_rgb(SIZE.0, SIZE.1, rgb).expect("a photo")
}

#[test]
fn a_face_is_found_at_any_rotation_with_its_root_side() {
    for deg in [0.0, 24.0, 97.0, 188.0, 301.0] {
        let found = find(&photo(deg, true), &[], None, None).expect("a face");
        assert_eq!(found.faces.len(), 1, "{deg}°");
        let face = &found.faces[0];
        let (sin, cos) = f64::to_radians(deg).sin_cos();
        let place =
            |s: f64, h: f64| Point::new(550.0 + s * cos - h * sin, 450.0 + s * sin + h * cos);
        // Mean and greatest distance of a line from where it was painted.
        let off = |line: &[Point<Px>], h: f64| -> (f64, f64) {
            let distances: Vec<f64> = (-8..=8)
                .map(|i| f64::from(i) * 50.0)
                .map(|s| place(s, h + if h < 0.0 { wobble(s) } else { 0.0 }))
                .map(|p| nearest(line, p).expect("a line").distance)
                .collect();
            let mean = distances.iter().sum::<f64>() / distances.len() as f64;
            (mean, distances.into_iter().fold(0.0, f64::max))
        };
        for (line, h) in [(&face.root_px, ACROSS[1]), (&face.far_px, ACROSS[2])] {
            let (mean, most) = off(line, h);
            assert!(
                mean < 3.0 && most < 12.0,
                "{deg}°, {h}: off by {mean}, at most {most} px"
            );
        }
        // From end to end: the line itself is longer, as rough as the break.
        let length = face.root_px[0].distance(face.root_px[face.root_px.len() - 1]);
        assert!(
            (length - 2.0 * HALF).abs() < 14.0,
            "{deg}°: {length} px long"
        );
        // With the root side at the bottom it runs from left to right.
        let along = face.root_px[face.root_px.len() - 1] - face.root_px[0];
        let middle = |line: &[Point<Px>]| line[line.len() / 2];
        let up = middle(&face.far_px) - middle(&face.root_px);
        assert!(along.cross(up) < 0.0, "{deg}°: the face runs the wrong way");
        assert!(contains(&flags::outline(face), place(0.0, 0.0)));
    }
}

/// Two oxidised walls as deep as a third of the face, together over a third of its
/// length.
#[test]
fn side_walls_that_never_fused_lie_on_the_face() {
    let wall = |s: f64, h: f64| {
        let tone = if s < 0.0 { 65.0 } else { 85.0 };
        let deep = ACROSS[2] + 25.0 * (1.0 - ((s.abs() - 220.0) / 90.0).powi(2)).max(0.0);
        (h < deep).then_some(tone)
    };
    let found = find(&painted(0.0, wall), &[], None, Some(RootSide::Bottom)).expect("a face");
    let far = &found.faces[0].far_px;
    for s in (-9..=9).map(|i| 44.0 * f64::from(i)) {
        let off = nearest(far, Point::new(550.0 + s, 450.0 + ACROSS[2] + wobble(s)))
            .expect("a line")
            .distance;
        assert!(off < 9.0, "{off} px off at {s}");
    }
}

#[test]
fn a_coupon_without_torn_metal_has_no_face() {
    let reasons = find(&photo(10.0, false), &[], None, None).expect_err("nothing torn");
    assert_eq!(reasons[0].code, Code::NotAFracture);
}

#[test]
fn a_face_of_impossible_size_is_none() {
    // 75 px wide at 2 px/mm: 37 mm.
    assert!(find(&photo(0.0, true), &[], Some(2.0), None).is_err());
    assert!(find(&photo(0.0, true), &[], Some(10.0), None).is_ok());
}

#[test]
fn a_declared_root_side_is_believed() {
    let upper = 450.0 + ACROSS[2];
    for (side, at_top) in [(RootSide::Top, true), (RootSide::Bottom, false)] {
        let found = find(&photo(0.0, true), &[], None, Some(side)).expect("a face");
        let face = &found.faces[0];
        let middle = face.root_px[face.root_px.len() / 2];
        assert_eq!(
            (middle.y - upper).abs() < 20.0,
            at_top,
            "{side:?}: {middle:?}"
        );
        assert!(face.side_is_sure());
        assert!(found.reasons.iter().all(|r| r.code != Code::Ambiguous));
    }
}

#[test]
fn a_strip_along_the_rule_is_bench() {
    // A reference whose border runs along the far edge, and one apart from it.
    let at = |top: f64, bottom: f64| {
        [
            (100.0, top),
            (1000.0, top),
            (1000.0, bottom),
            (100.0, bottom),
        ]
        .map(|(x, y)| Point::new(x, y))
        .to_vec()
    };
    let face = find(&photo(0.0, true), &[], None, None)
        .expect("a face")
        .faces
        .remove(0);
    let far = 450.0 + ACROSS[2];
    assert!(flags::beside_reference(&face, &[at(far - 200.0, far)]));
    assert!(!flags::beside_reference(
        &face,
        &[at(far - 200.0, far - 60.0)]
    ));
}
