//! What a fault usually comes from, and what to practise.
//!
//! In our own words, after teaching pages on weld faults and their remedies
//! where one was seen, else from common practice (from memory, no source). A
//! photograph shows the fault and never its cause.

use crate::record::Record;
use maud::{Markup, html};

/// Advice on one kind of fault.
struct Advice {
    kinds: &'static [&'static str],
    fault: &'static str,
    causes: &'static [&'static str],
    practise: &'static [&'static str],
    source: &'static str,
}

const ADVICE: &[Advice] = &[
    Advice {
        kinds: &["lack-of-root-fusion"],
        fault: "The root was not reached",
        causes: &[
            "too little heat in the corner: low current or a long arc",
            "travel too fast, or so slow that the pool ran ahead of the arc and covered the corner \
             before it melted",
            "electrode or torch not pointed into the corner; scale, dirt or a gap in it",
        ],
        practise: &[
            "hold the arc short, on the front edge of the pool, and watch both plates melt at the \
             corner",
            "keep the same angle to both plates along the whole run",
            "clean the corner to bright metal and close the gap; raise the current within the \
             welding procedure",
        ],
        source: "teaching pages on faults and remedies; angles and arc length from common practice",
    },
    Advice {
        kinds: &["lack-of-inter-run-fusion"],
        fault: "A pass did not fuse to the one below",
        causes: &[
            "the pass below was too convex (in MAG often too low an arc voltage), so the next one \
             bridged its flank",
            "slag or scale left between passes; beads placed badly",
        ],
        practise: &[
            "lay flatter beads, and dress a steep one before the next pass",
            "clean every pass to bright metal",
            "place each bead half over the flank of the one below, with enough heat",
        ],
        source: "teaching pages on faults and remedies (bead shape); the rest from common practice",
    },
    Advice {
        kinds: &["lack-of-sidewall-fusion"],
        fault: "The weld did not fuse to a plate at its side",
        causes: &["the arc was not held long enough, or not at the right angle, on that side"],
        practise: &[
            "pause at the sides of a weave",
            "turn the electrode towards the plate that was missed",
        ],
        source: "teaching pages on faults and remedies",
    },
    Advice {
        kinds: &["inclusion"],
        fault: "Slag or other foreign matter is enclosed",
        causes: &[
            "slag left on the pass below, or slag running ahead of the arc",
            "unsteady travel, a weave too wide, an electrode too thick for the corner",
        ],
        practise: &[
            "chip and brush every pass, its edges above all",
            "travel steadily with a tight weave and a short arc; take a thinner electrode",
        ],
        source: "teaching pages on faults and remedies",
    },
    Advice {
        kinds: &["pore", "wormhole"],
        fault: "Gas was enclosed",
        causes: &[
            "rust, paint, oil or moisture on the plates; damp electrodes",
            "shielding gas lost to draught, too little or too much flow, or a long arc",
        ],
        practise: &[
            "clean the plates, keep electrodes dry",
            "check the gas flow, screen off draughts, hold the arc short",
        ],
        source: "teaching pages on faults and remedies; shielding from common practice",
    },
];

/// The section about the faults this record has; nothing without any.
pub fn section(record: &Record) -> Markup {
    let found: Vec<&Advice> = ADVICE
        .iter()
        .filter(|advice| {
            record.findings.iter().any(|finding| {
                finding.is_counted() && advice.kinds.contains(&finding.kind.as_str())
            })
        })
        .collect();
    let heat = found
        .iter()
        .any(|advice| advice.kinds[0].starts_with("lack-of"));
    html! {
        @if !found.is_empty() {
            section {
                h2 { "Likely causes, and what to practise" }
                div.advice {
                    @for advice in &found {
                        div {
                            h3 { (advice.fault) }
                            p { "Often comes from:" }
                            ul { @for cause in advice.causes { li { (cause) } } }
                            p { "Practise:" }
                            ul { @for thing in advice.practise { li { (thing) } } }
                            p.small { "After " (advice.source) "." }
                        }
                    }
                }
                @if heat {
                    p {
                        "Going slower is no cure by itself: a pool that runs ahead of the arc \
                        leaves the metal under it unmelted."
                    }
                }
                p.small {
                    "A photograph shows a fault, not its cause. Talk these over with your \
                    instructor, who saw you weld."
                }
            }
        }
    }
}
