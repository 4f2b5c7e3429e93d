//! The table over an export, for a spreadsheet: one line a photograph.

use super::super::Role;
use super::Shown;
use crate::record::{MeasurementStatus, Record, word};
use std::collections::BTreeSet;

/// The bytes of `index.csv`: commas, decimal points, UTF-8 with a byte order mark,
/// without which some spreadsheets take it for something else.
pub fn csv(shown: &[Shown<'_>]) -> Vec<u8> {
    let names: BTreeSet<&String> = shown
        .iter()
        .filter_map(|shown| shown.record.as_ref())
        .flat_map(|record| record.measurements.keys())
        .collect();
    let mut table = csv::Writer::from_writer(b"\xEF\xBB\xBF".to_vec());
    let mut titles: Vec<String> = [
        "coupon",
        "welder",
        "date",
        "process",
        "position",
        "photograph",
        "kind",
        "status",
        "limits",
        "outcome",
        "points",
        "entry",
        "hash",
        "revisions",
        "original",
        "record",
        "picture",
        "report",
    ]
    .map(str::to_owned)
    .to_vec();
    for name in &names {
        titles.push((*name).clone());
        titles.push(format!("{name} expanded uncertainty"));
    }
    // Writing into memory does not fail.
    let _ = table.write_record(&titles);
    for shown in shown {
        let _ = table.write_record(line(shown, &names));
    }
    table.into_inner().unwrap_or_default()
}

fn line(shown: &Shown<'_>, names: &BTreeSet<&String>) -> Vec<String> {
    let facts = &shown.coupon.facts;
    let revision = &shown.latest.revision;
    let text = |text: &Option<String>| harmless(text.as_deref().unwrap_or_default());
    let place = |role| harmless(shown.place(role).unwrap_or_default());
    let verdict = shown.record.as_ref().and_then(|r| r.verdict.as_ref());
    let points = verdict.and_then(|verdict| verdict.points.as_ref());
    let mut cells = vec![
        harmless(&shown.coupon.id),
        text(&facts.welder),
        text(&facts.date),
        text(&facts.process),
        text(&facts.position),
        harmless(&revision.photo),
        word(&revision.asked.kind),
        word(&revision.status),
        verdict.map_or(String::new(), |verdict| harmless(&verdict.profile)),
        revision.outcome.as_ref().map_or(String::new(), word),
        points.map_or(String::new(), |points| points.left.to_string()),
        shown.latest.seq.to_string(),
        shown.latest.hash.clone(),
        (shown.earlier + 1).to_string(),
        place(Role::Original),
        place(Role::Record),
        place(Role::Picture),
        place(Role::Report),
    ];
    for name in names {
        let measured = shown
            .record
            .as_ref()
            .and_then(|record| measured(record, name));
        let (value, u) = measured.unwrap_or_default();
        cells.push(value);
        cells.push(u);
    }
    cells
}

fn measured(record: &Record, name: &str) -> Option<(String, String)> {
    let measurement = record.measurements.get(name)?;
    let value = measurement
        .value
        .filter(|_| measurement.status == MeasurementStatus::Measured)?;
    let u = measurement.expanded_uncertainty;
    Some((
        value.to_string(),
        u.map_or(String::new(), |u| u.to_string()),
    ))
}

/// A text that no spreadsheet takes for a formula.
fn harmless(text: &str) -> String {
    match text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        true => format!("'{text}"),
        false => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_no_formula() {
        assert_eq!(harmless("=1+1"), "'=1+1");
        assert_eq!(harmless("HR-01"), "HR-01");
    }
}
