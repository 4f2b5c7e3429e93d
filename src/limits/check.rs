//! One measurement against one row.

use super::conformity::{self, OUTSIDE_TO, WITHIN_FROM};
use super::formula::{Evaluated, Formula};
use super::nominal::{Nominal, Uncertain, measured};
use super::profile::{Case, Compare, LengthUnit, Limit, Profile};
use crate::base::rounding::{shortest, stated};
use crate::record::catalogue::{self, Unit};
use crate::record::{Check, Measurement, Outcome, Sense};
use std::collections::BTreeMap;

/// Compares one measurement of a row.
pub fn measurement(
    profile: &Profile,
    limit: &Limit,
    name: &str,
    measurements: &BTreeMap<String, Measurement>,
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
    for (weight, case) in weighted {
        match conforms(case, subject, nominal) {
            Ok((in_any_length, when_short)) => {
                probability += weight * in_any_length;
                short_probability = when_short;
            }
            Err(why) => return not_assessed(check, why),
        }
    }
    decide(check, probability.clamp(0.0, 1.0), short_probability)
}

/// A check with nothing compared yet.
pub fn blank(limit: &Limit, name: Option<&str>) -> Check {
    // With two members the check says which; "undercut: undercut in …" would
    // say the imperfection twice.
    let words = match name
        .filter(|_| limit.measurements.len() > 1)
        .and_then(catalogue::entry)
    {
        Some(entry) if entry.title.starts_with(&limit.imperfection) => entry.title.to_owned(),
        Some(entry) => format!("{}: {}", limit.imperfection, entry.title),
        None => limit.imperfection.clone(),
    };
    Check {
        limit: words,
        clause: limit.clause.clone(),
        measured: "—".to_owned(),
        allowed: "—".to_owned(),
        outcome: Outcome::NotAssessed,
        probability_of_conformity: None,
        measurement: name.map(str::to_owned),
        verified: sources(limit.cases.iter()),
        note: limit.note.clone(),
        row: Some(limit.id.clone()),
        value: None,
        limit_value: None,
        unit: None,
        sense: None,
    }
}

/// The same check, not assessed, and why.
pub fn not_assessed(mut check: Check, why: String) -> Check {
    check.outcome = Outcome::NotAssessed;
    add_note(&mut check, why);
    check
}

/// Adds a sentence to the note, in front of what stands there.
pub fn add_note(check: &mut Check, sentence: String) {
    check.note = Some(match check.note.take() {
        Some(note) => format!("{sentence}. {note}"),
        None => sentence,
    });
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

/// Says in the check what is allowed, as far as it can be reckoned.
pub fn describe(
    check: &mut Check,
    limit: &Limit,
    cases: &[&Case],
    nominal: &Nominal,
    scale: Scale,
) {
    // With several ranges of face width the one that holds the measured
    // width is shown.
    let b = nominal.b.as_ref().ok().map(|b| b.value);
    let case = match (b, cases) {
        (Some(b), [_, _, ..]) => cases
            .iter()
            .find(|case| case.when_b.is_none_or(|range| range.holds(b))),
        (_, [only]) => Some(only),
        _ => None,
    };
    let Some(case) = case else { return };
    check.verified = sources(std::iter::once(*case));
    let formulas = || {
        [&case.at_most, &case.at_least, &case.short]
            .into_iter()
            .flatten()
    };
    let uses_a = formulas().any(|formula| formula.per_a != 0.0)
        || matches!(
            limit.compare,
            Compare::ExcessOverA | Compare::ShortfallBelowA
        );
    let uses_z = formulas().any(|formula| formula.per_z != 0.0);
    let uses_angle = (uses_a && nominal.a_is_reckoned)
        || (uses_z && nominal.z_is_reckoned)
        || limit.compare == Compare::Leg;
    if let (true, Some(assumed)) = (uses_angle, &nominal.assumed) {
        add_note(check, assumed.clone());
    }
    if let (Compare::Leg, Ok(factor)) = (limit.compare, &nominal.leg_factor)
        && *factor != 1.0
    {
        add_note(
            check,
            format!(
                "the leg along the plate times {} is compared, the leg square to the other plate",
                shortest(*factor, 3)
            ),
        );
    }
    let (sense, formula) = match (&case.at_most, &case.at_least) {
        (Some(formula), _) => (Sense::AtMost, *formula),
        (_, Some(formula)) => (Sense::AtLeast, *formula),
        _ => (Sense::AtMost, Formula::fixed(case.trace)),
    };
    check.sense = Some(sense);
    let value = formula.evaluate(nominal).ok();
    check.limit_value = value.map(|evaluated| evaluated.value);
    check.allowed = if nothing_allowed(case) {
        "not permitted".to_owned()
    } else {
        let sign = match sense {
            Sense::AtMost => "≤",
            Sense::AtLeast => "≥",
        };
        formula_words(sign, &formula, value, scale)
    };
    if case.trace > 0.0 {
        check.allowed.push_str(&format!(
            " (up to {} counts as none; this tool's choice, not the standard's)",
            scale.limit(case.trace)
        ));
    }
    if let Some(short) = &case.short {
        let words = formula_words("≤", short, short.evaluate(nominal).ok(), scale);
        check
            .allowed
            .push_str(&format!("; {words} as a short imperfection"));
    }
}

/// Whether the case permits nothing at all in a weld's whole length.
pub fn nothing_allowed(case: &Case) -> bool {
    case.not_permitted || case.at_most == Some(Formula::fixed(0.0))
}

fn formula_words(sign: &str, formula: &Formula, value: Option<Evaluated>, scale: Scale) -> String {
    match (value, formula.words(scale.sign)) {
        (Some(value), Some(words)) => {
            format!("{sign} {} ({words})", scale.limit(value.value))
        }
        (Some(value), None) => format!("{sign} {}", scale.limit(value.value)),
        (None, Some(words)) => format!("{sign} {words}"),
        (None, None) => "—".to_owned(),
    }
}

fn sources<'a>(cases: impl Iterator<Item = &'a Case>) -> String {
    let mut words: Vec<String> = Vec::new();
    for case in cases {
        let source = case.source.words();
        if !words.contains(&source) {
            words.push(source);
        }
    }
    words.join("; or, by range: ")
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
    if weighted.iter().map(|(weight, _)| weight).sum::<f64>() < WITHIN_FROM {
        return Err("the profile has no limit for this face width".to_owned());
    }
    Ok(weighted)
}

/// Probability that the value conforms in any length, and as a short imperfection.
fn conforms(
    case: &Case,
    subject: Uncertain,
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
            conformity::at_most(subject.value, u, limit.value)
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
pub fn decide(mut check: Check, in_any_length: f64, when_short: Option<f64>) -> Check {
    check.outcome = conformity::outcome(in_any_length);
    check.probability_of_conformity = Some(in_any_length);
    let Some(when_short) = when_short else {
        return check;
    };
    if check.outcome == Outcome::Within {
        return check;
    }
    if when_short >= WITHIN_FROM {
        check.probability_of_conformity = None;
        return not_assessed(
            check,
            "allowed only as a short imperfection, and one section cannot show its length: \
             measure along the weld how far it runs"
                .to_owned(),
        );
    }
    check.probability_of_conformity = Some(when_short);
    check.outcome = if when_short <= OUTSIDE_TO {
        Outcome::Outside
    } else {
        Outcome::TooCloseToCall
    };
    check
}

/// How a measurement's numbers are converted and written.
#[derive(Clone, Copy, Debug)]
pub struct Scale {
    /// Profile unit per record unit.
    per_record_unit: f64,
    /// `mm`, `in` or `deg`, for the record.
    pub key: &'static str,
    /// Written behind numbers.
    sign: &'static str,
    decimals: usize,
}

impl Scale {
    /// For lengths.
    pub fn length(unit: LengthUnit) -> Self {
        Self {
            per_record_unit: unit.from_mm(1.0),
            key: unit.sign(),
            sign: unit.sign(),
            decimals: match unit {
                LengthUnit::Mm => 2,
                LengthUnit::Inch => 4,
            },
        }
    }

    fn of(unit: LengthUnit, name: &str) -> Self {
        match catalogue::entry(name).map(|entry| entry.unit) {
            Some(Unit::Deg) => Self {
                per_record_unit: 1.0,
                key: "deg",
                sign: "°",
                decimals: 0,
            },
            Some(Unit::Mm2) => Self {
                per_record_unit: unit.from_mm(1.0) * unit.from_mm(1.0),
                key: match unit {
                    LengthUnit::Mm => "mm2",
                    LengthUnit::Inch => "in2",
                },
                sign: match unit {
                    LengthUnit::Mm => "mm²",
                    LengthUnit::Inch => "in²",
                },
                decimals: 4,
            },
            Some(Unit::Percent) => Self {
                per_record_unit: 1.0,
                key: "percent",
                sign: "%",
                decimals: 1,
            },
            Some(Unit::Count) => Self {
                per_record_unit: 1.0,
                key: "",
                sign: "",
                decimals: 0,
            },
            Some(Unit::Mm) | None => Self::length(unit),
        }
    }

    /// `0.42 ± 0.10 mm`.
    pub fn with_uncertainty(&self, value: f64, u: f64) -> String {
        let (value, expanded) = stated(value, 2.0 * u, self.decimals);
        format!("{value} ± {expanded}{}", self.unit_words())
    }

    fn limit(&self, value: f64) -> String {
        format!(
            "{}{}",
            shortest(value, self.decimals + 1),
            self.unit_words()
        )
    }

    fn unit_words(&self) -> String {
        match self.sign {
            "" | "°" => self.sign.to_owned(),
            sign => format!(" {sign}"),
        }
    }
}
