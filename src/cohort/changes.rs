//! What differs between two records of one photograph.

use crate::base::rounding::stated;
use crate::record::{MeasurementStatus, Outcome, Record, Status, word};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// Something a person wants to know of.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// How far measuring came.
    Status(Status, Status),
    /// How the coupon compares with the limits.
    Outcome(Option<Outcome>, Option<Outcome>),
    /// Two values further apart than their combined expanded uncertainty.
    Value {
        /// Record name of the measurement.
        name: String,
        /// Value and expanded uncertainty before.
        before: (f64, f64),
        /// And now.
        after: (f64, f64),
    },
    /// A measurement that now has a number (`true`) or has one no longer.
    Assessed(String, bool),
    /// Another number of findings of a kind.
    Findings(String, usize, usize),
}

impl fmt::Display for Change {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Status(before, after) => {
                write!(f, "status: {} before, now {}", word(before), word(after))
            }
            Self::Outcome(before, after) => {
                let name = |outcome: &Option<Outcome>| {
                    outcome.as_ref().map_or("not judged".to_owned(), word)
                };
                write!(f, "outcome: {} before, now {}", name(before), name(after))
            }
            Self::Value {
                name,
                before,
                after,
            } => {
                let text = |(value, u): (f64, f64)| match u > 0.0 {
                    true => {
                        let (value, u) = stated(value, u, 2);
                        format!("{value} ± {u}")
                    }
                    false => value.to_string(),
                };
                write!(f, "{name}: {} before, now {}", text(*before), text(*after))
            }
            Self::Assessed(name, true) => write!(f, "{name}: not assessed before, now measured"),
            Self::Assessed(name, false) => write!(f, "{name}: measured before, now not assessed"),
            Self::Findings(kind, before, after) => {
                write!(f, "findings of {kind}: {before} before, now {after}")
            }
        }
    }
}

/// Whether two records say the same: everything but which version took how long.
pub fn same(before: &Record, after: &Record) -> bool {
    let comparable = |record: &Record| {
        let mut record = record.clone();
        record.provenance.timings_ms.clear();
        record.tool.version.clear();
        record
    };
    comparable(before) == comparable(after)
}

/// What differs beyond uncertainty.
///
/// Two values count as different when they are further apart than the root of the
/// sum of squares of their expanded uncertainties (coverage 0.95). Both come from
/// one photograph, so much of their uncertainty is common to them and they should
/// lie nearer together than that: what is named here is not chance.
pub fn changes(before: &Record, after: &Record) -> Vec<Change> {
    let mut changes = Vec::new();
    if before.status != after.status {
        changes.push(Change::Status(before.status, after.status));
    }
    let outcome = |record: &Record| record.verdict.as_ref().map(|verdict| verdict.outcome);
    if outcome(before) != outcome(after) {
        changes.push(Change::Outcome(outcome(before), outcome(after)));
    }
    let names: BTreeSet<&String> = before
        .measurements
        .keys()
        .chain(after.measurements.keys())
        .collect();
    for name in names {
        let read = |record: &Record| {
            let measurement = record.measurements.get(name)?;
            let measured = measurement.status == MeasurementStatus::Measured;
            let value = measurement.value.filter(|_| measured)?;
            Some((value, measurement.expanded_uncertainty.unwrap_or(0.0)))
        };
        match (read(before), read(after)) {
            (Some(before), Some(after)) if (before.0 - after.0).abs() > before.1.hypot(after.1) => {
                changes.push(Change::Value {
                    name: name.clone(),
                    before,
                    after,
                });
            }
            (None, Some(_)) => changes.push(Change::Assessed(name.clone(), true)),
            (Some(_), None) => changes.push(Change::Assessed(name.clone(), false)),
            _ => {}
        }
    }
    let (was, is) = (count(before), count(after));
    let kinds: BTreeSet<&String> = was.keys().chain(is.keys()).collect();
    for kind in kinds {
        let number = |of: &BTreeMap<String, usize>| of.get(kind).copied().unwrap_or(0);
        if number(&was) != number(&is) {
            changes.push(Change::Findings(kind.clone(), number(&was), number(&is)));
        }
    }
    changes
}

fn count(record: &Record) -> BTreeMap<String, usize> {
    let mut count = BTreeMap::new();
    for finding in &record.findings {
        *count.entry(finding.kind.clone()).or_default() += 1;
    }
    count
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::{Finding, Measurement};

    fn record(leg: Measurement) -> Record {
        let mut record: Record = serde_json::from_value(serde_json::json!({
            "record": 1, "tool": {"name": "toeline", "version": "1"}, "kind": "section",
            "coupon": {}, "photo": {"file": "a", "sha256": "", "width_px": 0, "height_px": 0},
            "status": "measured", "reasons": [], "measurements": {}, "findings": [],
            "outlines_px": {}, "provenance": {"settings": {}, "random_seed": 0,
            "corrections": [], "timings_ms": {"whole": 1.0}},
        }))
        .unwrap();
        record.measurements.insert("leg_butting_mm".to_owned(), leg);
        record
    }

    fn leg(value: f64, u: f64) -> Measurement {
        Measurement::measured(value, u / 2.0, Vec::new())
    }

    #[test]
    fn only_what_uncertainty_does_not_explain_is_named() {
        // Combined expanded uncertainty: √(0.3² + 0.4²) = 0.5.
        let before = record(leg(6.0, 0.3));
        assert!(changes(&before, &record(leg(6.49, 0.4))).is_empty());
        let found = changes(&before, &record(leg(6.51, 0.4)));
        assert_eq!(found.len(), 1);
        assert_eq!(
            found[0].to_string(),
            "leg_butting_mm: 6.00 ± 0.30 before, now 6.51 ± 0.40"
        );
        // A count has no uncertainty.
        let mut passes = leg(2.0, 0.0);
        passes.expanded_uncertainty = None;
        assert_eq!(changes(&record(passes), &record(leg(3.0, 0.0))).len(), 1);
    }

    #[test]
    fn what_comes_goes_or_is_judged_otherwise_is_named() {
        let before = record(leg(6.0, 0.3));
        let mut after = record(Measurement::not_assessed("blurred"));
        after.status = Status::PartlyMeasured;
        after.findings.push(Finding {
            kind: "pore".to_owned(),
            ..Finding::default()
        });
        let words: Vec<String> = changes(&before, &after)
            .iter()
            .map(Change::to_string)
            .collect();
        assert_eq!(
            words,
            [
                "status: measured before, now partly-measured",
                "leg_butting_mm: measured before, now not assessed",
                "findings of pore: 0 before, now 1",
            ]
        );
    }

    #[test]
    fn how_long_it_took_and_by_which_version_is_no_difference() {
        let before = record(leg(6.0, 0.3));
        let mut after = before.clone();
        after.tool.version = "2".to_owned();
        after.provenance.timings_ms.insert("whole".to_owned(), 2.0);
        assert!(same(&before, &after));
        after
            .measurements
            .insert("leg_butting_mm".to_owned(), leg(6.0, 0.31));
        assert!(!same(&before, &after));
    }
}
