//! The page's figures as a table, one line a photograph.

use super::{Class, row::Row};
use crate::record::word;
use std::collections::BTreeSet;

/// The bytes of the table; empty cells where nothing was measured.
pub(super) fn csv(class: &Class) -> Vec<u8> {
    let looks = class.rows.iter().flat_map(|row| &row.looks);
    let names: BTreeSet<&String> = looks.flat_map(|look| look.sizes.keys()).collect();
    let mut table = csv::Writer::from_writer(b"\xEF\xBB\xBF".to_vec());
    let mut titles: Vec<String> = [
        "coupon",
        "welder",
        "date",
        "process",
        "position",
        "joint",
        "photograph",
        "kind",
        "status",
        "limits",
        "outcome",
        "points",
        "points expanded uncertainty",
        "notes",
    ]
    .map(str::to_owned)
    .to_vec();
    for name in &names {
        titles.push((*name).clone());
        titles.push(format!("{name} expanded uncertainty"));
    }
    // Writing into memory does not fail.
    let _ = table.write_record(&titles);
    for row in &class.rows {
        for line in lines(row, &names) {
            let _ = table.write_record(line);
        }
    }
    table.into_inner().unwrap_or_default()
}

fn lines(row: &Row, names: &BTreeSet<&String>) -> Vec<Vec<String>> {
    let text = |text: &Option<String>| harmless(text.as_deref().unwrap_or_default());
    let facts = &row.facts;
    let known = [
        harmless(&row.coupon),
        text(&facts.welder),
        text(&facts.date),
        text(&facts.process),
        text(&facts.position),
    ];
    if row.looks.is_empty() {
        let mut cells = known.to_vec();
        cells.resize(13, String::new());
        cells.push(text(&facts.notes));
        cells.resize(14 + 2 * names.len(), String::new());
        return vec![cells];
    }
    let line = |look: &super::Look| {
        let mut cells = known.to_vec();
        let points = look.points.as_ref();
        cells.extend([
            text(&look.joint),
            harmless(&look.photo),
            word(&look.kind),
            word(&look.status),
            text(&look.profile),
            look.outcome.as_ref().map_or(String::new(), word),
            points.map_or(String::new(), |p| p.left.to_string()),
            points.map_or(String::new(), |p| p.expanded_uncertainty.to_string()),
            text(&facts.notes),
        ]);
        for name in names {
            let size = look.sizes.get(*name);
            cells.push(size.map_or(String::new(), |s| s.value.to_string()));
            cells.push(size.map_or(String::new(), |s| s.expanded.to_string()));
        }
        cells
    };
    row.looks.iter().map(line).collect()
}

/// A text that no spreadsheet takes for a formula.
fn harmless(text: &str) -> String {
    match text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        true => format!("'{text}"),
        false => text.to_owned(),
    }
}
