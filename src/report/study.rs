//! The page of a study: how far examiners agree, and where scatter comes from.
//!
//! One HTML file in the style of the coupon's report that needs nothing else. First what
//! a student wants to know, then the tables an examiner wants to check.

mod bar;
mod points;
mod values;
mod verdicts;
mod wording;

use crate::record::study::{Found, Study, StudyColumn};
use maud::{DOCTYPE, Markup, PreEscaped, html as markup};

/// The page as one self-contained HTML file.
pub fn html(study: &Study) -> String {
    let page = markup! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "How far examiners agree – " (study.sheet) }
                // Our own style sheets, the only text that goes in unescaped.
                style {
                    (PreEscaped(include_str!("page/style.css")))
                    (PreEscaped(include_str!("study/style.css")))
                }
            }
            body {
                header {
                    h1 { "How far examiners agree" }
                    p.kind { "study of the sheet " (study.sheet) }
                }
                main {
                    @for (at, column) in study.columns.iter().enumerate() {
                        section { (one(at, column)) }
                    }
                    (method(study))
                }
                footer {
                    p {
                        "Toeline measures; it certifies nobody – an authorised examiner decides."
                    }
                    p.small {
                        (study.tool.name) " " (study.tool.version) ". The file (JSON) beside this \
                        page holds every number with all its digits."
                    }
                }
            }
        }
    };
    page.into_string()
}

/// One column of the sheet; `at` keeps names within the page apart.
fn one(at: usize, column: &StudyColumn) -> Markup {
    markup! {
        h2 { (column.title) }
        @match &column.found {
            Found::Values(found) => { (who(column)) (values::section(at, column, found)) }
            Found::Verdicts(found) => { (who(column)) (verdicts::section(column, found)) }
            Found::NotAssessed { message, remedy } => div.reason {
                p { strong { "Not assessed: " (message) "." } }
                p { "What to do: " (remedy) "." }
            },
        }
        @if !column.left_out.is_empty() {
            h3 { "Left out" }
            ul { @for line in &column.left_out { li { (line) "." } } }
            p.small {
                "If those are the difficult coupons, the study looks better than it is."
            }
        }
    }
}

fn who(column: &StudyColumn) -> Markup {
    let looks = match column.looks {
        1 => "one look each".to_owned(),
        n => format!("{n} looks each"),
    };
    markup! {
        p {
            (column.examiners.len()) " examiners (" (column.examiners.join(", ")) "), "
            (column.coupons.len()) " coupons, " (looks) "."
        }
    }
}

/// What was calculated, after whom.
fn method(study: &Study) -> Markup {
    let has = |wanted: fn(&Found) -> bool| study.columns.iter().any(|c| wanted(&c.found));
    markup! {
        section {
            h2 { "How it was worked out" }
            @if has(|found| matches!(found, Found::Values(_))) {
                p.small {
                    "Measured values: two-way analysis of variance, coupons and examiners taken as \
                    a chance selection. Where examiners differ from coupon to coupon no more than \
                    chance would let them (probability above 0.25, F test), that counts with the \
                    repeats. A variance that comes out below zero is too small to be seen and \
                    stands as 0. Study variation sets a standard deviation against that of \
                    everything; such shares do not add up to 100 %, shares of the variance do. \
                    Classes that can be told apart: √2 times the coupons' standard deviation over \
                    that of measuring, rounded down. Intervals: generalised ones, from drawn \
                    chi-square numbers (Hamada and Weerahandi 2000, from memory)."
                }
            }
            @if has(|found| matches!(found, Found::Verdicts(_))) {
                p.small {
                    "Verdicts: kappa is how much of the agreement that chance leaves open was \
                    reached; 1 is full agreement, 0 what chance gives. Two examiners: Cohen (1960), \
                    first look against first look and so on; several verdicts: Fleiss (1971), every \
                    look taken for a verdict of its own. Intervals: leaving out one coupon at a \
                    time, with Student's t. Shares of coupons: exact interval of Clopper and \
                    Pearson (1934)."
                }
                p.small {
                    "Words for the size of kappa after Landis and Koch (1977, from memory): below 0 \
                    poor, to 0.20 slight, to 0.40 fair, to 0.60 moderate, to 0.80 substantial, \
                    above almost perfect. These bounds are a convention, and kappa falls where \
                    nearly all coupons get the same verdict."
                }
            }
            p.small {
                "An interval holds the true figure in about 95 of 100 studies like this one."
            }
        }
    }
}
