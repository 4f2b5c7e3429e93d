//! Flaws found, against one row.

use super::check::{
    Scale, add_note, blank, decide, describe, in_thickness, not_assessed, nothing_allowed,
};
use super::conformity;
use super::nominal::Nominal;
use super::profile::{Limit, Profile};
use crate::record::{Check, Finding, Outcome};

/// A finding at least this sure counts as there; a less sure one makes the
/// check too close to call.
const SURE_FROM: f64 = 0.5;

/// Whether a row's flaws give a check of their own: when they are all the row
/// has, when every kind was searched for, or when something was found.
pub fn applies(limit: &Limit, findings: &[Finding], searched: &[&str]) -> bool {
    !limit.findings.is_empty()
        && (limit.measurements.is_empty()
            || not_searched(limit, searched).is_empty()
            || findings.iter().any(|finding| concerns(limit, finding)))
}

fn concerns(limit: &Limit, finding: &Finding) -> bool {
    limit.findings.contains(&finding.kind)
}

fn not_searched<'a>(limit: &'a Limit, searched: &[&str]) -> Vec<&'a str> {
    limit
        .findings
        .iter()
        .map(String::as_str)
        .filter(|kind| !searched.contains(kind))
        .collect()
}

/// Compares the flaws of a row.
pub fn check(
    profile: &Profile,
    limit: &Limit,
    findings: &[Finding],
    searched: &[&str],
    nominal: &Nominal,
) -> Check {
    let scale = Scale::length(profile.unit);
    let mut check = blank(limit, None);
    check.unit = Some(scale.key.to_owned());
    let relevant: Vec<&Finding> = findings
        .iter()
        .filter(|finding| concerns(limit, finding))
        .collect();
    let missing = not_searched(limit, searched);
    let cases = in_thickness(limit, nominal, profile.unit);
    if let Ok(cases) = &cases {
        describe(&mut check, limit, cases, nominal, scale);
    }
    if relevant.is_empty() {
        if !missing.is_empty() {
            check.measured = "not searched for".to_owned();
            return not_assessed(
                check,
                format!(
                    "this version did not search the picture for {}: look at the section \
                     yourself",
                    missing.join(", ").replace('-', " ")
                ),
            );
        }
        check.measured = "none found".to_owned();
        check.outcome = Outcome::Within;
        return check;
    }
    let case = match cases {
        Ok(cases) => cases[0],
        Err(why) => {
            check.measured = format!("{} found", relevant.len());
            return not_assessed(check, why);
        }
    };
    let sure = relevant
        .iter()
        .any(|finding| finding.confidence >= SURE_FROM);
    let sizes: Option<Vec<(f64, f64)>> = relevant
        .iter()
        .map(|finding| {
            finding.length_mm.map(|length| {
                (
                    profile.unit.from_mm(length.value),
                    profile.unit.from_mm(length.expanded_uncertainty) / 2.0,
                )
            })
        })
        .collect();
    let usable = sizes.filter(|sizes| {
        sizes
            .iter()
            .all(|(size, u)| size.is_finite() && u.is_finite() && *u >= 0.0)
    });
    let size = usable.map(|sizes| combined(&sizes, limit.sum));
    check.measured = match size {
        Some((size, u)) => format!(
            "{} found, {} {}",
            relevant.len(),
            if limit.sum { "together" } else { "largest" },
            scale.with_uncertainty(size, u)
        ),
        None => format!("{} found, size not measured", relevant.len()),
    };
    check.value = size.map(|(size, _)| size);

    let mut check = if nothing_allowed(case) && case.short.is_none() {
        check.outcome = Outcome::Outside;
        check
    } else {
        let Some((size, u)) = size else {
            check.outcome = Outcome::TooCloseToCall;
            add_note(
                &mut check,
                "something was found but its size could not be measured".to_owned(),
            );
            return check;
        };
        let probability = |formula: &super::Formula| {
            formula
                .evaluate(nominal)
                .map(|limit| conformity::at_most(size, u, limit.value))
        };
        // A flaw that was found is not zero long, whatever its uncertainty.
        let in_any_length = match &case.at_most {
            Some(formula) if !nothing_allowed(case) => probability(formula),
            _ => Ok(0.0),
        };
        let when_short = case.short.as_ref().map(probability).transpose();
        match (in_any_length, when_short) {
            (Ok(in_any_length), Ok(when_short)) => decide(check, in_any_length, when_short),
            (Err(why), _) | (_, Err(why)) => return not_assessed(check, why),
        }
    };
    if !sure && check.outcome == Outcome::Outside {
        check.outcome = Outcome::TooCloseToCall;
        check.probability_of_conformity = None;
        add_note(
            &mut check,
            "it is not sure that this is a flaw: look at the place in the section".to_owned(),
        );
    }
    if !missing.is_empty() && check.outcome == Outcome::Within {
        check.probability_of_conformity = None;
        return not_assessed(
            check,
            format!(
                "what was found is within the limit, but the picture was not searched for {}",
                missing.join(", ").replace('-', " ")
            ),
        );
    }
    check
}

/// The size compared and its standard uncertainty: the sum, or the largest.
fn combined(sizes: &[(f64, f64)], sum: bool) -> (f64, f64) {
    if sum {
        // Sizes share one scale, so their uncertainties are added as they
        // are, the cautious way.
        sizes.iter().fold((0.0, 0.0), |(size, u), (one, one_u)| {
            (size + one, u + one_u)
        })
    } else {
        sizes
            .iter()
            .copied()
            .max_by(|one, other| one.0.total_cmp(&other.0))
            .unwrap_or((0.0, 0.0))
    }
}
