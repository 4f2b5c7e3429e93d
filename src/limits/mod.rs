//! Stage 4: the measurements against the limits somebody chose.
//!
//! A profile is a table (TOML); [`judge`] applies it and says of every row
//! what was measured, what is allowed, how they compare and how sure that is.
//! A row that could not be applied is a check of its own with the outcome
//! `not-assessed`, never left out.

mod check;
mod conformity;
mod flaws;
mod formula;
mod nominal;
mod profile;
mod row;
mod wording;

pub use conformity::{OUTSIDE_TO, WITHIN_FROM};
pub use formula::Formula;
pub use nominal::skew_factor;
pub use profile::{LegSense, LengthUnit, LimitsError, Profile};
pub use row::{Case, Compare, Confidence, FINDING_KINDS, Limit, Range, Source};

use crate::record::{Coupon, Finding, Measurement, Outcome, Verdict};
use nominal::Nominal;
use std::collections::BTreeMap;

/// Applies a profile to one weld.
///
/// `measurements` are in mm and degrees by record name. `searched` names the
/// kinds of finding (`crack`, `pore` …) the picture was searched for: an empty
/// list of findings says nothing of a kind nobody looked for, and rows about it
/// come out `not-assessed`. A finding counts also when its kind is not in
/// `searched`.
///
/// The outcome is the worst of the checks; see [`Outcome`] for the order.
pub fn judge(
    profile: &Profile,
    coupon: &Coupon,
    measurements: &BTreeMap<String, Measurement>,
    findings: &[Finding],
    searched: &[&str],
) -> Verdict {
    let nominal = Nominal::new(profile.unit, profile.leg_sense, coupon, measurements);
    let mut checks = Vec::new();
    for limit in &profile.limits {
        for name in &limit.measurements {
            checks.push(check::measurement(
                profile,
                limit,
                name,
                measurements,
                &nominal,
            ));
        }
        if flaws::applies(limit, findings, searched) {
            checks.push(flaws::check(profile, limit, findings, searched, &nominal));
        }
    }
    Verdict {
        profile: profile.name.clone(),
        edition_note: profile.edition_note(),
        decision_rule: conformity::RULE_IN_WORDS.to_owned(),
        outcome: checks
            .iter()
            .map(|check| check.outcome)
            .max()
            .unwrap_or(Outcome::NotAssessed),
        checks,
    }
}
