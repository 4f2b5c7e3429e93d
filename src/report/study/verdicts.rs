//! A column of verdicts.

use super::wording::{count, kappa, kind, share, size};
use crate::base::rounding::plain;
use crate::record::study::{Disputed, Said, StudyColumn, VerdictStudy};
use crate::report::page::signs::Sign;
use maud::{Markup, html};

pub fn section(column: &StudyColumn, found: &VerdictStudy) -> Markup {
    html! {
        p class="headline is-open" { (Sign::Measured.shape()) span { (headline(column, found)) } }
        (numbers(found))
        (disputed(column, found))
        (pairs(found))
        (own(found))
        (words(column, found))
    }
}

/// The one sentence.
fn headline(column: &StudyColumn, found: &VerdictStudy) -> String {
    let looks = match column.looks {
        1 => "",
        _ => " at every look",
    };
    let agreed = &found.agreed;
    let all = match agreed.count == agreed.of {
        true => format!(
            "All examiners gave the same verdict{looks} on all {} coupons",
            agreed.of
        ),
        false => format!(
            "All examiners gave the same verdict{looks} on {} of {} coupons",
            agreed.count, agreed.of
        ),
    };
    match found.overall.value {
        Some(value) => format!(
            "{all}; beyond chance the agreement is {} (kappa {}).",
            size(value),
            plain(value, 2)
        ),
        None => format!("{all}; kappa is undefined."),
    }
}

fn numbers(found: &VerdictStudy) -> Markup {
    html! {
        dl.numbers {
            div {
                dt { "Coupons with one verdict only" }
                dd {
                    span.number { (count(&found.agreed)) }
                    span.asked { (share(&found.agreed)) }
                    span.meaning { "All examiners, all looks." }
                }
            }
            div {
                dt { "Agreement beyond chance" }
                dd {
                    span.number { (found.overall.value.map_or("undefined".to_owned(), |v| plain(v, 2))) }
                    @if let Some([low, high]) = found.overall.interval {
                        span.asked { "Between " (plain(low, 2)) " and " (plain(high, 2)) "." }
                    }
                    @if let Some(value) = found.overall.value {
                        span.asked { "“" (size(value)) "” after Landis and Koch (1977)." }
                    }
                    span.meaning {
                        (kind(found.overall.kind)) ": 1 is full agreement, 0 what chance gives."
                    }
                }
            }
        }
        @if let Some(note) = &found.overall.note { p.small { "Of kappa: " (note) "." } }
    }
}

fn disputed(column: &StudyColumn, found: &VerdictStudy) -> Markup {
    html! {
        @if found.disputed.is_empty() {
            p { "There is no coupon on which the verdicts differ." }
        } @else {
            table {
                caption { "Coupons on which the verdicts differ" }
                thead { tr { th scope="col" { "Coupon" } th scope="col" { "What was said, and by whom" } } }
                tbody { @for Disputed { coupon, said } in &found.disputed {
                    tr {
                        th scope="row" { (coupon) }
                        td { @for (i, said) in said.iter().enumerate() {
                            @if i > 0 { br; }
                            strong { (said.word) } ": " (by(said, column.looks))
                        } }
                    }
                } }
            }
        }
    }
}

/// `A, B (1 of 2 looks)`.
fn by(said: &Said, looks: usize) -> String {
    let names: Vec<String> = said
        .by
        .iter()
        .map(|(examiner, times)| match *times == looks {
            true => examiner.clone(),
            false => format!("{examiner} ({times} of {looks} looks)"),
        })
        .collect();
    names.join(", ")
}

fn pairs(found: &VerdictStudy) -> Markup {
    html! {
        table {
            caption { "Each two examiners, look by look" }
            thead { tr {
                th scope="col" { "Examiners" } th scope="col" { "Same verdict" }
                th scope="col" { "Cohen's kappa" }
            } }
            tbody { @for pair in &found.pairs {
                tr {
                    th scope="row" { (pair.examiners.join(" and ")) }
                    td { (pair.agreed) " of " (pair.of) }
                    td { (kappa(&pair.kappa)) }
                }
            } }
        }
    }
}

fn own(found: &VerdictStudy) -> Markup {
    html! {
        @if found.own.is_empty() {
            p.small {
                "Everybody looked once, so that nothing is known of how far examiners agree with \
                their own earlier verdicts."
            }
        } @else {
            table {
                caption { "Each examiner against their own other looks" }
                thead { tr {
                    th scope="col" { "Examiner" } th scope="col" { "Coupons with the same verdict" }
                    th scope="col" { "Fleiss' kappa" }
                } }
                tbody { @for own in &found.own {
                    tr {
                        th scope="row" { (own.examiner) }
                        td { (count(&own.agreed)) ", " (share(&own.agreed)) }
                        td { (kappa(&own.kappa)) }
                    }
                } }
            }
        }
    }
}

fn words(column: &StudyColumn, found: &VerdictStudy) -> Markup {
    html! {
        div.wide {
            table {
                caption { "How often each verdict was given" }
                thead { tr {
                    th scope="col" { "Verdict" }
                    @for examiner in &column.examiners { th scope="col" { (examiner) } }
                } }
                tbody { @for word in &found.words {
                    tr {
                        th scope="row" { (word.word) }
                        @for times in &word.by_examiner { td { (times) } }
                    }
                } }
            }
        }
        p.small { "A word that stands here by a slip of the pen counts as a verdict of its own." }
    }
}
