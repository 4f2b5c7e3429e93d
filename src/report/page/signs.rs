//! Outcomes as word and shape, so that colour is never needed.

use crate::record::Outcome;
use maud::{Markup, html};

/// What a sign stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sign {
    /// A comparison with a limit.
    Outcome(Outcome),
    /// Measured, nothing compared.
    Measured,
    /// Refused.
    Refused,
}

impl Sign {
    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Self::Outcome(Outcome::Within) => "within",
            Self::Outcome(Outcome::Outside) => "outside",
            Self::Outcome(Outcome::TooCloseToCall) => "too close to call",
            Self::Outcome(Outcome::NotAssessed) => "not assessed",
            Self::Measured => "measured",
            Self::Refused => "not measured",
        }
    }

    /// Class name in the style sheet.
    pub fn class(self) -> &'static str {
        match self {
            Self::Outcome(Outcome::Within) => "is-within",
            Self::Outcome(Outcome::Outside) | Self::Refused => "is-outside",
            Self::Outcome(Outcome::TooCloseToCall) => "is-close",
            Self::Outcome(Outcome::NotAssessed) | Self::Measured => "is-open",
        }
    }

    /// The shape: a disc with a tick, a square with a cross, a diamond with a
    /// wave, a dashed ring with a question mark, a ring with a bar.
    pub fn shape(self) -> Markup {
        let outline = match self {
            Self::Outcome(Outcome::Within) => html! { circle cx="12" cy="12" r="10" {} },
            Self::Outcome(Outcome::Outside) | Self::Refused => {
                html! { rect x="2.5" y="2.5" width="19" height="19" {} }
            }
            Self::Outcome(Outcome::TooCloseToCall) => {
                html! { path d="M12 1.5 22.5 12 12 22.5 1.5 12Z" {} }
            }
            Self::Outcome(Outcome::NotAssessed) => {
                html! { circle cx="12" cy="12" r="10" stroke-dasharray="3 2.2" {} }
            }
            Self::Measured => html! { circle cx="12" cy="12" r="10" {} },
        };
        let inner = match self {
            Self::Outcome(Outcome::Within) => "M7 12.5 10.5 16 17 8.5",
            Self::Outcome(Outcome::Outside) | Self::Refused => {
                "M7.5 7.5 16.5 16.5M16.5 7.5 7.5 16.5"
            }
            Self::Outcome(Outcome::TooCloseToCall) => "M7 12.5q2.5-4 5 0t5 0",
            Self::Outcome(Outcome::NotAssessed) => {
                "M9 9.5a3 3 0 1 1 4.5 2.6c-1 .6-1.5 1-1.5 2.1M12 17v.4"
            }
            Self::Measured => "M7 12H17M7 9.5v5M17 9.5v5",
        };
        html! {
            svg class="sign" viewBox="0 0 24 24" width="24" height="24" aria-hidden="true" {
                g fill="none" stroke="currentColor" stroke-width="2.2" stroke-linecap="round" {
                    (outline)
                    path d=(inner) {}
                }
            }
        }
    }
}
