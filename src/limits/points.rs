//! Points of an exercise: so many at the start, some taken off for every flaw.
//!
//! An instructor's count. It changes no outcome and no standard knows it.

use super::flaws::{Known, SURE_FROM};
use super::row::FINDING_KINDS;
use crate::base::rounding::shortest;
use crate::record::{Finding, PointLine, Points};
use serde::Deserialize;

/// The rules, as `[points]` of a profile.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PointRules {
    /// Points before anything is taken off.
    pub start: f64,
    /// What takes points off.
    pub take: Vec<Take>,
}

/// One rule.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Take {
    /// What for, in words.
    pub what: String,
    /// Kinds of finding it counts.
    pub findings: Vec<String>,
    /// Points a finding.
    #[serde(default)]
    pub each: f64,
    /// Points a millimetre of length or greatest dimension.
    #[serde(default)]
    pub per_mm: f64,
    /// The rule never takes more than this.
    pub most: Option<f64>,
}

impl PointRules {
    /// What is wrong with them, if anything.
    pub(super) fn fault(&self) -> Option<String> {
        let numbers = self
            .take
            .iter()
            .flat_map(|take| [take.each, take.per_mm, take.most.unwrap_or(0.0)])
            .chain([self.start]);
        if numbers
            .into_iter()
            .any(|number| !(number.is_finite() && number >= 0.0))
        {
            return Some("the numbers of [points] must be 0 or more".to_owned());
        }
        self.take
            .iter()
            .flat_map(|take| &take.findings)
            .find(|kind| !FINDING_KINDS.contains(&kind.as_str()))
            .map(|kind| {
                format!(
                    "[points]: there is no kind of finding called `{kind}`; there are {}",
                    FINDING_KINDS.join(", ")
                )
            })
    }

    /// The count for what was found. What was not searched for, and what is too
    /// doubtful to take points for, is left to the examiner.
    pub(super) fn count(&self, known: &Known) -> Points {
        let mut points = Points {
            start: self.start,
            left: self.start,
            expanded_uncertainty: 0.0,
            taken: Vec::new(),
            left_to_examiner: Vec::new(),
        };
        for take in &self.take {
            for kind in &take.findings {
                if !known.searched.contains(&kind.as_str()) {
                    points
                        .left_to_examiner
                        .push(format!("{}: not searched for", kind.replace('-', " ")));
                }
            }
            let (sure, doubtful): (Vec<&Finding>, Vec<&Finding>) = known
                .findings
                .iter()
                .copied()
                .filter(|finding| take.findings.contains(&finding.kind))
                .partition(|finding| finding.confidence >= SURE_FROM);
            for finding in doubtful {
                points.left_to_examiner.push(format!(
                    "{}{}: too doubtful to take points for",
                    finding.kind.replace('-', " "),
                    finding
                        .at_mm
                        .or(finding.start_mm)
                        .map_or(String::new(), |at| format!(" at {at:.0} mm"))
                ));
            }
            if sure.is_empty() {
                continue;
            }
            let (mut length, mut expanded) = (0.0, 0.0);
            for size in sure
                .iter()
                .filter_map(|finding| finding.greatest_dimension_mm.or(finding.length_mm))
            {
                length += size.value;
                expanded += size.expanded_uncertainty;
            }
            let due = take.each * sure.len() as f64 + take.per_mm * length;
            let taken = due.min(take.most.unwrap_or(f64::INFINITY));
            if taken == due {
                points.expanded_uncertainty += take.per_mm * expanded;
            }
            points.left -= taken;
            points.taken.push(PointLine {
                what: take.what.clone(),
                found: if length > 0.0 {
                    format!("{}, {} mm together", sure.len(), shortest(length, 1))
                } else {
                    sure.len().to_string()
                },
                points: taken,
            });
        }
        points.left = points.left.max(0.0);
        points
    }
}
