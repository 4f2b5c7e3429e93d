//! Several photographs of one coupon: how far their numbers scatter, against the
//! uncertainty that was stated for each.
//!
//! The standard deviation of n repeats has n − 1 degrees of freedom; its 95 %
//! interval follows from the chi-square distribution, and so does the test whether
//! it is larger than what was stated (GUM, JCGM 100:2008, 4.2 and annex E.4; NIST/SEMATECH
//! e-Handbook of Statistical Methods, 1.3.5.8). What all photographs share – the
//! rule's own class, the definition of a toe – does not scatter, so agreement here
//! is necessary and not sufficient.

use crate::record::{Kind, Record, catalogue};
use serde::Serialize;
use statrs::distribution::{ChiSquared, ContinuousCDF};
use std::collections::BTreeSet;

/// How sure intervals and the test are.
const COVERAGE: f64 = 0.95;

/// What the repeats of one coupon show.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Repeat {
    /// Records compared.
    pub records: usize,
    /// One entry a measurement that at least two of them state, in the order of the
    /// catalogue.
    pub measurements: Vec<Repeated>,
    /// What keeps the records from being plain repeats of one another, a sentence
    /// each.
    pub notes: Vec<String>,
}

/// One measurement over the repeats.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Repeated {
    /// Its record name.
    pub name: String,
    /// Records that state it.
    pub count: usize,
    /// Mean, in the unit of the name.
    pub mean: f64,
    /// Standard deviation of the repeats, same unit.
    pub deviation: f64,
    /// The interval that holds it with a probability of 95 %.
    pub deviation_interval: [f64; 2],
    /// Standard uncertainty that the records state, root mean square.
    pub stated: f64,
    /// What the comparison says.
    pub scatter: Scatter,
}

/// The scatter of repeats against the stated uncertainty.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Scatter {
    /// No larger than stated.
    AsStated,
    /// Larger than stated, with a probability of error of 5 %.
    LargerThanStated,
}

/// Compares the repeats. `records` come with the names of their files.
///
/// # Errors
/// A sentence why there is nothing to compare: fewer than two records, or records
/// of different kinds.
pub fn repeat(records: &[(String, Record)]) -> Result<Repeat, String> {
    let mut notes = Vec::new();
    let mut seen = BTreeSet::new();
    let mut kept: Vec<&(String, Record)> = Vec::new();
    for entry in records {
        let (name, record) = entry;
        if record.measurements.values().all(|m| m.value.is_none()) {
            notes.push(format!("{name} states no number and was left out"));
        } else if !seen.insert(&record.photo.sha256) {
            notes.push(format!(
                "{name} is of a photograph that is there already and was left out: the same picture twice says nothing"
            ));
        } else {
            kept.push(entry);
        }
    }
    let [first, others @ ..] = &kept[..] else {
        return Err(nothing(&notes));
    };
    if others.is_empty() {
        return Err(nothing(&notes));
    }
    if let Some((name, _)) = others.iter().find(|(_, r)| r.kind != first.1.kind) {
        return Err(format!(
            "{} is of {} and {name} of another kind; compare photographs of one face",
            first.0,
            match first.1.kind {
                Kind::Section => "a section",
                Kind::Fracture => "a broken weld",
            }
        ));
    }
    notes.extend(differences(&kept));
    let measurements = catalogue::of(first.1.kind)
        .iter()
        .filter_map(|entry| {
            let stated: Vec<(f64, f64)> = kept
                .iter()
                .filter_map(|(_, record)| {
                    let m = record.measurements.get(entry.name)?;
                    Some((m.value?, m.standard_uncertainty?))
                })
                .collect();
            over(entry.name, &stated)
        })
        .collect();
    Ok(Repeat {
        records: kept.len(),
        measurements,
        notes,
    })
}

fn nothing(notes: &[String]) -> String {
    let mut why =
        "at least two records of different photographs with numbers are needed".to_owned();
    for note in notes {
        why.push_str("; ");
        why.push_str(note);
    }
    why
}

/// What differs between records that ought to be repeats.
fn differences(kept: &[&(String, Record)]) -> Vec<String> {
    let told = |what: &str, of: &dyn Fn(&Record) -> Option<String>| {
        let values: BTreeSet<String> = kept.iter().filter_map(|(_, r)| of(r)).collect();
        (values.len() > 1).then(|| {
            let list: Vec<String> = values.into_iter().collect();
            format!("the records differ in {what}: {}", list.join(", "))
        })
    };
    [
        told("the coupon", &|r| r.coupon.id.clone()),
        told("the kind of scale", &|r| {
            r.scale.as_ref().map(|s| s.source.clone())
        }),
        told("the version of the program", &|r| {
            Some(r.tool.version.clone())
        }),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Mean and scatter of (value, standard uncertainty) pairs; `None` of fewer than two.
fn over(name: &str, stated: &[(f64, f64)]) -> Option<Repeated> {
    if stated.len() < 2 {
        return None;
    }
    let n = stated.len() as f64;
    let freedom = n - 1.0;
    let mean = stated.iter().map(|s| s.0).sum::<f64>() / n;
    let squares: f64 = stated.iter().map(|s| (s.0 - mean).powi(2)).sum();
    let own = (stated.iter().map(|s| s.1 * s.1).sum::<f64>() / n).sqrt();
    let chi = ChiSquared::new(freedom).ok()?;
    let tail = 0.5 * (1.0 - COVERAGE);
    let bound = |share: f64| (squares / chi.inverse_cdf(share)).sqrt();
    let larger = squares > own * own * chi.inverse_cdf(COVERAGE);
    Some(Repeated {
        name: name.to_owned(),
        count: stated.len(),
        mean,
        deviation: (squares / freedom).sqrt(),
        deviation_interval: [bound(1.0 - tail), bound(tail)],
        stated: own,
        scatter: if larger {
            Scatter::LargerThanStated
        } else {
            Scatter::AsStated
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST/SEMATECH e-Handbook, 1.3.5.8: the gear data of 1.4.2.9 have n = 100 and
    /// s = 0.0062789 (from memory); against σ = 0.1 their statistic is 0.3903. The
    /// interval's bounds follow from the tabled quantiles 73.361 and 128.422 of
    /// chi-square with 99 degrees of freedom.
    #[test]
    fn the_interval_is_that_of_the_tabled_quantiles() {
        let s = 0.0062789f64;
        // A hundred values with exactly this deviation: half above, half below.
        let off = s * (99.0f64 / 100.0).sqrt();
        let values: Vec<(f64, f64)> = (0..100)
            .map(|i| (1.0 + if i % 2 == 0 { off } else { -off }, 0.1))
            .collect();
        let found = over("leg_butting_mm", &values).unwrap();
        assert!((found.deviation - s).abs() < 1e-12);
        assert!((99.0 * s * s / 0.01 - 0.3903).abs() < 1e-4);
        let [low, high] = found.deviation_interval;
        assert!((low - s * (99.0f64 / 128.422).sqrt()).abs() < 1e-7, "{low}");
        assert!(
            (high - s * (99.0f64 / 73.361).sqrt()).abs() < 1e-7,
            "{high}"
        );
        assert_eq!(found.scatter, Scatter::AsStated);
    }

    #[test]
    fn more_scatter_than_stated_is_said() {
        let scattered = [(6.0, 0.05), (6.4, 0.05), (5.7, 0.05)];
        let found = over("leg_butting_mm", &scattered).unwrap();
        assert_eq!(found.scatter, Scatter::LargerThanStated);
        let calm = [(6.00, 0.05), (6.06, 0.05), (5.95, 0.05)];
        let found = over("leg_butting_mm", &calm).unwrap();
        assert_eq!(found.scatter, Scatter::AsStated);
    }

    #[test]
    fn one_number_is_no_repeat() {
        assert!(over("leg_butting_mm", &[(6.0, 0.1)]).is_none());
    }
}
