//! The one form a limit's value takes: a constant plus shares of a, b, t and z, with a cap.
//!
//! A table row, not an expression language: every key is a number, so a
//! user's own file can be checked line by line and can do nothing else.

use super::nominal::Nominal;
use serde::Deserialize;

/// `constant + per_a·a + per_b·b + per_t·t + per_z·z`, never more than `cap`.
///
/// Lengths in the profile's unit; `constant` and `cap` of an angle in degrees.
#[derive(Clone, Copy, Debug, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Formula {
    /// Fixed part.
    pub constant: f64,
    /// Share of the nominal throat a.
    pub per_a: f64,
    /// Share of the measured face width b.
    pub per_b: f64,
    /// Share of the thinner declared plate t.
    pub per_t: f64,
    /// Share of the nominal leg z.
    pub per_z: f64,
    /// Greatest value, whatever the shares give.
    pub cap: Option<f64>,
}

/// A formula's value for one coupon.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Evaluated {
    /// The limit, in the profile's unit (degrees for an angle).
    pub value: f64,
    /// How much of the uncertainty of the face width b it takes over: its
    /// slope in b, 0 where the cap rules.
    pub slope_b: f64,
}

impl Formula {
    /// A fixed number.
    pub const fn fixed(constant: f64) -> Self {
        Self {
            constant,
            per_a: 0.0,
            per_b: 0.0,
            per_t: 0.0,
            per_z: 0.0,
            cap: None,
        }
    }

    /// Its value for a throat, face width, plate and leg.
    pub(super) fn at(&self, a: f64, b: f64, t: f64, z: f64) -> f64 {
        let value =
            self.constant + self.per_a * a + self.per_b * b + self.per_t * t + self.per_z * z;
        self.cap.map_or(value, |cap| value.min(cap))
    }

    /// The limit for one coupon.
    ///
    /// # Errors
    /// What is missing and what to declare, in words.
    pub fn evaluate(&self, nominal: &Nominal) -> Result<Evaluated, String> {
        let mut value = self.constant;
        for (share, known) in [
            (self.per_a, &nominal.a),
            (self.per_t, &nominal.t),
            (self.per_z, &nominal.z),
        ] {
            if share != 0.0 {
                value += share * known.as_ref().map_err(Clone::clone)?;
            }
        }
        if self.per_b != 0.0 {
            value += self.per_b * nominal.b.as_ref().map_err(Clone::clone)?.value;
        }
        Ok(match self.cap {
            Some(cap) if value >= cap => Evaluated {
                value: cap,
                slope_b: 0.0,
            },
            _ => Evaluated {
                value,
                slope_b: self.per_b,
            },
        })
    }

    /// The formula in words, e.g. `1 mm + 0.25 b, at most 5 mm`; `None` when
    /// it is only a constant.
    pub fn words(&self, unit: &str) -> Option<String> {
        let shares: Vec<String> = [
            (self.per_a, "a"),
            (self.per_b, "b"),
            (self.per_t, "t"),
            (self.per_z, "z"),
        ]
        .into_iter()
        .filter(|(share, _)| *share != 0.0)
        .map(|(share, letter)| {
            if share == 1.0 {
                letter.to_owned()
            } else {
                format!("{share} {letter}")
            }
        })
        .collect();
        if shares.is_empty() {
            return None;
        }
        let mut words = shares.join(" + ");
        if self.constant != 0.0 {
            words = format!("{} {unit} + {words}", self.constant);
        }
        if let Some(cap) = self.cap {
            words.push_str(&format!(", at most {cap} {unit}"));
        }
        Some(words)
    }

    /// The first number that is not finite or is negative, by key.
    pub(super) fn fault(&self) -> Option<&'static str> {
        [
            (self.constant, "constant"),
            (self.per_a, "per_a"),
            (self.per_b, "per_b"),
            (self.per_t, "per_t"),
            (self.per_z, "per_z"),
            (self.cap.unwrap_or(0.0), "cap"),
        ]
        .into_iter()
        .find(|(number, _)| !(number.is_finite() && *number >= 0.0))
        .map(|(_, key)| key)
    }
}
