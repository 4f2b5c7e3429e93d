//! The weld on the other side of a tee: its own numbers and flaws, short.

use super::tables::name_and_value;
use super::words;
use crate::record::{OtherWeld, Record, catalogue};
use crate::report::flaw_words::in_words;
use maud::{Markup, html};

/// What is shown of a further weld, by record name.
const SHOWN: [&str; 6] = [
    "leg_butting_mm",
    "leg_nonbutting_mm",
    "inscribed_throat_mm",
    "actual_throat_mm",
    "root_penetration_mm",
    "convexity_mm",
];

/// One table a further weld; nothing where there is only one.
pub fn section(record: &Record) -> Markup {
    html! {
        @for other in &record.other_welds {
            section {
                h2 { "The weld on the other side" }
                p.small {
                    "Measured in the same way; the limits were compared with the weld above only. \
                     To compare this one, photograph the section so that it is the clearer of the two."
                }
                (numbers(other))
                @if other.findings.is_empty() {
                    p { "No flaws were found in it." }
                } @else {
                    ul {
                        @for finding in &other.findings { li { (words::sentence(&in_words(finding))) } }
                    }
                }
            }
        }
    }
}

fn numbers(other: &OtherWeld) -> Markup {
    let rows: Vec<_> = SHOWN
        .iter()
        .filter_map(|name| Some((catalogue::entry(name)?, other.measurements.get(*name)?)))
        .filter(|(_, measurement)| measurement.value.is_some())
        .collect();
    html! {
        table.values {
            thead { tr { th scope="col" { "What" } th scope="col" { "Value ± uncertainty" } } }
            tbody {
                @for (entry, measurement) in rows {
                    tr { (name_and_value(entry, measurement)) }
                }
            }
        }
    }
}
