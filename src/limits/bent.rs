//! A coupon that bent flat upon itself without breaking: declared, not measured.

use super::profile::Profile;
use super::row::Source;
use crate::record::{Check, Outcome};
use serde::Deserialize;

/// What a profile says of such a coupon.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BentFlat {
    /// Whether it passes by the profile's wording.
    pub passes: bool,
    /// Clause in the standard.
    pub clause: String,
    /// What else to know.
    pub note: Option<String>,
    /// Where that comes from.
    pub source: Source,
}

/// The one check there is when the coupon did not break: no face, no rows.
pub fn check(profile: &Profile) -> Check {
    let (outcome, clause, verified, note) = match &profile.bent_flat {
        Some(rule) => (
            if rule.passes {
                Outcome::Within
            } else {
                Outcome::NotAssessed
            },
            rule.clause.clone(),
            rule.source.words(),
            rule.note.clone(),
        ),
        None => (
            Outcome::NotAssessed,
            "—".to_owned(),
            "not known to this profile".to_owned(),
            Some(
                "this profile says nothing of a coupon that bent flat without breaking: look \
                 into your own copy of the standard"
                    .to_owned(),
            ),
        ),
    };
    Check {
        limit: "bends flat without breaking".to_owned(),
        clause,
        measured: "declared, not measured: the coupon bent flat".to_owned(),
        allowed: match outcome {
            Outcome::Within => "bends flat upon itself".to_owned(),
            _ => "—".to_owned(),
        },
        outcome,
        probability_of_conformity: None,
        measurement: None,
        verified,
        note,
        row: Some("bent flat".to_owned()),
        value: None,
        limit_value: None,
        unit: None,
        sense: None,
    }
}
