//! One measurement against one row.

use super::conformity;
use super::decision::Decision;
use super::formula::Formula;
use super::nominal::{Nominal, Uncertain, measured};
use super::profile::{LengthUnit, Profile};
use super::row::{Case, Compare, Limit};
use super::specimen;
use super::wording::{Scale, add_note, blank, describe};
use crate::base::rounding::shortest;
use crate::record::{Check, Measurement, Outcome};
use std::collections::BTreeMap;

/// Compares one measurement of a row. `none_there` is the chance that what it adds
/// up is not there at all, where that is known.
pub fn measurement(
    profile: &Profile,
    limit: &Limit,
    name: &str,
    measurements: &BTreeMap<String, Measurement>,
    none_there: Option<f64>,
    nominal: &Nominal,
) -> Check {
    let scale = Scale::of(profile.unit, name);
    let mut check = blank(limit, Some(name));
    check.unit = Some(scale.key.to_owned());
    let cases = match in_thickness(limit, nominal, profile.unit) {
        Ok(cases) => cases,
        Err(why) => return not_assessed(check, why),
    };
    describe(&mut check, limit, &cases, nominal, scale);
    let raw = match measured(measurements, name) {
        Ok(raw) => raw,
        Err(why) => return not_assessed(check, why),
    };
    let subject = match subject(limit, raw, nominal, scale) {
        Ok(subject) => subject,
        Err(why) => return not_assessed(check, why),
    };
    check.measured = scale.with_uncertainty(subject.value, subject.u);
    check.value = Some(subject.value);
    let weighted = match by_face_width(&cases, nominal) {
        Ok(weighted) => weighted,
        Err(why) => return not_assessed(check, why),
    };
    let mut probability = 0.0;
    let mut short_probability = None;
    for (weight, case) in &weighted {
        match conforms(case, subject, none_there, nominal) {
            Ok((in_any_length, when_short)) => {
                probability += weight * in_any_length;
                short_probability = when_short;
            }
            Err(why) => return not_assessed(check, why),
        }
    }
    let mut check = decide(
        check,
        profile.decision,
        probability.clamp(0.0, 1.0),
        short_probability,
    );
    if weighted.iter().any(|(_, case)| case.examiner) && check.outcome != Outcome::Within {
        check.probability_of_conformity = None;
        check = not_assessed(
            check,
            "the rule does not say what is allowed of it: the examiner decides".to_owned(),
        );
    }
    match limit.specimen_length {
        Some(stated) => specimen::adjust(check, stated, measurements, profile.unit),
        None => check,
    }
}

/// The same check, not assessed, and why.
pub fn not_assessed(mut check: Check, why: String) -> Check {
    check.outcome = Outcome::NotAssessed;
    add_note(&mut check, why);
    check
}

/// The cases of a row for this coupon's thickness.
pub fn in_thickness<'a>(
    limit: &'a Limit,
    nominal: &Nominal,
    unit: LengthUnit,
) -> Result<Vec<&'a Case>, String> {
    if limit.cases.iter().all(|case| case.when_t.is_none()) {
        return Ok(limit.cases.iter().collect());
    }
    let t = *nominal.t.as_ref().map_err(Clone::clone)?;
    let cases: Vec<_> = limit
        .cases
        .iter()
        .filter(|case| case.when_t.is_none_or(|range| range.holds(t)))
        .collect();
    if cases.is_empty() {
        return Err(format!(
            "the profile has no limit for a plate of {} {}",
            shortest(t, 3),
            unit.sign()
        ));
    }
    Ok(cases)
}

/// What is compared, in the profile's unit.
fn subject(
    limit: &Limit,
    raw: Uncertain,
    nominal: &Nominal,
    scale: Scale,
) -> Result<Uncertain, String> {
    let value = raw.value * scale.per_record_unit;
    let u = raw.u * scale.per_record_unit;
    let a = || nominal.a.as_ref().copied().map_err(Clone::clone);
    Ok(match limit.compare {
        Compare::Value => Uncertain { value, u },
        Compare::Leg => {
            let factor = *nominal.leg_factor.as_ref().map_err(Clone::clone)?;
            Uncertain {
                value: value * factor,
                u: u * factor,
            }
        }
        Compare::ExcessOverA => Uncertain {
            value: value - a()?,
            u,
        },
        Compare::ShortfallBelowA => Uncertain {
            value: a()? - value,
            u,
        },
        Compare::ShortfallBelowZero => Uncertain { value: -value, u },
    })
}

/// The ranges of a row must hold the face width with at least this probability.
const MOSTLY: f64 = 0.95;

/// The cases with the probability that each one's range holds the face width.
fn by_face_width<'a>(
    cases: &[&'a Case],
    nominal: &Nominal,
) -> Result<Vec<(f64, &'a Case)>, String> {
    if cases.iter().all(|case| case.when_b.is_none()) {
        // Only the first applies; a file with two for one thickness is
        // ambiguous and the earlier row wins.
        return Ok(cases.first().map(|case| (1.0, *case)).into_iter().collect());
    }
    let b = *nominal.b.as_ref().map_err(Clone::clone)?;
    let weighted: Vec<_> = cases
        .iter()
        .map(|case| {
            let range = case.when_b.unwrap_or_default();
            let weight = if b.u > 0.0 {
                let (lower, upper) = range.ends();
                conformity::between(b.value, b.u, lower, upper)
            } else {
                f64::from(u8::from(range.holds(b.value)))
            };
            (weight, *case)
        })
        .filter(|(weight, _)| *weight > 0.0)
        .collect();
    if weighted.iter().map(|(weight, _)| weight).sum::<f64>() < MOSTLY {
        return Err("the profile has no limit for this face width".to_owned());
    }
    Ok(weighted)
}

/// Probability that the value conforms in any length, and as a short imperfection.
///
/// What may not be there at all has no normal distribution: a part of the chance
/// lies at nothing, and nothing keeps every upper limit. So the probability is never
/// less than that part (JCGM 106:2012, 6.2: of whatever distribution).
fn conforms(
    case: &Case,
    subject: Uncertain,
    none_there: Option<f64>,
    nominal: &Nominal,
) -> Result<(f64, Option<f64>), String> {
    let probability = |formula: &Formula, at_least: bool| {
        let limit = formula.evaluate(nominal)?;
        // The limit itself moves with the measured face width. Taken as
        // independent: a common scale error would only partly cancel.
        let u_limit = match (&nominal.b, limit.slope_b) {
            (Ok(b), slope) => slope * b.u,
            (Err(_), _) => 0.0,
        };
        let u = subject.u.hypot(u_limit);
        Ok::<f64, String>(if at_least {
            conformity::at_least(subject.value, u, limit.value)
        } else {
            conformity::at_most(subject.value, u, limit.value).max(none_there.unwrap_or(0.0))
        })
    };
    let in_any_length = match (&case.at_most, &case.at_least) {
        (Some(formula), _) => probability(formula, false)?,
        (_, Some(formula)) => probability(formula, true)?,
        _ => probability(&Formula::fixed(case.trace), false)?,
    };
    let when_short = match &case.short {
        Some(formula) => Some(probability(formula, false)?),
        None => None,
    };
    Ok((in_any_length, when_short))
}

/// The outcome. One section cannot show how long an imperfection is: what is
/// only allowed as a short one is decided by its length, which somebody else
/// has to measure along the weld.
pub fn decide(
    mut check: Check,
    decision: Decision,
    in_any_length: f64,
    when_short: Option<f64>,
) -> Check {
    check.outcome = decision.outcome(in_any_length);
    check.probability_of_conformity = Some(in_any_length);
    let Some(when_short) = when_short else {
        return check;
    };
    if check.outcome == Outcome::Within {
        return check;
    }
    let short = decision.outcome(when_short);
    if short == Outcome::Within {
        check.probability_of_conformity = None;
        return not_assessed(
            check,
            "allowed only as a short imperfection, and one section cannot show its length: \
             measure along the weld how far it runs"
                .to_owned(),
        );
    }
    check.probability_of_conformity = Some(when_short);
    check.outcome = short;
    check
}
