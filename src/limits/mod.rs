//! Stage 4: the measurements against the limits somebody chose.
//!
//! A profile is a table (TOML); [`judge`] applies it and says of every row
//! what was measured, what is allowed, how they compare and how sure that is.
//! A row that could not be applied is a check of its own with the outcome
//! `not-assessed`, never left out.

mod bent;
mod check;
mod conformity;
mod decision;
mod error;
mod extends;
mod flaws;
mod formula;
mod nominal;
mod points;
mod profile;
mod published;
mod row;
mod sheet;
mod short;
mod specimen;
mod wording;

pub use bent::BentFlat;
pub use decision::Decision;
pub use error::LimitsError;
pub use formula::Formula;
pub use nominal::skew_factor;
pub use points::{PointRules, Take};
pub use profile::{LegSense, LengthUnit, Profile};
pub use row::{Case, Compare, Confidence, FINDING_KINDS, Limit, Range, Size, Source};
pub use short::Short;

use crate::record::{Check, Coupon, Finding, Measurement, Outcome, Verdict};
use nominal::Nominal;
use std::collections::BTreeMap;

/// Applies a profile to one weld.
///
/// `measurements` are in mm and degrees by record name. `searched` names the
/// kinds of finding (`crack`, `pore` …) the picture was searched for: an empty
/// list of findings says nothing of a kind nobody looked for, and rows about it
/// come out `not-assessed`. A finding counts also when its kind is not in
/// `searched`. Cracks the examiner declared count as searched for.
///
/// A coupon that was declared to have bent flat has one check only: what the
/// profile says of that.
///
/// The outcome is the worst of the checks; see [`Outcome`] for the order.
pub fn judge(
    profile: &Profile,
    coupon: &Coupon,
    measurements: &BTreeMap<String, Measurement>,
    findings: &[Finding],
    searched: &[&str],
) -> Verdict {
    if coupon.bent_flat {
        return verdict(profile, vec![bent::check(profile)]);
    }
    let nominal = Nominal::new(profile.unit, profile.leg_sense, coupon, measurements);
    let crack = flaws::declared_crack();
    let known = flaws::Known::new(
        profile.kind,
        coupon,
        findings,
        &crack,
        searched,
        measurements,
    );
    let mut checks = Vec::new();
    for limit in &profile.limits {
        for name in &limit.measurements {
            checks.push(check::measurement(
                profile,
                limit,
                name,
                measurements,
                flaws::chance_of_none(name, &known),
                &nominal,
            ));
        }
        if flaws::applies(limit, &known) {
            checks.push(flaws::check(profile, limit, &known, &nominal));
        }
    }
    // Nothing was searched for where nothing was measured: then no points either.
    let points =
        (profile.points.as_ref().filter(|_| !searched.is_empty())).map(|rules| rules.count(&known));
    Verdict {
        points,
        ..verdict(profile, checks)
    }
}

fn verdict(profile: &Profile, checks: Vec<Check>) -> Verdict {
    Verdict {
        profile: profile.name.clone(),
        edition_note: profile.edition_note(),
        decision_rule: profile.decision.words(),
        outcome: checks
            .iter()
            .map(|check| check.outcome)
            .max()
            .unwrap_or(Outcome::NotAssessed),
        checks,
        points: None,
    }
}
