//! How far a rule's own graduations may be off.

use std::fmt;
use std::str::FromStr;

/// Accuracy class of a rule, marked on it as a Roman numeral.
///
/// Source: Directive 2014/32/EU on measuring instruments, annex X, chapter I,
/// material measures of length.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum RuleClass {
    /// Class I.
    I,
    /// Class II, what a rule without a mark is taken for (common practice, no
    /// source).
    #[default]
    II,
    /// Class III.
    III,
}

impl RuleClass {
    /// Greatest permissible error between two marks `length_mm` apart, mm:
    /// a + b·L, L in metres rounded up.
    pub fn permissible_error_mm(self, length_mm: f64) -> f64 {
        let (a, b) = match self {
            Self::I => (0.1, 0.1),
            Self::II => (0.3, 0.2),
            Self::III => (0.6, 0.4),
        };
        a + b * (length_mm / 1000.0).ceil().max(1.0)
    }
}

impl FromStr for RuleClass {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text.trim() {
            "I" | "i" | "1" => Ok(Self::I),
            "II" | "ii" | "2" => Ok(Self::II),
            "III" | "iii" | "3" => Ok(Self::III),
            _ => Err(format!(
                "'{text}' is no accuracy class of a rule; write I, II or III, as marked on the rule"
            )),
        }
    }
}

impl fmt::Display for RuleClass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::I => "I",
            Self::II => "II",
            Self::III => "III",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn permissible_errors_are_the_directive_s() {
        // Directive 2014/32/EU, annex X, chapter I: a + b L, L rounded up.
        for (class, length_mm, want) in [
            (RuleClass::I, 300.0, 0.2),
            (RuleClass::II, 300.0, 0.5),
            (RuleClass::III, 300.0, 1.0),
            (RuleClass::I, 1000.0, 0.2),
            (RuleClass::II, 1500.0, 0.7),
            (RuleClass::III, 2000.1, 1.8),
        ] {
            let got = class.permissible_error_mm(length_mm);
            assert!((got - want).abs() < 1e-12, "{class} {length_mm}: {got}");
        }
    }

    #[test]
    fn a_class_is_written_as_on_the_rule() {
        for class in [RuleClass::I, RuleClass::II, RuleClass::III] {
            assert_eq!(class.to_string().parse(), Ok(class));
        }
        for wrong in ["", "IV", "0", "A"] {
            assert!(
                wrong
                    .parse::<RuleClass>()
                    .unwrap_err()
                    .contains("I, II or III")
            );
        }
    }
}
