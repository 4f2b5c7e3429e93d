//! Sentences.

use super::broken_words as broken;
use super::signs::Sign;
use crate::base::rounding::{shortest, stated};
use crate::record::catalogue::{self, Entry, Unit};
use crate::record::{Check, Kind, Measurement, Outcome, Record, Sense, Status, Verdict};

/// What the page is headed with.
pub fn coupon_name(record: &Record) -> String {
    record
        .coupon
        .id
        .clone()
        .filter(|id| !id.trim().is_empty())
        .unwrap_or_else(|| record.photo.file.clone())
}

/// The one sentence and its sign.
pub fn headline(record: &Record) -> (Sign, String) {
    if record.status == Status::Refused {
        let why = record
            .reasons
            .first()
            .map_or("no reason was recorded", |reason| reason.message.as_str());
        return (Sign::Refused, format!("Not measured: {}.", trimmed(why)));
    }
    if record.status == Status::Declared {
        return declared(record);
    }
    let measured = match record.status {
        Status::PartlyMeasured => "Measured in part",
        _ => "Measured",
    };
    match &record.verdict {
        Some(verdict) => (
            Sign::Outcome(verdict.outcome),
            compared(verdict, record.kind),
        ),
        None => (
            Sign::Measured,
            match record.kind {
                Kind::Section => {
                    format!("{measured}. No limits were chosen, so nothing was compared.")
                }
                Kind::Fracture => format!(
                    "{measured}: {}. No limits were chosen, so nothing was compared.",
                    broken::summary(record)
                ),
            },
        ),
    }
}

/// A coupon that bent flat.
fn declared(record: &Record) -> (Sign, String) {
    const STATE: &str = "the coupon was declared to have bent flat without breaking. Nothing was \
                         measured; the photograph is kept as evidence";
    match &record.verdict {
        None => (Sign::Measured, format!("Declared: {STATE}.")),
        Some(verdict) if verdict.outcome == Outcome::Within => (
            Sign::Outcome(Outcome::Within),
            format!(
                "Within by declaration, not by measurement: {STATE}. By its wording {} passes a \
                 coupon that bends flat.",
                verdict.profile
            ),
        ),
        Some(verdict) => (
            Sign::Outcome(verdict.outcome),
            format!(
                "Not decided: {STATE}, and {} leaves such a coupon open.",
                verdict.profile
            ),
        ),
    }
}

fn compared(verdict: &Verdict, kind: Kind) -> String {
    let with = |outcome| -> Vec<&Check> {
        verdict
            .checks
            .iter()
            .filter(|check| check.outcome == outcome)
            .collect()
    };
    match verdict.outcome {
        Outcome::Within => "Within the limits chosen: every check was made and passed.".to_owned(),
        Outcome::Outside => format!("Outside: {}.", first_two(&with(Outcome::Outside), faulted)),
        Outcome::TooCloseToCall => format!(
            "Too close to call: {}.",
            first_two(&with(Outcome::TooCloseToCall), |check| {
                broken::doubtful(check).unwrap_or_else(|| {
                    format!(
                        "{} lies so near its limit that the uncertainty decides",
                        what(check)
                    )
                })
            })
        ),
        Outcome::NotAssessed => {
            let open = with(Outcome::NotAssessed).len();
            let all = verdict.checks.len();
            // Outside what is allowed everywhere, yet not failed: the row
            // allows more over a short length.
            let only_short: Vec<&Check> = with(Outcome::NotAssessed)
                .into_iter()
                .filter(|check| exceeds(check))
                .collect();
            if !only_short.is_empty() && kind == Kind::Section {
                let said = first_two(&only_short, |check| {
                    format!(
                        "{} ({}) is allowed only over a short length of the weld, which one \
                         section cannot show",
                        check.limit, check.measured
                    )
                });
                format!("Not decided: {said}; {open} of {all} checks could not be made.")
            } else if open == all {
                "Measured, but none of the limits chosen could be applied.".to_owned()
            } else {
                let said = match kind {
                    Kind::Section => String::new(),
                    Kind::Fracture => format!(
                        ": {}",
                        first_two(&with(Outcome::NotAssessed), |check| check.limit.clone())
                    ),
                };
                format!(
                    "Not decided: all that could be compared is within the limits, but {open} of \
                     {all} checks could not be made{said}."
                )
            }
        }
    }
}

fn exceeds(check: &Check) -> bool {
    match (check.value, check.limit_value, check.sense) {
        (Some(value), Some(limit), Some(Sense::AtMost)) => value > limit,
        (Some(value), Some(limit), Some(Sense::AtLeast)) => value < limit,
        _ => false,
    }
}

fn first_two(checks: &[&Check], say: impl Fn(&Check) -> String) -> String {
    let mut said: Vec<String> = checks.iter().take(2).map(|check| say(check)).collect();
    match checks.len() {
        0..=2 => {}
        3 => said.push("one more check".to_owned()),
        more => said.push(format!("{} more checks", more - 2)),
    }
    said.join("; ")
}

/// What a check is about, to stand in a sentence.
fn what(check: &Check) -> String {
    match (is_plain(check), entry_of(check)) {
        (true, Some(entry)) => format!("the {}", entry.title),
        _ => format!("“{}”", check.limit),
    }
}

/// Whether the compared value is the measurement itself, not a difference.
fn is_plain(check: &Check) -> bool {
    entry_of(check).is_some()
        && check.unit.as_deref() != Some("")
        && !(check.sense == Some(Sense::AtMost)
            && check
                .measurement
                .as_deref()
                .is_some_and(|name| name.contains("throat") || name == "root_penetration_mm"))
}

fn entry_of(check: &Check) -> Option<&'static Entry> {
    check.measurement.as_deref().and_then(catalogue::entry)
}

/// What is wrong, e.g. `the leg on the standing plate is 0.6 mm too short`.
fn faulted(check: &Check) -> String {
    if let Some(words) = broken::faulted(check) {
        return words;
    }
    let (Some(value), Some(limit), Some(sense), true) =
        (check.value, check.limit_value, check.sense, is_plain(check))
    else {
        return format!("{}, {}", check.limit, check.measured);
    };
    let (sign, decimals) = match check.unit.as_deref() {
        Some("deg") => ("°", 0),
        Some("in") => (" in", 3),
        _ => (" mm", 1),
    };
    let by = format!("{}{sign}", shortest((value - limit).abs(), decimals));
    let is_leg = check
        .measurement
        .as_deref()
        .is_some_and(|name| name.starts_with("leg_") && name != "leg_difference_mm");
    let how = match (sense, is_leg) {
        (Sense::AtLeast, true) => "too short",
        (Sense::AtLeast, false) => "too small",
        (Sense::AtMost, _) => "too much",
    };
    format!("{} is {by} {how}", what(check))
}

/// The picture for those who do not see it.
pub fn picture_in_words(record: &Record) -> String {
    if matches!(record.status, Status::Refused | Status::Declared) {
        return "The photograph as it was handed in; nothing was measured in it.".to_owned();
    }
    let mut words = match record.kind {
        Kind::Section => "Photograph of the etched section with the weld metal, the fusion \
                          boundary, the plate surfaces, the toes and the joint root drawn in"
            .to_owned(),
        Kind::Fracture => {
            "Photograph of the broken weld with the fracture face, its root side and \
                           what was found drawn in"
                .to_owned()
        }
    };
    for name in ["leg_butting_mm", "leg_nonbutting_mm", "inscribed_throat_mm"] {
        if let (Some(entry), Some(measurement)) =
            (catalogue::entry(name), record.measurements.get(name))
            && measurement.value.is_some()
        {
            words.push_str(&format!("; {} {}", entry.title, value(entry, measurement)));
        }
    }
    words.push('.');
    words
}

/// The straightened face for those who do not see it.
pub fn face_in_words(record: &Record) -> String {
    format!(
        "The fracture face laid straight, with zones drawn in and a ruler below: {}.",
        broken::summary(record)
    )
}

/// `5.40 ± 0.12 mm`, or a dash.
pub fn value(entry: &Entry, measurement: &Measurement) -> String {
    let Some(number) = measurement.value else {
        return "—".to_owned();
    };
    let decimals = match entry.unit {
        Unit::Mm => 2,
        Unit::Deg | Unit::Count => 0,
        Unit::Mm2 | Unit::Percent => 1,
    };
    let (number, expanded) = stated(
        number,
        measurement.expanded_uncertainty.unwrap_or(0.0),
        decimals,
    );
    let sign = entry.unit.sign();
    let space = if matches!(entry.unit, Unit::Deg | Unit::Count) {
        ""
    } else {
        " "
    };
    if expanded == "0" {
        format!("{number}{space}{sign}")
    } else {
        format!("{number} ± {expanded}{space}{sign}")
    }
}

/// A sentence without the full stop it may end with.
pub fn trimmed(sentence: &str) -> &str {
    sentence.trim().trim_end_matches('.')
}

/// A sentence that begins with a capital and ends with a full stop.
pub fn sentence(words: &str) -> String {
    let words = trimmed(words);
    let mut letters = words.chars();
    match letters.next() {
        Some(first) => format!("{}{}.", first.to_uppercase(), letters.as_str()),
        None => String::new(),
    }
}

/// A probability in per cent, never rounded to certainty.
pub fn percent(probability: f64) -> String {
    let percent = 100.0 * probability;
    if percent > 99.9 {
        "> 99.9 %".to_owned()
    } else if percent < 0.1 {
        "< 0.1 %".to_owned()
    } else if !(1.0..=99.0).contains(&percent) {
        format!("{percent:.1} %")
    } else {
        // Rounding must not carry a value over the bounds of the decision rule.
        let rounded = percent.round();
        if (rounded >= 95.0) != (percent >= 95.0) || (rounded <= 5.0) != (percent <= 5.0) {
            format!("{:.1} %", (percent * 10.0).floor() / 10.0)
        } else {
            format!("{rounded} %")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_probability_is_never_certain_and_never_crosses_a_bound() {
        assert_eq!(percent(1.0), "> 99.9 %");
        assert_eq!(percent(0.0), "< 0.1 %");
        assert_eq!(percent(0.5), "50 %");
        assert_eq!(percent(0.9496), "94.9 %");
        assert_eq!(percent(0.95), "95 %");
        assert_eq!(percent(0.997), "99.7 %");
    }

    #[test]
    fn sentences_have_a_capital_and_one_full_stop() {
        assert_eq!(sentence("passes differ. "), "Passes differ.");
        assert_eq!(sentence("älter"), "Älter.");
        assert_eq!(sentence(""), "");
    }
}
