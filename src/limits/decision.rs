//! How a probability of conformity becomes an outcome: the rule somebody chose.

use crate::record::Outcome;
use serde::Deserialize;
use std::fmt;
use std::str::FromStr;

/// A decision rule.
#[derive(Clone, Copy, Debug, Default, PartialEq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Decision {
    /// Conformity and nonconformity are each proven with 95 % (the default
    /// decision rule of ISO 14253-1:2017, from memory).
    #[default]
    #[serde(rename = "iso14253-1")]
    Proven,
    /// The measured value alone decides (simple acceptance, JCGM 106:2012, 8.2.1;
    /// clause from memory).
    Simple,
    /// Accepted where the risk of accepting what is outside is at most this, 0 to
    /// 0.5 (guarded acceptance, JCGM 106:2012, 8.3.2; clause from memory).
    Guarded(f64),
}

impl Decision {
    /// What is wrong with it, if anything.
    pub(super) fn fault(self) -> Option<String> {
        match self {
            Self::Guarded(risk) if !(risk > 0.0 && risk < 0.5) => {
                Some("the risk of `guarded` is a number above 0 and below 0.5".to_owned())
            }
            _ => None,
        }
    }

    /// Probability of conformity from which a check is `within`.
    pub fn within_from(self) -> f64 {
        match self {
            Self::Proven => 0.95,
            Self::Simple => 0.5,
            Self::Guarded(risk) => 1.0 - risk,
        }
    }

    /// The outcome a probability of conformity leads to. What is not within is
    /// `outside` only where nonconformity is as sure as conformity had to be.
    pub fn outcome(self, probability: f64) -> Outcome {
        let within_from = self.within_from();
        if probability >= within_from {
            Outcome::Within
        } else if probability <= 1.0 - within_from || self == Self::Simple {
            Outcome::Outside
        } else {
            Outcome::TooCloseToCall
        }
    }

    /// In words, as the verdict states it.
    pub fn words(self) -> String {
        let percent = |share: f64| crate::base::rounding::shortest(100.0 * share, 2);
        let (name, rule) = match self {
            Self::Simple => (
                "Simple acceptance",
                "The measured value alone decides, whatever its uncertainty: a check is within \
                 when the value keeps the limit and outside when it does not. Near a limit this \
                 is wrong about as often as right; the probability that the limit is kept stands \
                 beside each check (normal distribution, JCGM 106)."
                    .to_owned(),
            ),
            Self::Proven | Self::Guarded(_) => {
                let from = self.within_from();
                (
                    if self == Self::Proven {
                        "Decision as in ISO 14253-1"
                    } else {
                        "Guarded acceptance"
                    },
                    format!(
                        "Each value is compared together with its uncertainty: the true value is \
                         taken as normally distributed about the measured one (JCGM 106). If the \
                         probability that it keeps the limit is {} % or more the check is within; \
                         if it is {} % or less, outside; in between it is too close to call.",
                        percent(from),
                        percent(1.0 - from)
                    ),
                )
            }
        };
        format!(
            "{name}. {rule} The coupon's outcome is the worst of its checks, and it is never \
             within while a check could not be assessed."
        )
    }
}

impl fmt::Display for Decision {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Proven => f.write_str("iso14253-1"),
            Self::Simple => f.write_str("simple"),
            Self::Guarded(risk) => write!(f, "guarded:{risk}"),
        }
    }
}

impl FromStr for Decision {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let rule = match text {
            "iso14253-1" => Self::Proven,
            "simple" => Self::Simple,
            other => other
                .strip_prefix("guarded:")
                .and_then(|risk| risk.parse().ok())
                .map(Self::Guarded)
                .ok_or(
                    "write iso14253-1, simple, or guarded:RISK with the risk of a wrong \
                     acceptance, for example guarded:0.02",
                )?,
        };
        rule.fault().map_or(Ok(rule), Err)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_rule_draws_its_own_lines() {
        use Outcome::{Outside, TooCloseToCall, Within};
        for (rule, lines) in [
            (
                "iso14253-1",
                [(0.95, Within), (0.949, TooCloseToCall), (0.05, Outside)],
            ),
            ("simple", [(0.5, Within), (0.499, Outside), (0.05, Outside)]),
            (
                "guarded:0.02",
                [(0.979, TooCloseToCall), (0.98, Within), (0.02, Outside)],
            ),
        ] {
            let decision: Decision = rule.parse().unwrap();
            assert_eq!(decision.to_string(), rule);
            for (probability, outcome) in lines {
                assert_eq!(
                    decision.outcome(probability),
                    outcome,
                    "{rule} {probability}"
                );
            }
        }
    }

    #[test]
    fn a_risk_that_is_none_is_refused() {
        for text in [
            "guarded:0",
            "guarded:0.5",
            "guarded:nan",
            "guarded",
            "strict",
        ] {
            assert!(text.parse::<Decision>().is_err(), "{text}");
        }
    }

    #[test]
    fn the_verdict_says_its_numbers() {
        let words = Decision::Guarded(0.02).words();
        assert!(words.contains("98 %") && words.contains(" 2 %"), "{words}");
        assert!(Decision::Simple.words().contains("Simple acceptance"));
    }
}
