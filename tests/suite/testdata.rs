//! The generator's own checks, and remaking of `testdata/sections`.
//!
//! `TOELINE_REMAKE=1 cargo test --release remake` paints the shipped pictures
//! and writes their truth anew; without it the test compares the truth.

use crate::support::section::{render, scene::Scene, shipped, truth::Truth};
use crate::support::workshop;
use std::path::{Path, PathBuf};

/// Folder of a shipped case.
pub fn folder(case: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("testdata/sections")
        .join(case)
}

/// The checked-in truth of a shipped case.
pub fn truth(case: &str) -> Truth {
    let path = folder(case).join("truth.json");
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    serde_json::from_str(&text).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

#[test]
fn remake_shipped_cases() {
    let remake = std::env::var_os("TOELINE_REMAKE").is_some();
    for spec in shipped::all() {
        let case = spec.name.clone();
        if remake {
            let (photo, truth) = render(spec);
            assert!(photo.len() < 1_500_000, "{case}: {} bytes", photo.len());
            std::fs::create_dir_all(folder(&case)).expect("the case folder");
            std::fs::write(folder(&case).join("photo.jpg"), photo).expect("the photo");
            std::fs::write(folder(&case).join("truth.json"), truth.to_json()).expect("the truth");
        } else {
            let fresh: serde_json::Value =
                serde_json::from_str(&Truth::of(&Scene::new(spec)).to_json()).expect("own output");
            let stored = serde_json::to_value(truth(&case)).expect("plain data");
            same(&fresh, &stored, &case);
        }
    }
}

/// `testdata/class`, with the sheet: painted anew, or there and named in the sheet.
#[test]
fn remake_shipped_class() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/class");
    let sheet = std::fs::read_to_string(folder.join("class.csv")).expect("the sheet");
    if std::env::var_os("TOELINE_REMAKE").is_some() {
        for (name, photo) in workshop::photographs() {
            assert!(photo.len() <= 500_000, "{name}: {} bytes", photo.len());
            std::fs::write(folder.join(format!("{name}.jpg")), photo).expect("the photo");
        }
    }
    for entry in std::fs::read_dir(&folder).expect("the folder") {
        let name = entry
            .expect("a file")
            .file_name()
            .into_string()
            .expect("plain");
        if name.ends_with(".jpg") {
            assert!(
                sheet.contains(&name),
                "{name} stands in no line of the sheet"
            );
        }
    }
}

/// Equal up to 2e-5: the files are rounded, and sines differ in their last
/// digit between machines.
pub fn same(a: &serde_json::Value, b: &serde_json::Value, at: &str) {
    use serde_json::Value;
    match (a, b) {
        (Value::Number(x), Value::Number(y)) => {
            let (x, y) = (
                x.as_f64().unwrap_or(f64::NAN),
                y.as_f64().unwrap_or(f64::NAN),
            );
            assert!(
                (x - y).abs() <= 2e-5 * x.abs().max(1.0),
                "{at}: {x} is not {y}"
            );
        }
        (Value::Array(x), Value::Array(y)) => {
            assert_eq!(x.len(), y.len(), "{at}: number of items");
            for (i, (x, y)) in x.iter().zip(y).enumerate() {
                same(x, y, &format!("{at}[{i}]"));
            }
        }
        (Value::Object(x), Value::Object(y)) => {
            assert_eq!(x.len(), y.len(), "{at}: number of keys");
            for (k, x) in x {
                same(x, y.get(k).unwrap_or(&Value::Null), &format!("{at}.{k}"));
            }
        }
        _ => assert_eq!(a, b, "{at}"),
    }
}

#[test]
fn truth_agrees_with_textbook_figures() {
    use crate::support::section::joint::JointSpec;
    // A flat fillet with equal legs at 90°: throat z/√2, area z²/2, face z√2,
    // toe angle 135° (plane geometry).
    let mut spec = shipped::hr_07();
    spec.joint = JointSpec {
        leg_nonbutting: 6.0,
        leg_butting: 6.0,
        bulge: 0.0,
        gap: 0.0,
        ..spec.joint
    };
    let truth = Truth::of(&Scene::new(spec));
    let near = |name: &str, want: f64, within: f64| {
        let got = truth.measurements[name];
        assert!(
            (got - want).abs() < within,
            "{name}: {got}, expected {want}"
        );
    };
    // The face carries ripples of up to 0.04 mm.
    near("inscribed_throat_mm", 6.0 / 2f64.sqrt(), 0.06);
    near("actual_throat_mm", 6.0 / 2f64.sqrt(), 0.06);
    near("face_width_mm", 6.0 * 2f64.sqrt(), 1e-9);
    near("deposit_area_mm2", 18.0, 0.25);
    near("toe_angle_butting_deg", 135.0, 6.0);
    near("toe_angle_nonbutting_deg", 135.0, 6.0);
    near("leg_difference_mm", 0.0, 1e-9);
}

#[test]
fn varied_cases_are_reproducible_and_in_view() {
    use crate::support::section::vary;
    for (spec, again) in vary::cases(40, 1).into_iter().zip(vary::cases(40, 1)) {
        let name = spec.name.clone();
        let (a, b) = (Truth::of(&Scene::new(spec)), Truth::of(&Scene::new(again)));
        assert_eq!(a.to_json(), b.to_json(), "{name}");
        let (w, h) = (a.width_px as f64, a.height_px as f64);
        for p in &a.outlines_px.weld_metal {
            assert!(
                p[0] > 0.0 && p[1] > 0.0 && p[0] < w && p[1] < h,
                "{name}: weld outside at {p:?}"
            );
        }
        let m = &a.measurements;
        assert!(
            m["dilution_percent"] > 0.0 && m["dilution_percent"] < 80.0,
            "{name}"
        );
        assert!(
            m["penetration_butting_mm"] < a.declared.thickness_butting_mm,
            "{name}"
        );
    }
}

/// `TOELINE_SHOW=folder cargo test --release show` writes varied pictures to look at.
#[test]
fn show_varied_cases() {
    use crate::support::section::vary;
    let folder = std::env::var_os("TOELINE_SHOW");
    for spec in vary::cases(if folder.is_some() { 12 } else { 1 }, 3) {
        let (name, side) = (spec.name.clone(), spec.camera.width);
        let (photo, truth) = render(spec);
        let picture = image::load_from_memory(&photo).expect("a JPEG file");
        assert_eq!(picture.width() as usize, side, "{name}");
        if let Some(folder) = &folder {
            std::fs::write(Path::new(folder).join(format!("{name}.jpg")), photo)
                .expect("the picture");
            std::fs::write(
                Path::new(folder).join(format!("{name}.json")),
                truth.to_json(),
            )
            .expect("the truth");
        }
    }
}
