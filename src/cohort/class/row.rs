//! One coupon: what the sheet says of it and what its photographs gave last.

use super::limit;
use crate::archive::{Archive, CouponFacts, CouponView, Revision, Role};
use crate::cohort::CohortError;
use crate::record::{Kind, MeasurementStatus, Outcome, Points, Record, Sense, Status, word};
use std::collections::BTreeMap;

/// A coupon.
#[derive(Clone, Debug)]
pub struct Row {
    /// Its name.
    pub coupon: String,
    /// What the sheet says.
    pub facts: CouponFacts,
    /// Its photographs, as measured last.
    pub looks: Vec<Look>,
}

/// What one photograph gave.
#[derive(Clone, Debug)]
pub struct Look {
    /// The photograph's file name; empty when names are hidden.
    pub photo: String,
    /// Section or broken weld.
    pub kind: Kind,
    /// Joint, as declared.
    pub joint: Option<String>,
    /// How far measuring came, and the first reason why not farther.
    pub status: Status,
    /// Why not everything was measured, in words.
    pub reasons: Vec<String>,
    /// How it compares with the limits.
    pub outcome: Option<Outcome>,
    /// The limits it was compared with.
    pub profile: Option<String>,
    /// What was measured, by record name.
    pub sizes: BTreeMap<String, Size>,
    /// Limits in mm on the sizes themselves, by record name.
    pub limits: Vec<(String, f64, Sense)>,
    /// Evaluated part along the weld, mm, of a broken weld.
    pub evaluated_mm: Option<f64>,
    /// What was found.
    pub stretches: Vec<Stretch>,
    /// Points, when the limits give any.
    pub points: Option<Points>,
    /// Where its report lies, as a link from the page.
    pub report: Option<String>,
}

/// A measured value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Size {
    /// The value, in the unit of its name.
    pub value: f64,
    /// Half-width of the interval that holds the true value in 95 of 100 cases.
    pub expanded: f64,
}

/// A finding and where along the weld it lies.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// E.g. `lack-of-root-fusion`.
    pub kind: String,
    /// From where to where, mm, when that is known.
    pub along_mm: Option<[f64; 2]>,
    /// Whether it counts: not in a discarded end.
    pub counts: bool,
    /// How sure it is, 0 … 1.
    pub confidence: f64,
}

impl Row {
    /// The worst of its photographs' outcomes.
    pub fn outcome(&self) -> Option<Outcome> {
        self.looks.iter().filter_map(|look| look.outcome).max()
    }

    /// The photographs of one kind.
    pub fn of_kind(&self, kind: Kind) -> impl Iterator<Item = &Look> {
        self.looks.iter().filter(move |look| look.kind == kind)
    }

    /// A value by record name, from the first photograph that gives it.
    pub fn size(&self, name: &str) -> Option<Size> {
        self.looks
            .iter()
            .find_map(|look| look.sizes.get(name))
            .copied()
    }

    /// Points: of several photographs the fewest.
    pub fn points(&self) -> Option<&Points> {
        let all = self.looks.iter().filter_map(|look| look.points.as_ref());
        all.min_by(|a, b| a.left.total_cmp(&b.left))
    }
}

/// Of a coupon as the archive has it. `reports` leads from the page to the archive.
pub(super) fn of(
    archive: &Archive,
    coupon: &CouponView,
    reports: &str,
) -> Result<Row, CohortError> {
    let mut looks = Vec::new();
    for photograph in &coupon.photographs {
        let revision = &photograph.latest.revision;
        looks.push(look(revision, &archive.record(revision)?, reports));
    }
    Ok(Row {
        coupon: coupon.id.clone(),
        facts: coupon.facts.clone(),
        looks,
    })
}

fn look(revision: &Revision, record: &Record, reports: &str) -> Look {
    let verdict = record.verdict.as_ref();
    let sizes: BTreeMap<String, Size> = record
        .measurements
        .iter()
        .filter(|(_, m)| m.status == MeasurementStatus::Measured)
        .filter_map(|(name, m)| {
            let size = Size {
                value: m.value?,
                expanded: m.expanded_uncertainty.unwrap_or(0.0),
            };
            Some((name.clone(), size))
        })
        .collect();
    let limits = verdict.map_or(&[][..], |v| &v.checks);
    let limits = limits.iter().filter_map(|check| {
        let name = check.measurement.as_ref()?;
        let (at, sense) = limit::on_the_size(check, sizes.get(name)?.value, &record.coupon)?;
        Some((name.clone(), at, sense))
    });
    // Read before the sizes are handed on.
    let limits = limits.collect();
    let stretches = record.findings.iter().map(|f| Stretch {
        kind: f.kind.clone(),
        along_mm: match (f.start_mm, f.end_mm, f.at_mm) {
            (Some(a), Some(b), _) => Some([a, b]),
            (_, _, Some(at)) => {
                let half = 0.5 * f.greatest_dimension_mm.map_or(0.0, |q| q.value);
                Some([at - half, at + half])
            }
            _ => None,
        },
        counts: f.is_counted(),
        confidence: f.confidence,
    });
    Look {
        photo: revision.photo.clone(),
        kind: record.kind,
        joint: record.coupon.joint.as_ref().map(word),
        status: record.status,
        reasons: record.reasons.iter().map(|r| r.message.clone()).collect(),
        outcome: verdict.map(|v| v.outcome),
        profile: verdict.map(|v| v.profile.clone()),
        evaluated_mm: sizes.get("evaluated_length_mm").map(|s| s.value),
        sizes,
        limits,
        stretches: stretches.collect(),
        points: verdict.and_then(|v| v.points.clone()),
        report: revision
            .file(Role::Report)
            .map(|file| format!("{reports}{}", file.place())),
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// A measured photograph with these values and uncertainties.
    pub fn look(kind: Kind, sizes: &[(&str, f64, f64)]) -> Look {
        let sizes = sizes.iter().map(|(name, value, expanded)| {
            let size = Size {
                value: *value,
                expanded: *expanded,
            };
            ((*name).to_owned(), size)
        });
        Look {
            photo: "photo.jpg".into(),
            kind,
            joint: Some("tee".into()),
            status: Status::Measured,
            reasons: Vec::new(),
            outcome: Some(Outcome::Within),
            profile: Some("limits".into()),
            sizes: sizes.collect(),
            limits: Vec::new(),
            evaluated_mm: None,
            stretches: Vec::new(),
            points: None,
            report: Some("reports/1.html".into()),
        }
    }

    /// A coupon with points.
    pub fn row(coupon: &str, left: f64, expanded_uncertainty: f64) -> Row {
        let mut look = look(Kind::Fracture, &[]);
        look.points = Some(Points {
            start: 100.0,
            left,
            expanded_uncertainty,
            taken: Vec::new(),
            left_to_examiner: Vec::new(),
        });
        Row {
            coupon: coupon.into(),
            facts: CouponFacts::default(),
            looks: vec![look],
        }
    }

    #[test]
    fn the_worst_photograph_speaks_for_the_coupon() {
        let mut row = row("HR-01", 80.0, 1.0);
        let mut other = look(Kind::Section, &[]);
        other.outcome = Some(Outcome::Outside);
        row.looks.push(other);
        assert_eq!(row.outcome(), Some(Outcome::Outside));
        let mut fewer = row.looks[0].clone();
        fewer.points.as_mut().unwrap().left = 40.0;
        row.looks.push(fewer);
        assert_eq!(row.points().unwrap().left, 40.0);
    }
}
