//! What each uncertainty is made of, and what would make it smaller.

use super::words;
use crate::record::catalogue::{self, Entry};
use crate::record::{BudgetShare, Kind, Measurement, Record};
use maud::{Markup, html};

/// The numbers by which the one piece of advice is chosen, what a section is
/// photographed for and what a break is, and how a sentence names them.
const fn leading(kind: Kind) -> (&'static [&'static str], &'static str) {
    match kind {
        Kind::Section => (
            &[
                "leg_butting_mm",
                "leg_nonbutting_mm",
                "inscribed_throat_mm",
                "actual_throat_mm",
            ],
            "Legs and throat are",
        ),
        Kind::Fracture => (
            &[
                "root_unfused_length_mm",
                "inter_run_unfused_length_mm",
                "sidewall_unfused_length_mm",
            ],
            "The lengths that are not fused are",
        ),
    }
}

/// A table to unfold, and above it what would help most. Nothing where no number
/// has a budget.
pub fn section(record: &Record) -> Markup {
    let rows: Vec<(&Entry, &Measurement)> = catalogue::of(record.kind)
        .iter()
        .filter_map(|entry| Some((entry, record.measurements.get(entry.name)?)))
        .filter(|(_, m)| m.value.is_some() && !m.budget.is_empty())
        .collect();
    html! {
        @if !rows.is_empty() {
            section {
                h2 { "Where the uncertainty comes from" }
                @if let Some(part) = leading_part(record) {
                    p {
                        (leading(record.kind).1) " uncertain mostly because of " (cause(part)) ". "
                        (remedy(part))
                    }
                }
                details {
                    summary { "Share of every part, number by number" }
                    table.values {
                        thead { tr { th scope="col" { "What" } th scope="col" { "Parts of the variance" } } }
                        tbody {
                            @for (entry, measurement) in rows {
                                tr {
                                    th scope="row" { (words::sentence(entry.title).trim_end_matches('.')) }
                                    td { (in_words(&measurement.budget)) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// `outline 64 %, scale 20 %`.
fn in_words(budget: &[BudgetShare]) -> String {
    let parts: Vec<String> = budget
        .iter()
        .map(|b| format!("{} {}", b.part.replace('-', " "), words::percent(b.share)))
        .collect();
    parts.join(", ")
}

/// The part with the largest share over the leading numbers.
fn leading_part(record: &Record) -> Option<&str> {
    let mut sums: Vec<(&str, f64)> = Vec::new();
    for share in leading(record.kind)
        .0
        .iter()
        .filter_map(|name| record.measurements.get(*name))
        .flat_map(|m| &m.budget)
    {
        match sums.iter_mut().find(|s| s.0 == share.part) {
            Some(sum) => sum.1 += share.share,
            None => sums.push((&share.part, share.share)),
        }
    }
    sums.into_iter()
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|s| s.0)
}

fn cause(part: &str) -> &'static str {
    match part {
        "scale" => "the scale",
        "tilt" => "a tilt of the camera that the scale reference does not show",
        "lens" => "the lens, which the scale reference does not show",
        "surfaces" => "where the plates' surfaces run under the weld",
        "outline" => "where exactly the edge of the metal lies",
        "reach" => "how far the unfused zones reach, read strictly or leniently",
        "ends" => "where the unfused zones end along the weld",
        "doubtful-zones" => "places that may be unfused or torn",
        "hidden" => "what glare or shadow hides",
        "overlooked" => "places that are there and were overlooked, as happens",
        _ => "where the fusion boundary runs",
    }
}

fn remedy(part: &str) -> &'static str {
    match part {
        "scale" => {
            "A longer rule of a better class, level with the etched face (or its height declared), \
             would help most."
        }
        "tilt" | "lens" => {
            "A chequer strip or the printed card beside the section shows tilt and lens and would \
             help most."
        }
        "surfaces" => "More bare plate beside the weld in the picture would help most.",
        "outline" => {
            "A sharper picture from nearer by, with more pixels a millimetre and a ground that \
             differs from the metal, would help most."
        }
        "reach" => {
            "Light from two sides, so that unfused and torn metal differ in shine, and a sharp \
             picture would help most."
        }
        "ends" => "A picture from nearer by, or one of each half, would help most.",
        "doubtful-zones" => {
            "Another photograph with the light from another side, and a look with a lens at the \
             places marked unsure, would help most."
        }
        "overlooked" => {
            "The half in your hand, turned under a lamp, shows what a photograph does not; another \
             photograph with the light from another side would help, too."
        }
        "hidden" => "A lamp turned until nothing on the face is white or black would help most.",
        _ => "A clearer etch, and even light on it, would help most.",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn share(part: &str, share: f64) -> BudgetShare {
        BudgetShare {
            part: part.to_owned(),
            share,
        }
    }

    #[test]
    fn shares_are_told_in_words_and_percent() {
        let budget = [share("fusion-boundary", 0.7), share("scale", 0.3)];
        assert_eq!(in_words(&budget), "fusion boundary 70 %, scale 30 %");
    }

    #[test]
    fn every_part_has_a_cause_and_a_remedy_of_its_own() {
        let parts = [
            "scale",
            "tilt",
            "lens",
            "surfaces",
            "outline",
            "fusion-boundary",
            "reach",
            "ends",
            "doubtful-zones",
            "hidden",
            "overlooked",
        ];
        let causes: std::collections::BTreeSet<_> = parts.iter().map(|p| cause(p)).collect();
        assert_eq!(causes.len(), parts.len());
        assert!(remedy("tilt").contains("chequer"));
    }
}
