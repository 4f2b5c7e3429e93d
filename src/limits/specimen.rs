//! Sums that a rule states for a specimen of one length.
//!
//! Such a rule does not say what holds in a specimen of another length, and
//! nothing is reckoned up or down here. Two things follow all the same: a sum
//! that is too large already in a shorter piece is too large, and a sum that
//! keeps the limit over a longer piece keeps it in every part of it. All else
//! is left open.

use super::check::not_assessed;
use super::nominal::measured;
use super::profile::LengthUnit;
use super::wording::Scale;
use crate::record::{Check, Measurement, Outcome};
use std::collections::BTreeMap;

/// How far a specimen may be off the stated length and still count as of that
/// length: cut and measured, a piece of 6 in is 6 in to a few millimetres
/// (this tool's choice; no source).
const OFF_REL: f64 = 0.05;

/// The check on a sum, for the length that was looked at.
pub fn adjust(
    check: Check,
    stated: f64,
    measurements: &BTreeMap<String, Measurement>,
    unit: LengthUnit,
) -> Check {
    let scale = Scale::length(unit);
    let length = match measured(measurements, "evaluated_length_mm") {
        Ok(length) => unit.from_mm(length.value),
        Err(why) => {
            return not_assessed(
                check,
                format!("the length of weld looked at is not known: {why}"),
            );
        }
    };
    let off = (length - stated) / stated;
    let open = match check.outcome {
        Outcome::Within | Outcome::TooCloseToCall if off < -OFF_REL => true,
        Outcome::Outside | Outcome::TooCloseToCall if off > OFF_REL => true,
        _ => false,
    };
    if !open {
        return check;
    }
    let note = format!(
        "the rule is stated for a specimen of {}, and {} were looked at; it says nothing of other \
         lengths and nothing is scaled here",
        scale.limit(stated),
        scale.rough(length)
    );
    let mut check = not_assessed(check, note);
    check.probability_of_conformity = None;
    check
}
