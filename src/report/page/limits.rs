//! The table of limits.

use super::signs::Sign;
use super::words;
use crate::record::{Check, Outcome, Verdict};
use maud::{Markup, html};

/// The comparison with the limits chosen.
pub fn section(verdict: &Verdict) -> Markup {
    let (open, made): (Vec<&Check>, Vec<&Check>) = verdict
        .checks
        .iter()
        .partition(|check| check.outcome == Outcome::NotAssessed);
    html! {
        section {
            h2 { "Compared with the limits" }
            p { "Limits chosen: " strong { (verdict.profile) } ". " (verdict.edition_note) }
            @if !made.is_empty() {
                table.stack.checks {
                    caption { "Checks that could be made" }
                    thead {
                        tr {
                            th scope="col" { "What is limited" }
                            th scope="col" { "Measured" }
                            th scope="col" { "Allowed" }
                            th scope="col" { "Outcome" }
                            th scope="col" { "Probability" }
                        }
                    }
                    tbody { @for check in &made { (row(check)) } }
                }
            }
            p.small {
                "How it is decided. " (verdict.decision_rule) " Probability in the table: that the \
                true value keeps the limit. Letters: a, the throat asked for; z, the leg asked \
                for; b, the measured width of the face; t, the thinner plate."
            }
            @if !open.is_empty() {
                h3 { "Checks that could not be made" }
                ul.open {
                    @for check in &open {
                        li {
                            strong { (words::sentence(&check.limit)) } " "
                            @if let Some(note) = &check.note { (words::sentence(note)) " " }
                            span.small {
                                @if check.value.is_some() { "Measured: " (check.measured) ". " }
                                @if check.allowed != "—" { "Allowed: " (check.allowed) ". " }
                                "Clause or number " (check.clause) "; " (check.verified) "."
                            }
                        }
                    }
                }
            }
        }
    }
}

fn row(check: &Check) -> Markup {
    let sign = Sign::Outcome(check.outcome);
    html! {
        tr {
            th scope="row" {
                (check.limit)
                div.small {
                    "Clause or number " (check.clause) "; " (check.verified) "."
                    @if let Some(note) = &check.note { " " (words::sentence(note)) }
                }
            }
            td data-head="Measured" { (check.measured) }
            td data-head="Allowed" { (check.allowed) }
            td data-head="Outcome" {
                span class=(format!("outcome {}", sign.class())) { (sign.shape()) " " (sign.word()) }
            }
            td data-head="Probability of keeping the limit" {
                @match check.probability_of_conformity {
                    Some(probability) => (words::percent(probability)),
                    None => "—",
                }
            }
        }
    }
}
