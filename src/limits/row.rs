//! One row of a profile as it stands in the file, and what can be wrong with it.

use super::formula::Formula;
use crate::record::{Kind, catalogue};
use serde::Deserialize;

/// The flaws a row may name, as `type` of a finding.
pub const FINDING_KINDS: &[&str] = &[
    "crack",
    "inclusion",
    "lack-of-inter-run-fusion",
    "lack-of-root-fusion",
    "lack-of-sidewall-fusion",
    "overlap",
    "pore",
    "undercut",
    "wormhole",
];

/// One row: an imperfection and what is allowed of it.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limit {
    /// Identity of the row, e.g. the ISO 6520-1 number.
    pub id: String,
    /// The imperfection in words.
    pub imperfection: String,
    /// Clause, table or number in the standard.
    pub clause: String,
    /// Record names compared; each gives a check of its own.
    #[serde(default)]
    pub measurements: Vec<String>,
    /// What of the measurement is compared.
    #[serde(default)]
    pub compare: Compare,
    /// Flaws compared, by `type`; they must have been searched for.
    #[serde(default)]
    pub findings: Vec<String>,
    /// Compare the sum of the flaws' sizes instead of the largest.
    #[serde(default)]
    pub sum: bool,
    /// Which size of the flaws is compared.
    #[serde(default)]
    pub size: Size,
    /// Length of the specimen the limit is stated for; see [`super::specimen`].
    pub specimen_length: Option<f64>,
    /// What the row does not say by itself.
    pub note: Option<String>,
    /// The values, by range of t or b; exactly one applies.
    #[serde(rename = "case")]
    pub cases: Vec<Case>,
}

/// What of a measurement is compared with the limit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Compare {
    /// The measured value.
    #[default]
    Value,
    /// Measured leg, in the profile's sense of a leg.
    Leg,
    /// How far the value exceeds the nominal throat a.
    ExcessOverA,
    /// How far the value falls short of the nominal throat a.
    ShortfallBelowA,
    /// How far the value falls short of zero.
    ShortfallBelowZero,
}

/// Which size of a flaw is compared.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Size {
    /// Its greatest dimension; of a flaw along the weld, its length.
    #[default]
    Dimension,
    /// Its greatest extent across the weld.
    Across,
    /// The flaws' areas together, in per cent of the fracture face.
    AreaPercent,
}

/// The value of a limit for one range.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    /// Thickness of the thinner plate it applies to.
    pub when_t: Option<Range>,
    /// Face width it applies to.
    pub when_b: Option<Range>,
    /// Greatest value allowed.
    pub at_most: Option<Formula>,
    /// Least value allowed.
    pub at_least: Option<Formula>,
    /// True when nothing is allowed.
    #[serde(default)]
    pub not_permitted: bool,
    /// True when the rule does not say what is allowed: absent is `within`,
    /// anything else is left to the examiner.
    #[serde(default)]
    pub examiner: bool,
    /// With `not_permitted` or `examiner`: up to this the imperfection counts as absent,
    /// because no measurement can show an exact zero. A choice of whoever
    /// wrote the file, not of the standard.
    #[serde(default)]
    pub trace: f64,
    /// Greatest value allowed when the imperfection is short along the weld.
    pub short: Option<Formula>,
    /// With `at_most`, for a height: greatest length of an elongated flaw
    /// whose height keeps `at_most`.
    pub length: Option<Formula>,
    /// Where the value comes from.
    pub source: Source,
}

/// Where a value comes from.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Source {
    /// Compared with this publication.
    Seen(String),
    /// Seen only as somebody quoted it, not in the publication itself.
    Quoted(String),
    /// Written from memory; how sure the writer is.
    Memory(Confidence),
    /// A rule of somebody's own, which no standard holds.
    Own(String),
}

impl Source {
    /// As a report says it.
    pub fn words(&self) -> String {
        match self {
            Self::Seen(what) => format!("verified against {what}"),
            Self::Quoted(by) => {
                format!("seen only as quoted in {by}, not in the standard itself")
            }
            Self::Own(whose) => format!("{whose}; no standard holds it"),
            Self::Memory(confidence) => format!(
                "from memory ({} confidence), not verified – check your own copy of the standard",
                match confidence {
                    Confidence::High => "high",
                    Confidence::Medium => "medium",
                    Confidence::Low => "low",
                }
            ),
        }
    }
}

/// How sure a writer from memory is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Confidence {
    /// Sure.
    High,
    /// Fairly sure.
    Medium,
    /// A guess to be checked first.
    Low,
}

/// A range of lengths in the profile's unit; what is not given is open.
#[derive(Clone, Copy, Debug, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Range {
    /// Lower end, belongs to the range.
    pub from: Option<f64>,
    /// Lower end, does not belong to it.
    pub over: Option<f64>,
    /// Upper end, belongs to the range.
    pub up_to: Option<f64>,
    /// Upper end, does not belong to it.
    pub below: Option<f64>,
}

impl Range {
    /// Whether a length lies in it.
    pub fn holds(&self, x: f64) -> bool {
        self.from.is_none_or(|end| x >= end)
            && self.over.is_none_or(|end| x > end)
            && self.up_to.is_none_or(|end| x <= end)
            && self.below.is_none_or(|end| x < end)
    }

    /// Both ends, infinite where open.
    pub fn ends(&self) -> (f64, f64) {
        (
            self.from.or(self.over).unwrap_or(f64::NEG_INFINITY),
            self.up_to.or(self.below).unwrap_or(f64::INFINITY),
        )
    }
}

impl Limit {
    /// What is wrong with the row of a profile for `kind`, if anything.
    pub(super) fn fault(&self, kind: Kind) -> Option<String> {
        if self.measurements.is_empty() && self.findings.is_empty() {
            return Some("it compares nothing: give `measurements`, `findings` or both".to_owned());
        }
        if let Some(name) = self
            .measurements
            .iter()
            .find(|name| catalogue::entry(name).is_none())
        {
            return Some(format!("there is no measurement called `{name}`"));
        }
        if let Some(name) = self
            .measurements
            .iter()
            .find(|name| catalogue::of(kind).iter().all(|entry| entry.name != **name))
        {
            return Some(format!(
                "`{name}` is not measured in such a photograph; a profile is for \
                 `kind = \"section\"` (if nothing is said) or for `kind = \"fracture\"`"
            ));
        }
        if let Some(length) = self.specimen_length
            && (kind != Kind::Fracture || !(length.is_finite() && length > 0.0))
        {
            return Some(
                "`specimen_length` is a number above 0, for `kind = \"fracture\"` only".to_owned(),
            );
        }
        if let Some(kind) = self
            .findings
            .iter()
            .find(|kind| !FINDING_KINDS.contains(&kind.as_str()))
        {
            return Some(format!(
                "there is no kind of finding called `{kind}`; there are {}",
                FINDING_KINDS.join(", ")
            ));
        }
        if self.cases.is_empty() {
            return Some("it has no [[limit.case]]".to_owned());
        }
        self.cases.iter().find_map(|case| self.case_fault(case))
    }

    fn case_fault(&self, case: &Case) -> Option<String> {
        let sorts = usize::from(case.at_most.is_some())
            + usize::from(case.at_least.is_some())
            + usize::from(case.not_permitted)
            + usize::from(case.examiner);
        if sorts != 1 {
            return Some(
                "a case needs exactly one of `at_most`, `at_least`, `not_permitted`, `examiner`"
                    .to_owned(),
            );
        }
        for (key, formula) in [
            ("at_most", &case.at_most),
            ("at_least", &case.at_least),
            ("short", &case.short),
            ("length", &case.length),
        ] {
            if let Some(fault) = formula.as_ref().and_then(Formula::fault) {
                return Some(format!("`{key}.{fault}` must be a number of 0 or more"));
            }
        }
        if !(case.trace.is_finite() && case.trace >= 0.0) {
            return Some("`trace` must be a number of 0 or more".to_owned());
        }
        if case.trace > 0.0 && !(case.not_permitted || case.examiner) {
            return Some("`trace` only goes with `not_permitted` or `examiner`".to_owned());
        }
        if case.length.is_some() && (case.at_most.is_none() || case.short.is_some()) {
            return Some("`length` goes with `at_most` and without `short`".to_owned());
        }
        if case.examiner && (case.short.is_some() || !self.findings.is_empty()) {
            return Some("`examiner` goes neither with `short` nor with `findings`".to_owned());
        }
        if case.at_least.is_some() && (case.short.is_some() || !self.findings.is_empty()) {
            return Some("`at_least` goes neither with `short` nor with `findings`".to_owned());
        }
        if case.when_b.is_some() && (case.short.is_some() || !self.findings.is_empty()) {
            return Some("`when_b` goes neither with `short` nor with `findings`".to_owned());
        }
        None
    }
}
