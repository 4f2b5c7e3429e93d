//! What was asked of one photograph, so that it can be asked again.

use super::{Coupon, Kind};
use serde::{Deserialize, Serialize};

/// Everything beside its bytes that decides what a photograph's record says.
///
/// Texts are written as after the option of the same name, so that a later
/// version reads them as it reads its own command line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Asked {
    /// What the photograph shows.
    pub kind: Kind,
    /// What was declared of the coupon.
    pub coupon: Coupon,
    /// Where millimetres come from: `rule-mm`, `chequer:5` …
    pub scale: String,
    /// Accuracy class of a rule: `I`, `II` or `III`.
    pub rule_class: String,
    /// Measured length of the scale card's control line, mm.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub card_line_mm: Option<f64>,
    /// Limits to compare with; `None`: no verdict.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub limits: Option<AskedLimits>,
}

/// The limits asked for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AskedLimits {
    /// The profile's name.
    pub name: String,
    /// The whole text of a profile of one's own; `None`: a built-in one.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub text: Option<String>,
    /// The decision rule, when it is another than the profile's.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub decision: Option<String>,
}
