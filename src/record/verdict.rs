//! The comparison with the limits the examiner chose.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How the coupon compares with one profile of limits.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Verdict {
    /// Name of the profile.
    pub profile: String,
    /// Standard and edition, and what of it was verified.
    pub edition_note: String,
    /// The decision rule, in words.
    pub decision_rule: String,
    /// The coupon's outcome: the worst of its checks.
    pub outcome: Outcome,
    /// One entry a limit.
    pub checks: Vec<Check>,
    /// Points of an exercise, when the profile gives any.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub points: Option<Points>,
}

/// Points of an exercise: an instructor's count, no part of any standard.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Points {
    /// Points before anything is taken off.
    pub start: f64,
    /// Points left, never below 0.
    pub left: f64,
    /// Half-width of the interval that the measured sizes leave to `left`
    /// (coverage 0.95).
    pub expanded_uncertainty: f64,
    /// What was taken off, one entry a rule that took anything.
    pub taken: Vec<PointLine>,
    /// What was left to the examiner, in words.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub left_to_examiner: Vec<String>,
}

/// What one rule took off.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PointLine {
    /// What for, in words.
    pub what: String,
    /// What was found, in words.
    pub found: String,
    /// Points taken off.
    pub points: f64,
}

/// One limit, applied.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Check {
    /// What is limited, in words, e.g. `excessive convexity (503)`.
    pub limit: String,
    /// Clause or number in the standard.
    pub clause: String,
    /// What was measured, with its unit, in words.
    pub measured: String,
    /// What the limit allows, with its unit and formula, in words.
    pub allowed: String,
    /// How they compare.
    pub outcome: Outcome,
    /// Probability that the true value conforms, 0 … 1.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub probability_of_conformity: Option<f64>,
    /// Record name of the measurement it rests on.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub measurement: Option<String>,
    /// Whether the limit's value was checked against a published source, or
    /// written from memory, in words.
    pub verified: String,
    /// Why the check was not assessed, or what else to know.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub note: Option<String>,
    /// The row of the profile it comes from, e.g. `503`.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub row: Option<String>,
    /// The value that was compared, in `unit`.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub value: Option<f64>,
    /// The limit it was compared with, in `unit`.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub limit_value: Option<f64>,
    /// Unit of `value` and `limit_value`: `mm`, `in` or `deg`.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub unit: Option<String>,
    /// On which side of the limit the value must lie.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub sense: Option<Sense>,
}

/// On which side of its limit a value must lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Sense {
    /// Not above.
    AtMost,
    /// Not below.
    AtLeast,
}

/// How something compares with a limit, best first.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// Inside the limit.
    Within,
    /// Could not be compared.
    NotAssessed,
    /// The uncertainty spans the limit.
    TooCloseToCall,
    /// Outside the limit.
    Outside,
}
