//! Drawn scale bars, and strokes that are none.

use crate::support::references::{Rule, View, millimetres};
use assert_cmd::Command;
use std::path::Path;
use toeline::photo::Photo;
use toeline::record::{Code, Reason, Record};
use toeline::scale::{Request, Scale, Source, find};

const WIDTH: usize = 900;
const HEIGHT: usize = 640;

fn ask(photo: &Photo) -> Result<Scale, Reason> {
    find(photo, &Request::of(Source::Bar { length_mm: 5.0 }))
}

/// A stroke with caps and letters over it, turned by `turn_deg` about its middle.
#[derive(Clone, Copy)]
struct Bar {
    x: f64,
    y: f64,
    length: f64,
    width: f64,
    turn_deg: f64,
    /// Thickness and height of the caps, 0 for none.
    cap: (f64, f64),
    letters: u8,
    /// Size of a letter and how far its middle is off the stroke.
    letter: (f64, f64),
    rgb: [f64; 3],
}

const PLAIN: Bar = Bar {
    x: 450.0,
    y: 320.0,
    length: 240.0,
    width: 8.0,
    turn_deg: 0.0,
    cap: (0.0, 0.0),
    letters: 3,
    letter: (24.0, 30.0),
    rgb: [245.0; 3],
};

impl Bar {
    fn inks(&self, x: f64, y: f64) -> bool {
        let (s, c) = self.turn_deg.to_radians().sin_cos();
        let (dx, dy) = (x - self.x, y - self.y);
        let (u, v) = (c * dx + s * dy, -s * dx + c * dy);
        let half = 0.5 * self.length;
        if u.abs() <= half && v.abs() <= 0.5 * self.width {
            return true;
        }
        if u.abs() <= half && u.abs() >= half - self.cap.0 && v.abs() <= 0.5 * self.cap.1 {
            return true;
        }
        // Letters: rings, a third of a letter apart.
        let (size, off) = self.letter;
        let n = f64::from(self.letters);
        let k = (u / (1.33 * size) + 0.5 * n).floor();
        if k < 0.0 || k >= n {
            return false;
        }
        let (a, b) = (u - (k + 0.5 - 0.5 * n) * 1.33 * size, v + off);
        let far = a.abs().max(b.abs());
        far <= 0.5 * size && far >= 0.3 * size
    }
}

fn drawn(bars: &[Bar], ground: impl Fn(f64, f64) -> [f64; 3]) -> Photo {
    let mut state = 0x9e37_79b9_7f4a_7c15u64;
    let mut rgb = Vec::with_capacity(3 * WIDTH * HEIGHT);
    for y in 0..HEIGHT {
        for x in 0..WIDTH {
            let mut sum = [0.0; 3];
            for i in 0..16 {
                let (px, py) = (
                    x as f64 + (f64::from(i % 4) + 0.5) / 4.0,
                    y as f64 + (f64::from(i / 4) + 0.5) / 4.0,
                );
                let tone = bars
                    .iter()
                    .find(|b| b.inks(px, py))
                    .map_or_else(|| ground(px, py), |b| b.rgb);
                for (s, t) in sum.iter_mut().zip(tone) {
                    *s += t / 16.0;
                }
            }
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            let noise = (state >> 40) as f64 / (1u64 << 24) as f64 * 6.0 - 3.0;
            rgb.extend(sum.map(|v| (v + noise).clamp(0.0, 255.0).round() as u8));
        }
    }
    Photo::from_rgb(WIDTH, HEIGHT, rgb).expect("a photo")
}

fn steel(_: f64, _: f64) -> [f64; 3] {
    [118.0, 120.0, 122.0]
}

#[track_caller]
fn reads(bar: Bar, photo: &Photo) {
    let scale = ask(photo).expect("a scale");
    let length = scale.facts.px_per_mm * 5.0;
    assert!((length - bar.length).abs() < 0.7, "{length} px");
    let evidence = &scale.facts.evidence;
    assert!(evidence.residual_px.is_some_and(|r| r < 0.5));
    // The outline covers stroke and label.
    for y in 0..HEIGHT {
        for x in 0..WIDTH {
            let (x, y) = (x as f64 + 0.5, y as f64 + 0.5);
            assert!(!bar.inks(x, y) || covers(&scale, x, y), "({x}, {y})");
        }
    }
}

fn covers(scale: &Scale, x: f64, y: f64) -> bool {
    let outline = &scale.occupied[0];
    let n = outline.len();
    let signs: Vec<bool> = (0..n)
        .map(|i| {
            let (a, b) = (outline[i], outline[(i + 1) % n]);
            (b.x - a.x) * (y - a.y) - (b.y - a.y) * (x - a.x) > 0.0
        })
        .collect();
    signs.iter().all(|s| *s) || signs.iter().all(|s| !*s)
}

#[test]
fn a_bar_is_read_at_any_slant() {
    for turn_deg in [0.0, 3.0, 37.0, 90.0, 140.0] {
        let bar = Bar { turn_deg, ..PLAIN };
        reads(bar, &drawn(&[bar], steel));
    }
}

#[test]
fn a_label_wider_than_its_bar_is_one() {
    let bar = Bar {
        length: 121.0,
        width: 9.0,
        letter: (48.0, 46.0),
        ..PLAIN
    };
    reads(bar, &drawn(&[bar], steel));
}

#[test]
fn a_bar_with_caps_is_counted_from_outer_edge_to_outer_edge() {
    for turn_deg in [0.0, 52.0] {
        let bar = Bar {
            cap: (8.0, 26.0),
            letter: (24.0, 34.0),
            turn_deg,
            ..PLAIN
        };
        let photo = drawn(&[bar], steel);
        reads(bar, &photo);
        let capped = ask(&photo).expect("a scale");
        let plain = ask(&drawn(&[PLAIN], steel)).expect("a scale");
        // Some count from the middles of the caps: 8 px of 240.
        assert!(capped.standard_uncertainty_rel > plain.standard_uncertainty_rel);
        assert!(
            capped
                .facts
                .evidence
                .cross_checks
                .iter()
                .any(|line| line.contains("outer edges"))
        );
    }
}

#[test]
fn a_red_bar_on_steel_of_the_same_brightness_is_read() {
    let bar = Bar {
        rgb: [225.0, 75.0, 70.0],
        ..PLAIN
    };
    reads(bar, &drawn(&[bar], steel));
}

#[test]
fn two_bars_of_different_length_compete() {
    let other = Bar {
        y: 120.0,
        length: 160.0,
        ..PLAIN
    };
    let reason = ask(&drawn(&[PLAIN, other], steel)).expect_err("two bars");
    assert_eq!(reason.code, Code::ScaleDoubtful);
    assert!(reason.message.contains("two strokes"), "{}", reason.message);
}

#[test]
fn strokes_that_are_no_bar_are_refused() {
    let unlabelled = Bar {
        letters: 0,
        ..PLAIN
    };
    let grille: Vec<Bar> = (0..7)
        .map(|k| Bar {
            y: 150.0 + 40.0 * f64::from(k),
            letters: if k == 0 { 3 } else { 0 },
            ..PLAIN
        })
        .collect();
    let plate_edge = |x: f64, y: f64| {
        // A bright plate's narrow side, lit, with three holes over it.
        let hole = (0..3).any(|k| (x - 400.0 - 40.0 * f64::from(k)).hypot(y - 280.0) < 11.0);
        let side = (320.0..330.0).contains(&y) && (300.0..560.0).contains(&x);
        let shade = if (x / 60.0) as i64 % 2 == 0 {
            0.0
        } else {
            40.0
        };
        [if side || hole { 200.0 } else { 70.0 + shade }; 3]
    };
    let thick_caps = Bar {
        length: 90.0,
        cap: (12.0, 30.0),
        letter: (20.0, 34.0),
        ..PLAIN
    };
    for (name, photo) in [
        ("no label", drawn(&[unlabelled], steel)),
        ("a grille", drawn(&grille, steel)),
        ("a plate's edge", drawn(&[], plate_edge)),
        ("caps too thick for the bar", drawn(&[thick_caps], steel)),
    ] {
        let answer = ask(&photo);
        assert!(answer.is_err(), "{name}: {:?}", answer.map(|s| s.facts));
    }
}

#[test]
fn a_rule_is_no_bar() {
    for (turn_deg, edge_mm) in [(0.0, -6.0), (24.0, -4.0), (91.0, -8.0)] {
        let view = View {
            width: WIDTH,
            height: HEIGHT,
            px_per_mm: 16.0,
            turn_deg,
            tilt_deg: 0.0,
            tilt_towards_deg: 0.0,
            focal: 3.2,
            noise: 4.0,
        };
        let rule = Rule {
            edge_mm,
            pitch_mm: 1.0,
            length_mm: millimetres,
            worn_every: 0,
        };
        let photo = view.photograph(|u, v| rule.tone(u, v));
        assert!(ask(&photo).is_err());
    }
}

/// The whole program with a bar burnt into a shipped section beside its rule.
#[test]
fn a_section_is_measured_by_its_bar() {
    let case = Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/sections/HR-07");
    let mut picture = image::open(case.join("photo.jpg"))
        .expect("HR-07")
        .to_rgb8();
    let truth: serde_json::Value =
        serde_json::from_slice(&std::fs::read(case.join("truth.json")).expect("truth"))
            .expect("JSON");
    // Scale at the joint root, from the painted homography's Jacobian there.
    let h = |r: usize, c: usize| truth["joint_mm_to_px"][r][c].as_f64().expect("a number");
    let w = h(2, 2);
    let d = |r: usize, c: usize| (h(r, c) - h(r, 2) / w * h(2, c)) / w;
    let px_per_mm = (d(0, 0) * d(1, 1) - d(0, 1) * d(1, 0)).abs().sqrt();
    let bar = Bar {
        x: 320.0,
        y: 110.0,
        length: (5.0 * px_per_mm).round(),
        letter: (30.0, 40.0),
        ..PLAIN
    };
    for y in 20..160u32 {
        for x in 100..540u32 {
            let ink = bar.inks(f64::from(x) + 0.5, f64::from(y) + 0.5);
            picture.put_pixel(x, y, image::Rgb([if ink { 255 } else { 0 }; 3]));
        }
    }
    let folder = tempfile::tempdir().expect("a folder");
    picture
        .save(folder.path().join("HR-07.png"))
        .expect("saved");
    let output = Command::new(env!("CARGO_BIN_EXE_toeline"))
        .current_dir(folder.path())
        .args([
            "section",
            "HR-07.png",
            "--scale",
            "bar:5",
            "--thickness",
            "8,10",
        ])
        .args(["--out", "out"])
        .output()
        .expect("the program");
    let record: Record = serde_json::from_slice(
        &std::fs::read(folder.path().join("out/HR-07.record.json")).expect("a record"),
    )
    .expect("a record");
    assert_eq!(output.status.code(), Some(0), "{:?}", record.reasons);
    let scale = record.scale.expect("a scale");
    assert_eq!(scale.source, "bar:5");
    let read = scale.px_per_mm * 5.0 / bar.length;
    assert!((read - 1.0).abs() < 0.003, "{read}");
    let leg = record.measurements["leg_butting_mm"].value.expect("a leg");
    let want = truth["measurements"]["leg_butting_mm"]
        .as_f64()
        .expect("a leg");
    // A bar shows no tilt, which this picture has: within five percent.
    assert!((leg / want - 1.0).abs() < 0.05, "{leg} against {want}");
}
