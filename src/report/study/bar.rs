//! The scatter as one bar, cut into its causes; hatching tells them apart.

use super::wording::{part, percent};
use crate::base::rounding::plain;
use crate::record::study::{Part, PartOfScatter};
use maud::{Markup, html};

const WIDTH: f64 = 560.0;

/// The causes in the order of the bar.
const CAUSES: [Part; 4] = [
    Part::Coupons,
    Part::Reproducibility,
    Part::Interaction,
    Part::Repeatability,
];

/// The bar with its key; `at` keeps patterns of several bars apart.
pub fn figure(at: usize, parts: &[PartOfScatter]) -> Markup {
    let causes: Vec<&PartOfScatter> = CAUSES
        .iter()
        .filter_map(|cause| parts.iter().find(|p| p.part == *cause))
        .collect();
    let mut edge = 0.0;
    let pieces: Vec<(Part, f64, f64)> = causes
        .iter()
        .map(|cause| {
            let width = WIDTH * cause.contribution_percent / 100.0;
            edge += width;
            (cause.part, edge - width, width)
        })
        .collect();
    let told: Vec<String> = causes
        .iter()
        .map(|c| format!("{}: {}", part(c.part), percent(c.contribution_percent)))
        .collect();
    html! {
        figure.drawn {
            figcaption { "Of all the scatter (variance), so much comes from:" }
            svg viewBox="-1 0 562 40" role="img" aria-label=(told.join("; ")) {
                (patterns(at))
                @for (part, left, width) in &pieces {
                    rect x=(plain(*left, 1)) y="2" width=(plain(*width, 1)) height="36"
                        fill=(fill(at, *part)) stroke="#1a1a1a" stroke-width="1.5" {}
                }
            }
            ul.key {
                @for (cause, line) in causes.iter().zip(&told) {
                    li {
                        svg class="swatch" viewBox="0 0 20 20" aria-hidden="true" {
                            rect x="1" y="1" width="18" height="18" fill=(fill(at, cause.part))
                                stroke="#1a1a1a" stroke-width="1.5" {}
                        }
                        " " (line)
                    }
                }
            }
        }
    }
}

fn fill(at: usize, part: Part) -> String {
    match part {
        Part::Reproducibility => format!("url(#stripes-{at})"),
        Part::Interaction => format!("url(#lattice-{at})"),
        Part::Repeatability => format!("url(#dots-{at})"),
        Part::Coupons | Part::Measuring | Part::Total => "#dcdcdc".to_owned(),
    }
}

fn patterns(at: usize) -> Markup {
    let pattern = |name: &str, inside: Markup| {
        html! {
            pattern id=(format!("{name}-{at}")) width="8" height="8" patternUnits="userSpaceOnUse" {
                rect width="8" height="8" fill="#fff" {}
                (inside)
            }
        }
    };
    html! {
        defs {
            (pattern("stripes", html! {
                path d="M-2 6 6 -2M2 10 10 2" stroke="#1a1a1a" stroke-width="2" {}
            }))
            (pattern("lattice", html! {
                path d="M0 0 8 8M8 0 0 8" stroke="#1a1a1a" stroke-width="1.2" {}
            }))
            (pattern("dots", html! { circle cx="4" cy="4" r="1.7" fill="#1a1a1a" {} }))
        }
    }
}
