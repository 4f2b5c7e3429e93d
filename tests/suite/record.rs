use crate::support::coupon::{NEAR, refused};
use proptest::prelude::*;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use toeline::limits::{FINDING_KINDS, Profile, judge};
use toeline::record::{Finding, Measurement, Outcome, Quantity, Record, catalogue};

fn docs(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("docs")
        .join(name)
}

fn read(name: &str) -> String {
    std::fs::read_to_string(docs(name)).unwrap_or_else(|error| panic!("docs/{name}: {error}"))
}

/// `TOELINE_REMAKE=1 cargo test schema` writes the file anew.
#[test]
fn the_schema_file_is_what_the_types_say() {
    let schema = schemars::schema_for!(Record);
    let mut text = serde_json::to_string_pretty(&schema).unwrap();
    text.push('\n');
    if std::env::var_os("TOELINE_REMAKE").is_some() {
        std::fs::write(docs("record.schema.json"), &text).unwrap();
    }
    assert!(
        read("record.schema.json") == text,
        "docs/record.schema.json is stale: TOELINE_REMAKE=1 cargo test schema"
    );
}

/// Every key of the schema stands in `docs/record.md` as code.
#[test]
fn the_document_names_every_key() {
    let schema: serde_json::Value = serde_json::from_str(&read("record.schema.json")).unwrap();
    let mut keys = BTreeSet::new();
    collect_keys(&schema, &mut keys);
    assert!(keys.len() > 80, "{}", keys.len());
    let document = read("record.md");
    let missing: Vec<_> = keys
        .iter()
        .filter(|key| !document.contains(&format!("`{key}`")))
        .collect();
    assert!(missing.is_empty(), "docs/record.md lacks {missing:?}");
    for entry in catalogue::SECTION.iter().chain(catalogue::FRACTURE) {
        assert!(
            document.contains(entry.name),
            "docs/record.md lacks {}",
            entry.name
        );
    }
}

fn collect_keys(schema: &serde_json::Value, keys: &mut BTreeSet<String>) {
    match schema {
        serde_json::Value::Object(map) => {
            if let Some(serde_json::Value::Object(properties)) = map.get("properties") {
                keys.extend(properties.keys().cloned());
            }
            map.values().for_each(|value| collect_keys(value, keys));
        }
        serde_json::Value::Array(values) => {
            values.iter().for_each(|value| collect_keys(value, keys));
        }
        _ => {}
    }
}

#[test]
fn a_record_survives_json() {
    for record in [NEAR.record("iso5817-b"), refused()] {
        let text = serde_json::to_string(&record).unwrap();
        assert_eq!(serde_json::from_str::<Record>(&text).unwrap(), record);
    }
}

#[test]
fn keys_of_a_later_version_are_passed_over() {
    let record = NEAR.record("iso5817-b");
    let mut value = serde_json::to_value(&record).unwrap();
    let novelty = serde_json::json!({"anything": [1, 2]});
    for pointer in [
        "",
        "/coupon",
        "/photo",
        "/scale",
        "/scale/evidence",
        "/measurements/convexity_mm",
        "/outlines_px",
        "/findings/0",
        "/verdict",
        "/verdict/checks/0",
        "/provenance",
    ] {
        let object = value.pointer_mut(pointer).unwrap().as_object_mut().unwrap();
        object.insert("a_key_of_2031".to_owned(), novelty.clone());
    }
    assert_eq!(serde_json::from_value::<Record>(value).unwrap(), record);
}

#[test]
fn keys_that_may_be_missing_may_be_missing() {
    let text = r#"{"record":1,"tool":{"name":"toeline","version":"0.1.0"},"kind":"section",
        "coupon":{},"photo":{"file":"HR-09.jpg","sha256":"","width_px":0,"height_px":0},
        "status":"refused","reasons":[],"measurements":{},"outlines_px":{},"findings":[],
        "provenance":{"settings":{},"random_seed":0,"corrections":[],"timings_ms":{}}}"#;
    let record: Record = serde_json::from_str(text).unwrap();
    assert!(record.scale.is_none() && record.verdict.is_none());
}

/// The example in `docs/limits.md` is a profile that works.
#[test]
fn the_documented_limits_file_reads() {
    let document = read("limits.md");
    let example = document
        .split("```toml\n")
        .nth(1)
        .and_then(|rest| rest.split("```").next())
        .expect("docs/limits.md has a toml example");
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("own.toml");
    std::fs::write(&path, example).unwrap();
    let profile = Profile::from_file(&path).unwrap();
    let record = NEAR.record("iso5817-b");
    let verdict = judge(
        &profile,
        &record.coupon,
        &record.measurements,
        &[],
        FINDING_KINDS,
    );
    assert!(verdict.checks.len() >= 3);
    for name in Profile::names() {
        assert!(document.contains(name), "docs/limits.md lacks {name}");
    }
}

/// A number that JSON carries exactly.
fn number() -> impl Strategy<Value = f64> {
    (-4_000_000i32..4_000_000).prop_map(|n| f64::from(n) / 1024.0)
}

fn place() -> impl Strategy<Value = [f64; 2]> {
    [number(), number()]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn any_measurement_and_finding_survives_json(
        value in number(),
        u in number(),
        why in proptest::option::of(".{0,30}"),
        drawn in proptest::collection::vec(place(), 0..5),
        confidence in 0.0..1.0f64,
        kind in "[a-z-]{1,20}",
        passes in proptest::collection::vec(1u32..9, 0..3),
    ) {
        let mut record = NEAR.record("iso5817-d");
        let mut measurement = Measurement::measured(value, u, drawn.clone());
        measurement.why = why;
        record.measurements.insert(kind.clone(), measurement);
        record.findings.push(Finding {
            kind,
            iso_6520: 300,
            length_mm: Some(Quantity { value, expanded_uncertainty: u }),
            outline_px: drawn,
            centre_px: None,
            polyline_px: vec![],
            passes,
            confidence: (confidence * 1024.0).round() / 1024.0,
            ..Finding::default()
        });
        let text = serde_json::to_string(&record).unwrap();
        prop_assert_eq!(serde_json::from_str::<Record>(&text).unwrap(), record);
    }
}

#[test]
fn outcomes_are_ordered_from_best_to_worst() {
    let mut all = [
        Outcome::TooCloseToCall,
        Outcome::Within,
        Outcome::Outside,
        Outcome::NotAssessed,
    ];
    all.sort();
    assert_eq!(
        serde_json::to_string(&all).unwrap(),
        r#"["within","not-assessed","too-close-to-call","outside"]"#
    );
}
