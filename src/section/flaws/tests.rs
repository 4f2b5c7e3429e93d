//! Small bitmaps painted here: a flat fillet of 8 mm legs, weld metal a little
//! darker than the plates, grain as noise, and one thing to be found or not.

use super::*;
use crate::record::{Measurement, Outlines, Toes};
use crate::scale::{self, Request, Source};
use std::collections::BTreeMap;

const PX_PER_MM: f64 = 25.0;
const SIZE_PX: usize = 360;
/// Joint root, px; the nonbutting surface runs right, the butting one up.
const ROOT_PX: [f64; 2] = [90.0, 280.0];
const LEG_MM: f64 = 8.0;

/// Share of light at a place of the joint's frame, mm; 1 = untouched.
type Paint = dyn Fn(f64, f64) -> f64;

fn px(x: f64, y: f64) -> [f64; 2] {
    [ROOT_PX[0] + x * PX_PER_MM, ROOT_PX[1] - y * PX_PER_MM]
}

/// The weld with `paint` over it, searched.
fn searched_weld(paint: &Paint) -> Weld {
    let mut seed = 1u32;
    let mut rgb = Vec::with_capacity(3 * SIZE_PX * SIZE_PX);
    // Four samples a pixel side, so that edges are as soft as a lens draws them.
    for row in 0..SIZE_PX {
        for column in 0..SIZE_PX {
            let mut light = 0.0;
            for k in 0..16 {
                let (dx, dy) = (
                    f64::from(k % 4) / 4.0 + 0.125,
                    f64::from(k / 4) / 4.0 + 0.125,
                );
                let x = (column as f64 + dx - ROOT_PX[0]) / PX_PER_MM;
                let y = (ROOT_PX[1] - row as f64 - dy) / PX_PER_MM;
                let base = if x > 0.0 && y > 0.0 && x + y > LEG_MM {
                    25.0
                } else if x + y <= LEG_MM && x.hypot(y) < LEG_MM && x > -1.0 && y > -1.0 {
                    140.0
                } else {
                    170.0
                };
                light += base * paint(x, y) / 16.0;
            }
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let grain = f64::from(seed >> 24) / 255.0 - 0.5;
            rgb.extend([(light + 8.0 * grain).clamp(0.0, 255.0) as u8; 3]);
        }
    }
    let photo = Photo::from_rgb(SIZE_PX, SIZE_PX, rgb).unwrap();
    let declared = Request::of(Source::Declared {
        px_per_mm: PX_PER_MM,
    });
    let scale = scale::find(&photo, &declared).unwrap();
    let face: Vec<_> = (0..=40)
        .map(|i| {
            let x = LEG_MM * f64::from(i) / 40.0;
            px(x, LEG_MM - x)
        })
        .collect();
    let mut metal = face.clone();
    metal.extend([px(4.0, -1.0), px(-0.8, -0.8), px(-1.0, 4.0)]);
    let mut weld = Weld {
        centre: Point::new(ROOT_PX[0] + 60.0, ROOT_PX[1] - 60.0),
        measurements: BTreeMap::from([(
            "root_penetration_mm".to_owned(),
            Measurement::measured(0.8, 0.1, Vec::new()),
        )]),
        outlines_px: Outlines {
            weld_metal: metal,
            face,
            toes: Some(Toes {
                butting: px(0.0, LEG_MM),
                nonbutting: px(LEG_MM, 0.0),
            }),
            joint_root: Some(ROOT_PX),
            plates: vec![vec![ROOT_PX, px(10.0, 0.0)], vec![ROOT_PX, px(0.0, 10.0)]],
            ..Outlines::default()
        },
        findings: Vec::new(),
        searched: Vec::new(),
        reasons: Vec::new(),
        scale_checks: Vec::new(),
        note: None,
    };
    search(&photo, &scale, None, &mut weld);
    assert!(!weld.searched.is_empty(), "the search ran");
    weld
}

/// Black within half a width of the straight line from `a` to `b`, mm.
fn line(a: [f64; 2], b: [f64; 2], width: f64, black: f64) -> impl Fn(f64, f64) -> f64 {
    move |x, y| {
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let t = (((x - a[0]) * dx + (y - a[1]) * dy) / dx.hypot(dy).powi(2)).clamp(0.0, 1.0);
        let off = (x - a[0] - t * dx).hypot(y - a[1] - t * dy);
        if off <= 0.5 * width { black } else { 1.0 }
    }
}

fn disc(centre: [f64; 2], diameter: f64, x: f64, y: f64) -> bool {
    (x - centre[0]).hypot(y - centre[1]) <= 0.5 * diameter
}

fn kinds(weld: &Weld) -> Vec<&str> {
    weld.findings.iter().map(|f| f.kind.as_str()).collect()
}

#[test]
fn sound_metal_has_no_flaw() {
    assert!(kinds(&searched_weld(&|_, _| 1.0)).is_empty());
}

#[test]
fn a_thin_dark_line_in_the_metal_is_found_with_its_ends() {
    let (a, b) = ([1.0, 2.0], [2.6, 3.2]);
    let weld = searched_weld(&line(a, b, 0.1, 0.1));
    assert_eq!(kinds(&weld), ["lack-of-inter-run-fusion"]);
    let found = &weld.findings[0];
    let length = found.length_mm.unwrap();
    assert!((length.value - 2.0).abs() < 0.15, "{length:?}");
    assert!((length.value - 2.0).abs() <= length.expanded_uncertainty);
    assert!((found.width_mm.unwrap().value - 0.1).abs() < 0.05);
    for end in [a, b] {
        let [x, y] = px(end[0], end[1]);
        let off = found
            .polyline_px
            .iter()
            .map(|p| (p[0] - x).hypot(p[1] - y) / PX_PER_MM)
            .fold(f64::MAX, f64::min);
        assert!(off < 0.1, "end off by {off} mm");
    }
}

#[test]
fn a_line_on_an_original_surface_is_a_side_wall() {
    let weld = searched_weld(&line([4.5, 0.0], [6.0, 0.0], 0.1, 0.1));
    assert_eq!(kinds(&weld), ["lack-of-sidewall-fusion"]);
}

#[test]
fn a_line_from_the_root_makes_root_penetration_negative() {
    let weld = searched_weld(&line([-3.0, 0.0], [1.5, 0.0], 0.1, 0.1));
    assert_eq!(kinds(&weld), ["lack-of-root-fusion"]);
    let penetration = weld.measurements["root_penetration_mm"].value.unwrap();
    assert!((penetration + 1.5).abs() < 0.1, "{penetration}");
    assert!(weld.measurements.contains_key("effective_throat_mm"));
}

#[test]
fn a_gap_that_ends_at_the_weld_root_is_no_flaw() {
    let weld = searched_weld(&line([-3.0, 0.15], [-0.9, 0.15], 0.3, 0.1));
    assert!(kinds(&weld).is_empty(), "{:?}", kinds(&weld));
    assert_eq!(weld.measurements["root_penetration_mm"].value, Some(0.8));
}

#[test]
fn a_scratch_that_goes_on_outside_is_no_flaw() {
    let weld = searched_weld(&line([3.0, -2.5], [-2.5, 5.0], 0.08, 0.2));
    assert!(kinds(&weld).is_empty(), "{:?}", kinds(&weld));
}

#[test]
fn a_step_and_an_etched_boundary_are_no_flaws() {
    let step = searched_weld(&|x, y| if y > 1.0 + 0.5 * x { 0.6 } else { 1.0 });
    assert!(kinds(&step).is_empty(), "{:?}", kinds(&step));
    let boundary = searched_weld(&line([0.5, 1.0], [3.0, 3.0], 0.25, 0.7));
    assert!(kinds(&boundary).is_empty(), "{:?}", kinds(&boundary));
}

#[test]
fn a_pore_has_its_size_and_a_row_of_indents_is_none() {
    let pore = searched_weld(&|x, y| {
        if disc([2.0, 2.5], 0.6, x, y) {
            0.1
        } else {
            1.0
        }
    });
    assert_eq!(kinds(&pore), ["pore"]);
    let size = pore.findings[0].greatest_dimension_mm.unwrap();
    assert!((size.value - 0.6).abs() < 0.06, "{size:?}");
    let row = searched_weld(&|x, y| {
        let dark = (0..5).any(|k| disc([0.5 + 0.8 * f64::from(k), 1.5], 0.3, x, y));
        if dark { 0.15 } else { 1.0 }
    });
    assert!(kinds(&row).is_empty(), "{:?}", kinds(&row));
}
