//! A column of measured values.

use super::wording::{decimals, part, percent, term, with_interval};
use super::{bar, points};
use crate::base::rounding::{plain, shortest};
use crate::record::study::{Allowed, AnovaLine, Part, PartOfScatter, StudyColumn, ValueStudy};
use crate::report::page::signs::Sign;
use maud::{Markup, html};

pub fn section(at: usize, column: &StudyColumn, found: &ValueStudy) -> Markup {
    html! {
        p class="headline is-open" { (Sign::Measured.shape()) span { (headline(found)) } }
        (numbers(found))
        (bar::figure(at, &found.parts))
        (points::figure(column, found))
        (amounts(found))
        (notes(found))
        (means(column, found))
        (anova(found))
    }
}

fn of(found: &ValueStudy, wanted: Part) -> Option<&PartOfScatter> {
    found.parts.iter().find(|p| p.part == wanted)
}

/// The one sentence.
fn headline(found: &ValueStudy) -> String {
    let share = |wanted| percent(of(found, wanted).map_or(0.0, |p| p.contribution_percent));
    let interaction = match of(found, Part::Interaction) {
        Some(p) => format!(
            ", {} because {}",
            percent(p.contribution_percent),
            "examiners differ from coupon to coupon"
        ),
        None => String::new(),
    };
    format!(
        "Of the scatter, {} lies in the coupons themselves, {} between one examiner and \
         another{interaction}, and {} in the same examiner looking again.",
        share(Part::Coupons),
        share(Part::Reproducibility),
        share(Part::Repeatability)
    )
}

/// What is asked first.
fn numbers(found: &ValueStudy) -> Markup {
    let classes = match found.distinct_categories {
        None => ("many".to_owned(), "Measuring did not scatter at all."),
        Some(0 | 1) => (
            "none".to_owned(),
            "These coupons cannot be told apart by measuring them in this way.",
        ),
        Some(n) => (
            n.to_string(),
            "So many sizes among these coupons can be told apart; five or more are usually asked \
             for (same manual).",
        ),
    };
    html! {
        dl.numbers {
            @if let Some(measuring) = of(found, Part::Measuring) {
                div {
                    dt { "Scatter of measuring" }
                    dd {
                        span.number { (plain(measuring.deviation_mm, decimals(measuring.deviation_mm))) " mm" }
                        span.meaning {
                            "Standard deviation when any of these examiners measures a coupon once."
                        }
                    }
                }
                div {
                    dt { "Share of the study variation" }
                    dd {
                        span.number { (percent(measuring.study_variation_percent)) }
                        @let [low, high] = measuring.study_variation_interval_percent;
                        span.asked { "Between " (plain(low, 0)) " and " (plain(high, 0)) " %." }
                        span.meaning {
                            "Of measuring. Up to 10 % is usually called good, up to 30 % good \
                            enough for some uses (AIAG manual on measurement systems, from memory)."
                        }
                    }
                }
                @if let (Some(share), Some(allowed)) = (measuring.tolerance_percent, found.allowed) {
                    div {
                        dt { @match allowed {
                            Allowed::ToleranceMm(_) => "Share of the tolerance",
                            Allowed::LimitMm(_) => "Share of the room to the limit",
                        } }
                        dd {
                            span.number { (percent(share)) }
                            span.meaning { @match allowed {
                                Allowed::ToleranceMm(width) => {
                                    "Six standard deviations of measuring against a tolerance of "
                                    (shortest(width, 4)) " mm."
                                }
                                Allowed::LimitMm(limit) => {
                                    "Three standard deviations of measuring against the distance \
                                    from the mean, " (shortest(found.mean_mm, 3)) " mm, to the limit of "
                                    (shortest(limit, 4)) " mm."
                                }
                            } }
                        }
                    }
                }
            }
            div {
                dt { "Classes that can be told apart" }
                dd { span.number { (classes.0) } span.meaning { (classes.1) } }
            }
        }
    }
}

fn amounts(found: &ValueStudy) -> Markup {
    let places = of(found, Part::Total).map_or(3, |p| decimals(p.deviation_mm).max(3));
    let of_allowed = found.allowed.map(|allowed| match allowed {
        Allowed::ToleranceMm(_) => "% tolerance",
        Allowed::LimitMm(_) => "% of the room to the limit",
    });
    html! {
        div.wide {
            table.amounts.stack {
                caption { "How much each cause brings (95 % interval in brackets)" }
                thead { tr {
                    th scope="col" { "Cause" }
                    th scope="col" { "Standard deviation, mm" }
                    th scope="col" { "Share of the variance" }
                    th scope="col" { "% study variation" }
                    @if let Some(of) = of_allowed { th scope="col" { (of) } }
                } }
                tbody { @for p in &found.parts {
                    tr.sum[matches!(p.part, Part::Measuring | Part::Total)] {
                        th scope="row" { (part(p.part)) " " span.small { "(" (term(p.part)) ")" } }
                        td data-head="Standard deviation, mm" {
                            (with_interval(p.deviation_mm, p.deviation_interval_mm, places))
                        }
                        td data-head="Share of the variance" { (percent(p.contribution_percent)) }
                        td data-head="% study variation" {
                            @if p.part == Part::Total { (percent(p.study_variation_percent)) }
                            @else {
                                (with_interval(p.study_variation_percent, p.study_variation_interval_percent, 1))
                            }
                        }
                        @if let Some(of) = of_allowed {
                            td data-head=(of) {
                                (p.tolerance_percent.map_or("–".to_owned(), percent))
                            }
                        }
                    }
                } }
            }
        }
    }
}

fn notes(found: &ValueStudy) -> Markup {
    let on_limit =
        found.allowed.is_some() && found.parts.iter().all(|p| p.tolerance_percent.is_none());
    html! {
        ul.small {
            @if found.interaction_pooled {
                li {
                    "Examiners differ from coupon to coupon no more than chance would let them"
                    @if let Some(p) = found.interaction_p { " (probability " (probability(p)) ")" }
                    "; that is counted with the repeats."
                }
            } @else {
                li {
                    "Examiners differ from coupon to coupon, so that some coupons are read \
                    differently by some examiners"
                    @if let Some(p) = found.interaction_p { " (probability by chance " (probability(p)) ")" }
                    ": look at those rows of the drawing."
                }
            }
            @if found.set_to_zero {
                li {
                    "A cause that shows 0 came out below zero: it is too small to be seen in a study \
                    of this size, not proven to be absent."
                }
            }
            @if on_limit { li { "The mean lies on the limit, so that there is no room to set measuring against." } }
            li { "Few examiners or few coupons make wide intervals; more looks do not help against that." }
        }
    }
}

fn probability(p: f64) -> String {
    match p < 0.001 {
        true => "below 0.001".to_owned(),
        false => plain(p, 3),
    }
}

fn means(column: &StudyColumn, found: &ValueStudy) -> Markup {
    let places = of(found, Part::Repeatability).map_or(3, |p| decimals(p.deviation_mm).max(2));
    html! {
        table {
            caption { "Mean of each examiner over all coupons" }
            thead { tr {
                th scope="col" { "Examiner" } th scope="col" { "Mean, mm" }
                th scope="col" { "Off the mean of all, mm" }
            } }
            tbody { @for (examiner, mean) in column.examiners.iter().zip(&found.examiner_means_mm) {
                tr {
                    th scope="row" { (examiner) }
                    td { (plain(*mean, places)) }
                    td { (signed(*mean - found.mean_mm, places)) }
                }
            } }
        }
    }
}

fn signed(value: f64, places: usize) -> String {
    let text = plain(value, places);
    match text.starts_with('−') || text.chars().all(|c| matches!(c, '0' | '.')) {
        true => text,
        false => format!("+{text}"),
    }
}

fn anova(found: &ValueStudy) -> Markup {
    let line = |AnovaLine {
                    source,
                    sum_of_squares,
                    degrees_of_freedom,
                    mean_square,
                }: &AnovaLine| {
        html! {
            tr {
                th scope="row" { (source) }
                td { (plain(*sum_of_squares, decimals(*sum_of_squares).max(4))) }
                td { (degrees_of_freedom) }
                td { (plain(*mean_square, decimals(*mean_square).max(4))) }
            }
        }
    };
    html! {
        details {
            summary { "The analysis of variance, line by line" }
            table {
                caption { "Analysis of variance" }
                thead { tr {
                    th scope="col" { "Between" } th scope="col" { "Sum of squares, mm²" }
                    th scope="col" { "Degrees of freedom" } th scope="col" { "Mean square, mm²" }
                } }
                tbody { @for l in &found.anova { (line(l)) } }
            }
        }
    }
}
