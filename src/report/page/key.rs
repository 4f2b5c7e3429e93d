//! The key to the lines of the picture.

use crate::record::Record;
use crate::report::picture::{self, pen::Style};
use maud::{Markup, html};

/// Samples of the lines that this record's picture shows, each with its name.
pub fn of_lines(record: &Record) -> Markup {
    let outlines = &record.outlines_px;
    let has_fusion = !outlines.fusion_boundary_butting.is_empty()
        || !outlines.fusion_boundary_nonbutting.is_empty();
    let drawn = |name: &str| {
        record
            .measurements
            .get(name)
            .is_some_and(|measurement| measurement.drawn_px.len() > 1)
    };
    let lines = [
        (!outlines.face.is_empty(), picture::FACE, "weld face"),
        (
            has_fusion,
            picture::FUSION,
            "fusion boundary: so deep the plates were melted",
        ),
        (
            !outlines.weld_metal.is_empty(),
            picture::WELD_METAL,
            "outline of the weld metal",
        ),
        (
            !outlines.plates.is_empty() || outlines.joint_root.is_some(),
            picture::SURFACE,
            "original plate surfaces",
        ),
        (
            drawn("leg_butting_mm") || drawn("leg_nonbutting_mm"),
            picture::LEG,
            "legs, from the joint root (cross) to the toes (rings)",
        ),
        (
            drawn("inscribed_throat_mm") || drawn("actual_throat_mm"),
            picture::THROAT,
            "throat",
        ),
        (!outlines.passes.is_empty(), picture::PASS, "passes"),
        (!record.findings.is_empty(), picture::FLAW, "flaws"),
        (
            record
                .scale
                .as_ref()
                .is_some_and(|scale| !scale.evidence.outline_px.is_empty()),
            picture::REFERENCE,
            "scale",
        ),
    ];
    html! {
        ul.key aria-label="Lines in the picture" {
            @for (shown, style, name) in lines {
                @if shown { li { (sample(style)) " " (name) } }
            }
        }
    }
}

fn sample(style: Style) -> Markup {
    let [r, g, b] = style.colour;
    let dash = style
        .dash
        .iter()
        .map(f32::to_string)
        .collect::<Vec<_>>()
        .join(" ");
    html! {
        svg viewBox="0 0 44 12" width="44" height="12" aria-hidden="true" {
            rect width="44" height="12" fill="#333" {}
            line x1="2" y1="6" x2="42" y2="6" stroke=(format!("rgb({r},{g},{b})"))
                stroke-width=(style.width) stroke-dasharray=(dash) {}
        }
    }
}
