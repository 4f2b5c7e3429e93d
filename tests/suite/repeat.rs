use crate::support::broken;
use crate::support::coupon::NEAR;
use assert_cmd::Command;
use std::fs;
use tempfile::TempDir;
use toeline::cohort::{Scatter, repeat};
use toeline::record::{Kind, Measurement, Record};

/// The record of one more photograph of HR-07, its leg found `off` mm longer.
fn photograph(number: usize, off: f64) -> (String, Record) {
    let mut record = NEAR.record("iso5817-c");
    record.photo.sha256 = format!("{number:064}");
    record.measurements.insert(
        "leg_butting_mm".to_owned(),
        Measurement::measured(6.0 + off, 0.05, Vec::new()),
    );
    (format!("HR-07-{number}.record.json"), record)
}

fn scatter_of(offs: &[f64]) -> Scatter {
    let records: Vec<_> = offs
        .iter()
        .enumerate()
        .map(|(i, off)| photograph(i, *off))
        .collect();
    let found = repeat(&records).unwrap();
    assert_eq!(found.records, offs.len());
    let leg = found
        .measurements
        .iter()
        .find(|m| m.name == "leg_butting_mm")
        .unwrap();
    assert_eq!(leg.count, offs.len());
    leg.scatter
}

#[test]
fn repeats_are_held_against_what_was_stated() {
    assert_eq!(scatter_of(&[0.0, 0.05, -0.04, 0.02]), Scatter::AsStated);
    assert_eq!(
        scatter_of(&[0.0, 0.3, -0.3, 0.1]),
        Scatter::LargerThanStated
    );
}

#[test]
fn the_same_photograph_twice_is_counted_once_and_named() {
    let mut records = vec![photograph(1, 0.0), photograph(2, 0.02), photograph(2, 0.02)];
    records[2].0 = "again.record.json".to_owned();
    let found = repeat(&records).unwrap();
    assert_eq!(found.records, 2);
    assert!(found.notes.iter().any(|n| n.contains("again.record.json")));
    records.remove(0);
    assert!(repeat(&records).unwrap_err().contains("at least two"));
}

#[test]
fn records_of_other_coupons_or_kinds_are_no_repeats() {
    let mut records = vec![photograph(1, 0.0), photograph(2, 0.02)];
    records[1].1.coupon.id = Some("HR-08".to_owned());
    let found = repeat(&records).unwrap();
    assert!(
        found.notes.iter().any(|n| n.contains("HR-08")),
        "{:?}",
        found.notes
    );
    let mut other = broken::record(None);
    other.photo.sha256 = "f".repeat(64);
    assert_eq!(other.kind, Kind::Fracture);
    records.push(("HR-21.record.json".to_owned(), other));
    assert!(repeat(&records).unwrap_err().contains("another kind"));
}

#[test]
fn the_command_reads_records_and_writes_the_comparison() {
    let folder = TempDir::new().unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_toeline"));
    command
        .current_dir(folder.path())
        .args(["repeat", "--out", "HR-07.repeat.json"]);
    for number in 0..3 {
        let (name, record) = photograph(number, 0.4 * number as f64);
        fs::write(
            folder.path().join(&name),
            serde_json::to_vec(&record).unwrap(),
        )
        .unwrap();
        command.arg(name);
    }
    let output = command.output().unwrap();
    assert!(output.status.success());
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(said.contains("MORE THAN STATED"), "{said}");
    let written: serde_json::Value =
        serde_json::from_slice(&fs::read(folder.path().join("HR-07.repeat.json")).unwrap())
            .unwrap();
    assert_eq!(written["records"], 3);
    let wrong = Command::new(env!("CARGO_BIN_EXE_toeline"))
        .current_dir(folder.path())
        .args(["repeat", "HR-07.repeat.json"])
        .output()
        .unwrap();
    assert_eq!(wrong.status.code(), Some(2));
    assert!(
        String::from_utf8(wrong.stderr)
            .unwrap()
            .contains("no record of this program")
    );
}
