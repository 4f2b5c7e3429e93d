//! Flaws found, against one row of a profile.

use super::check::{decide, in_thickness, not_assessed};
use super::conformity;
use super::decision::Decision;
use super::nominal::{Nominal, measured};
use super::profile::Profile;
use super::row::Limit;
use super::row::Size;
use super::wording::{Scale, add_note, blank, describe, nothing_allowed};
use crate::record::{Check, Coupon, Cracks, Finding, Kind, Measurement, Outcome};
use std::collections::BTreeMap;

/// A finding at least this sure counts as there; a less sure one makes the
/// check too close to call.
pub const SURE_FROM: f64 = 0.5;

/// What is known of flaws.
pub struct Known<'a> {
    /// Every finding; cracks that were declared stand in it as well.
    pub findings: Vec<&'a Finding>,
    /// Kinds that were looked for, by the tool or by the examiner.
    pub searched: Vec<&'a str>,
    /// What the examiner said of cracks.
    cracks: Option<Cracks>,
    /// Measurements of the same photograph.
    measurements: &'a BTreeMap<String, Measurement>,
}

impl<'a> Known<'a> {
    /// Of a fracture face only what lies in the evaluated length counts.
    /// `declared_crack` stands in for the cracks an examiner saw, see
    /// [`declared_crack`].
    pub fn new(
        kind: Kind,
        coupon: &Coupon,
        findings: &'a [Finding],
        declared_crack: &'a Finding,
        searched: &[&'a str],
        measurements: &'a BTreeMap<String, Measurement>,
    ) -> Self {
        let mut known = Self {
            findings: findings
                .iter()
                .filter(|finding| kind == Kind::Section || finding.is_counted())
                .collect(),
            searched: searched.to_vec(),
            cracks: coupon.cracks,
            measurements,
        };
        if coupon.cracks == Some(Cracks::Seen) {
            known.findings.push(declared_crack);
        }
        if coupon.cracks.is_some() {
            known.searched.push(CRACK);
        }
        known
    }
}

const CRACK: &str = "crack";

/// The cracks an examiner saw, as one finding without a size.
pub fn declared_crack() -> Finding {
    Finding {
        kind: CRACK.to_owned(),
        iso_6520: 100,
        confidence: 1.0,
        ..Finding::default()
    }
}

/// Chance that there is nothing of what a length or area of unfused surface adds up:
/// that none of the zones found is one, and that none was overlooked. `None` for
/// another measurement, and where nothing is known of either.
pub fn chance_of_none(measurement: &str, known: &Known) -> Option<f64> {
    let kind = SUMMED
        .iter()
        .find(|(start, _)| measurement.starts_with(start))
        .map(|(_, kind)| *kind)?;
    let found = known
        .findings
        .iter()
        .filter(|finding| finding.kind == kind)
        .map(|finding| finding.confidence);
    let overlooked = known
        .measurements
        .get(measurement)
        .and_then(|m| m.chance_overlooked);
    found
        .chain(overlooked)
        .map(|there| 1.0 - there.clamp(0.0, 1.0))
        .reduce(|all, one| all * one)
}

/// How the names of measurements begin that sum up findings of a kind.
const SUMMED: [(&str, &str); 3] = [
    ("root_unfused_", "lack-of-root-fusion"),
    ("inter_run_unfused_", "lack-of-inter-run-fusion"),
    ("sidewall_unfused_", "lack-of-sidewall-fusion"),
];

/// Whether a row's flaws give a check of their own: when they are all the row
/// has, when every kind was searched for, or when something was found.
pub fn applies(limit: &Limit, known: &Known) -> bool {
    !limit.findings.is_empty()
        && (limit.measurements.is_empty()
            || not_searched(limit, known).is_empty()
            || known
                .findings
                .iter()
                .any(|finding| concerns(limit, finding)))
}

fn concerns(limit: &Limit, finding: &Finding) -> bool {
    limit.findings.contains(&finding.kind)
}

fn not_searched<'a>(limit: &'a Limit, known: &Known) -> Vec<&'a str> {
    limit
        .findings
        .iter()
        .map(String::as_str)
        .filter(|kind| !known.searched.contains(kind))
        .collect()
}

/// Compares the flaws of a row.
pub fn check(profile: &Profile, limit: &Limit, known: &Known, nominal: &Nominal) -> Check {
    let scale = match limit.size {
        Size::AreaPercent => Scale::percent(),
        Size::Dimension | Size::Across => Scale::length(profile.unit),
    };
    let mut check = blank(limit, None);
    check.unit = Some(scale.key.to_owned());
    let relevant: Vec<&Finding> = known
        .findings
        .iter()
        .copied()
        .filter(|finding| concerns(limit, finding))
        .collect();
    let missing = not_searched(limit, known);
    let cases = in_thickness(limit, nominal, profile.unit);
    if let Ok(cases) = &cases {
        describe(&mut check, limit, cases, nominal, scale);
    }
    let only_cracks = limit.findings == [CRACK];
    let declared = only_cracks && known.cracks.is_some();
    let seen = only_cracks && known.cracks == Some(Cracks::Seen);
    if relevant.is_empty() {
        if !missing.is_empty() {
            check.measured = "not searched for".to_owned();
            return not_assessed(check, nobody_looked(profile.kind, &missing));
        }
        if declared {
            check.measured = "declared, not measured: the examiner saw none".to_owned();
        } else {
            check.measured = "none found".to_owned();
        }
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
    let size = size(profile, limit, &relevant, known);
    check.measured = match (size, limit.size) {
        _ if seen => "declared, not measured: the examiner saw cracks".to_owned(),
        (Some((size, u)), Size::AreaPercent) => format!(
            "{} found, {} of the face",
            relevant.len(),
            scale.with_uncertainty(size, u)
        ),
        (Some((size, u)), of) => format!(
            "{} found, {} {}{}",
            relevant.len(),
            if limit.sum { "together" } else { "largest" },
            scale.with_uncertainty(size, u),
            if of == Size::Across {
                " across the weld"
            } else {
                ""
            }
        ),
        (None, _) => format!("{} found, size not measured", relevant.len()),
    };
    check.value = size.map(|(size, _)| size);
    if declared && !seen {
        add_note(
            &mut check,
            "the examiner saw none and the picture shows what looks like one: look again there"
                .to_owned(),
        );
    }

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
        let when_long = case.length.as_ref().map(probability).transpose();
        match (in_any_length, when_short, when_long) {
            (Ok(in_any_length), Ok(Some(when_short)), Ok(_)) if profile.kind == Kind::Fracture => {
                along(check, profile, &relevant, known, in_any_length, when_short)
            }
            (Ok(across), Ok(None), Ok(Some(when_long))) => {
                elongated(check, profile.decision, across, when_long)
            }
            (Ok(in_any_length), Ok(when_short), Ok(_)) => {
                decide(check, profile.decision, in_any_length, when_short)
            }
            (Err(why), _, _) | (_, Err(why), _) | (_, _, Err(why)) => {
                return not_assessed(check, why);
            }
        }
    };
    if !sure && check.outcome == Outcome::Outside {
        check.outcome = Outcome::TooCloseToCall;
        check.probability_of_conformity = None;
        add_note(
            &mut check,
            format!(
                "it is not sure that this is a flaw: look at the place {}",
                match profile.kind {
                    Kind::Section => "in the section",
                    Kind::Fracture => "on the face",
                }
            ),
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

fn nobody_looked(kind: Kind, missing: &[&str]) -> String {
    if missing == [CRACK] {
        let looked = match kind {
            Kind::Section => {
                "that no crack was found at a toe does not show that there is none: look at the \
                 section"
            }
            Kind::Fracture => "the picture is not searched for cracks: look at the face",
        };
        return format!(
            "{looked} yourself, with a lens, and declare what you saw (--cracks none or --cracks \
             seen)"
        );
    }
    format!(
        "this version did not search the picture for {}: look at the {} yourself",
        missing.join(", ").replace('-', " "),
        match kind {
            Kind::Section => "section",
            Kind::Fracture => "face",
        }
    )
}

/// What is allowed only as a short imperfection, on a face that shows how long it is.
fn along(
    mut check: Check,
    profile: &Profile,
    relevant: &[&Finding],
    known: &Known,
    in_any_length: f64,
    when_short: f64,
) -> Check {
    let decision = profile.decision;
    if decision.outcome(in_any_length) == Outcome::Within {
        return decide(check, decision, in_any_length, None);
    }
    if decision.outcome(when_short) == Outcome::Outside {
        return decide(check, decision, when_short, None);
    }
    let Some(short) = &profile.short else {
        return not_assessed(check, "the profile does not say what is short".to_owned());
    };
    match short.keeps(relevant, known.measurements, profile.unit) {
        Err(why) => not_assessed(check, why),
        Ok((is_short, words)) => {
            add_note(&mut check, words);
            let worst = decision.outcome(is_short).max(decision.outcome(when_short));
            check.outcome = worst;
            check.probability_of_conformity = Some(is_short.min(when_short));
            check
        }
    }
}

/// A flaw whose greatest dimension is known but not how wide it is: within when
/// even the greatest dimension keeps the limit of the height, outside when it
/// breaks the limit of the length.
fn elongated(mut check: Check, decision: Decision, across: f64, when_long: f64) -> Check {
    if decision.outcome(across) == Outcome::Within || decision.outcome(when_long) != Outcome::Within
    {
        let decides = across.max(when_long);
        return decide(check, decision, decides, None);
    }
    check.probability_of_conformity = None;
    not_assessed(
        check,
        "it is longer than what is allowed across the weld, and how wide it is was not measured: \
         measure its width"
            .to_owned(),
    )
}

/// The size compared and its standard uncertainty, in the profile's unit or in
/// per cent; `None` when one of the findings has none.
fn size(
    profile: &Profile,
    limit: &Limit,
    relevant: &[&Finding],
    known: &Known,
) -> Option<(f64, f64)> {
    let unit = profile.unit;
    let sizes: Vec<(f64, f64)> = relevant
        .iter()
        .map(|finding| {
            let quantity = match limit.size {
                Size::Dimension => finding.greatest_dimension_mm.or(finding.length_mm),
                Size::Across => finding.depth_max_mm,
                Size::AreaPercent => finding.area_mm2,
            }?;
            let (value, u) = (quantity.value, quantity.expanded_uncertainty / 2.0);
            (value.is_finite() && u.is_finite() && u >= 0.0).then_some((value, u))
        })
        .collect::<Option<_>>()?;
    if limit.size == Size::AreaPercent {
        let face = measured(known.measurements, "face_area_mm2").ok()?;
        let (area, u) = combined(&sizes, true);
        let u = u + OTHER_KIND * other_kinds_mm2(limit, known);
        let share = 100.0 * area / face.value;
        let u = 100.0 * u / face.value + share * face.u / face.value;
        return (share.is_finite() && u.is_finite()).then_some((share, u));
    }
    let (size, u) = combined(&sizes, limit.sum);
    Some((unit.from_mm(size), unit.from_mm(u)))
}

/// Chance that a flaw on a face is of another kind than its shape says: of 22 spots on
/// rendered faces that were called inclusions ten were pores.
const OTHER_KIND: f64 = 0.45;

/// Area of the flaws that a row about some kinds does not count, mm².
fn other_kinds_mm2(limit: &Limit, known: &Known) -> f64 {
    known
        .findings
        .iter()
        .filter(|f| SPOTS.contains(&f.kind.as_str()) && !concerns(limit, f))
        .filter_map(|f| f.area_mm2)
        .map(|area| area.value)
        .sum()
}

/// Kinds that are told apart by their shape alone.
const SPOTS: [&str; 3] = ["pore", "wormhole", "inclusion"];

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
