//! What a fault usually comes from, and what to practise.
//!
//! In our own words, after teaching pages on weld faults and their remedies
//! where one was seen, else from common practice (from memory, no source). A
//! photograph shows the fault and never its cause.

use crate::record::{Check, Outcome, Record, Sense};
use maud::{Markup, html};

/// Advice on one kind of fault.
struct Advice {
    /// What shows that a record has the fault.
    shown: Shown,
    fault: &'static str,
    causes: &'static [&'static str],
    practise: &'static [&'static str],
    source: &'static str,
}

/// What shows a fault.
enum Shown {
    /// Findings of these kinds.
    Found(&'static [&'static str]),
    /// A limit that was not kept.
    Outside(fn(&Check) -> bool),
}

impl Shown {
    fn in_record(&self, record: &Record) -> bool {
        match self {
            Self::Found(kinds) => record
                .findings
                .iter()
                .any(|finding| finding.is_counted() && kinds.contains(&finding.kind.as_str())),
            Self::Outside(limit) => record.verdict.iter().any(|verdict| {
                let outside = |check: &&Check| check.outcome == Outcome::Outside;
                verdict.checks.iter().filter(outside).any(limit)
            }),
        }
    }

    /// Whether metal was not melted.
    fn is_cold(&self) -> bool {
        matches!(self, Self::Found(kinds) if kinds[0].starts_with("lack-of"))
    }
}

fn rests_on(check: &Check, name: &str) -> bool {
    let measurement = check.measurement.as_deref();
    measurement.is_some_and(|own| own.starts_with(name))
}

fn too_small(check: &Check) -> bool {
    (rests_on(check, "leg_") && !rests_on(check, "leg_difference")
        || rests_on(check, "inscribed_throat"))
        && (check.sense == Some(Sense::AtLeast) || check.limit.contains("insufficient"))
}

const ADVICE: &[Advice] = &[
    Advice {
        shown: Shown::Found(&["lack-of-root-fusion"]),
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
        shown: Shown::Found(&["lack-of-inter-run-fusion"]),
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
        shown: Shown::Found(&["lack-of-sidewall-fusion"]),
        fault: "The weld did not fuse to a plate at its side",
        causes: &["the arc was not held long enough, or not at the right angle, on that side"],
        practise: &[
            "pause at the sides of a weave",
            "turn the electrode towards the plate that was missed",
        ],
        source: "teaching pages on faults and remedies",
    },
    Advice {
        shown: Shown::Found(&["inclusion"]),
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
        shown: Shown::Found(&["pore", "wormhole"]),
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
    Advice {
        shown: Shown::Outside(|check| rests_on(check, "undercut_")),
        fault: "A groove was melted into the plate beside the weld",
        causes: &[
            "too much current, a long arc, or travel too fast or with too wide a weave",
            "a leg of more than some 9 mm laid in one run: its upper toe sags",
        ],
        practise: &[
            "less current and a short arc; pause at the sides so that the groove is filled",
            "lay a large fillet in several runs",
        ],
        source: "teaching pages on faults and remedies",
    },
    Advice {
        shown: Shown::Outside(|check| rests_on(check, "convexity_")),
        fault: "The face bulges too much",
        causes: &["too little voltage or current, or travel too slow: the metal heaps up"],
        practise: &["more voltage within the welding procedure, and faster travel"],
        source: "common practice, no source",
    },
    Advice {
        shown: Shown::Outside(too_small),
        fault: "The weld is too small",
        causes: &[
            "travel too fast",
            "a gap between the plates that was not made up for: it takes away from the size",
        ],
        practise: &[
            "weld to the size on the drawing plus the gap; measure a first run before the next",
        ],
        source: "common practice, no source",
    },
    Advice {
        shown: Shown::Outside(|check| rests_on(check, "leg_difference")),
        fault: "One leg is longer than the other",
        causes: &[
            "the arc pointed at one plate more than at the other",
            "in the horizontal position the pool sags onto the lower plate",
        ],
        practise: &["even the angle to both plates; lay a large fillet in several runs"],
        source: "common practice, no source",
    },
];

/// The section about the faults this record has; nothing without any.
pub fn section(record: &Record) -> Markup {
    let found: Vec<&Advice> = ADVICE
        .iter()
        .filter(|advice| advice.shown.in_record(record))
        .collect();
    let heat = found.iter().any(|advice| advice.shown.is_cold());
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

#[cfg(test)]
mod tests {
    use super::*;

    fn check(measurement: &str, limit: &str, sense: Sense) -> Check {
        serde_json::from_value(serde_json::json!({
            "limit": limit, "clause": "", "measured": "", "allowed": "", "verified": "",
            "outcome": "outside", "measurement": measurement,
            "sense": serde_json::to_value(sense).unwrap(),
        }))
        .unwrap()
    }

    fn faults(check: &Check) -> Vec<&'static str> {
        let tells = |advice: &&Advice| match advice.shown {
            Shown::Outside(limit) => limit(check),
            Shown::Found(_) => false,
        };
        ADVICE
            .iter()
            .filter(tells)
            .map(|advice| advice.fault)
            .collect()
    }

    #[test]
    fn each_limit_that_was_not_kept_has_its_own_advice() {
        for (measurement, limit, sense, fault) in [
            (
                "undercut_butting_mm",
                "undercut",
                Sense::AtMost,
                Some("A groove"),
            ),
            (
                "convexity_mm",
                "excessive convexity",
                Sense::AtMost,
                Some("The face bulges"),
            ),
            (
                "inscribed_throat_mm",
                "insufficient throat",
                Sense::AtMost,
                Some("The weld is too small"),
            ),
            (
                "leg_butting_mm",
                "leg",
                Sense::AtLeast,
                Some("The weld is too small"),
            ),
            (
                "leg_difference_mm",
                "asymmetry",
                Sense::AtMost,
                Some("One leg"),
            ),
            // A throat that is too large is no fault of fusion and has no advice here.
            (
                "inscribed_throat_mm",
                "excessive throat",
                Sense::AtMost,
                None,
            ),
        ] {
            let told = faults(&check(measurement, limit, sense));
            assert_eq!(
                told.len(),
                usize::from(fault.is_some()),
                "{limit}: {told:?}"
            );
            assert!(
                fault.is_none_or(|fault| told[0].starts_with(fault)),
                "{limit}: {told:?}"
            );
        }
    }
}
