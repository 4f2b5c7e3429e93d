//! The generator's own checks, and remaking of `testdata/sections`.
//!
//! `TOELINE_REMAKE=1 cargo test --release remake` paints the shipped pictures
//! and writes their truth anew; without it the test compares the truth.

use crate::support::section::{render, scene::Scene, shipped, truth::Truth};
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

/// Equal up to 2e-5: the files are rounded, and sines differ in their last
/// digit between machines.
fn same(a: &serde_json::Value, b: &serde_json::Value, at: &str) {
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
