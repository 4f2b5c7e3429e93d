//! What the user says about the scale, as typed and as meant.

use super::RuleClass;
use std::fmt;
use std::str::FromStr;

/// How the scale is to be found.
#[derive(Clone, Debug, PartialEq)]
pub struct Request {
    /// Which reference to use.
    pub source: Source,
    /// Height of the reference above the measured plane towards the camera,
    /// mm; negative when it lies deeper. `None`: not declared, taken as 0.
    pub offset_mm: Option<f64>,
    /// Accuracy class of a rule; other references have none. Default: II.
    pub rule_class: RuleClass,
    /// Measured length of the scale card's control line, mm; `None`: not
    /// measured, the card taken as printed at its size.
    pub card_line_mm: Option<f64>,
}

impl Request {
    /// The scale from `source`, its height not declared, a rule of class II,
    /// the print of a card not checked.
    pub fn of(source: Source) -> Self {
        Self {
            source,
            offset_mm: None,
            rule_class: RuleClass::default(),
            card_line_mm: None,
        }
    }
}

/// The reference a scale is taken from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Source {
    /// Whatever supported reference is found in the picture.
    Auto,
    /// A rule graduated in millimetres (whole or half).
    RuleMm,
    /// A rule graduated in binary fractions of an inch.
    RuleInch,
    /// Printed chequer squares.
    Chequer {
        /// Side of a square, mm.
        pitch_mm: f64,
    },
    /// The printed Toeline scale card.
    Card,
    /// A drawn scale bar.
    Bar {
        /// Its length, mm.
        length_mm: f64,
    },
    /// The coupon's own length along the weld; only broken coupons, whose face's
    /// ends are found, have one.
    CouponLength {
        /// Length, mm.
        length_mm: f64,
    },
    /// The user states the scale.
    Declared {
        /// Pixels per millimetre.
        px_per_mm: f64,
    },
}

impl FromStr for Source {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (kind, figure) = match text.split_once(':') {
            Some((kind, figure)) => (kind, Some(figure)),
            None => (text, None),
        };
        let positive = |what: &str, example: &str| -> Result<f64, String> {
            let figure = figure.ok_or(format!(
                "the scale '{kind}' needs {what} after a colon, for example '{example}'"
            ))?;
            match figure.trim().parse::<f64>() {
                Ok(v) if v.is_finite() && v > 0.0 => Ok(v),
                _ => Err(format!(
                    "'{figure}' in the scale '{text}' is not a positive number; write {what} with a decimal point, for example '{example}'"
                )),
            }
        };
        let plain = |source: Self| match figure {
            None => Ok(source),
            Some(_) => Err(format!(
                "the scale '{kind}' takes no figure; write just '{kind}'"
            )),
        };
        match kind {
            "auto" => plain(Self::Auto),
            "rule-mm" => plain(Self::RuleMm),
            "rule-inch" => plain(Self::RuleInch),
            "card" => plain(Self::Card),
            "chequer" => Ok(Self::Chequer {
                pitch_mm: positive("the side of a square in mm", "chequer:5")?,
            }),
            "bar" => Ok(Self::Bar {
                length_mm: positive("the bar's length in mm", "bar:5")?,
            }),
            "length" => Ok(Self::CouponLength {
                length_mm: positive("the coupon's length along the weld in mm", "length:150")?,
            }),
            "declared" => Ok(Self::Declared {
                px_per_mm: positive("the pixels per millimetre", "declared:39.68")?,
            }),
            _ => Err(format!(
                "'{text}' is no scale; write auto, rule-mm, rule-inch, chequer:MM, card, bar:MM, length:MM or declared:PX_PER_MM"
            )),
        }
    }
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Auto => f.write_str("auto"),
            Self::RuleMm => f.write_str("rule-mm"),
            Self::RuleInch => f.write_str("rule-inch"),
            Self::Chequer { pitch_mm } => write!(f, "chequer:{pitch_mm}"),
            Self::Card => f.write_str("card"),
            Self::Bar { length_mm } => write!(f, "bar:{length_mm}"),
            Self::CouponLength { length_mm } => write!(f, "length:{length_mm}"),
            Self::Declared { px_per_mm } => write!(f, "declared:{px_per_mm}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read_back() {
        for text in [
            "auto",
            "rule-mm",
            "rule-inch",
            "card",
            "chequer:5",
            "chequer:2.5",
            "bar:5",
            "length:150",
            "declared:39.68",
        ] {
            assert_eq!(text.parse::<Source>().unwrap().to_string(), text);
        }
    }

    #[test]
    fn a_wrong_scale_says_what_to_write() {
        for (text, hint) in [
            ("ruler", "rule-mm"),
            ("chequer", "chequer:5"),
            ("chequer:0", "positive"),
            ("chequer:5mm", "positive"),
            ("bar:-1", "positive"),
            ("declared:inf", "positive"),
            ("auto:3", "no figure"),
        ] {
            let message = text.parse::<Source>().unwrap_err();
            assert!(message.contains(hint), "{text}: {message}");
        }
    }
}
