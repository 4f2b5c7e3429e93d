//! The key to the lines of the picture.

use crate::record::{Kind, Record};
use crate::report::picture::zones::{LOOKS, Look};
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
        (
            !outlines.face_strip.is_empty(),
            picture::FACE_STRIP,
            "fracture face",
        ),
        (
            !outlines.root_side.is_empty(),
            picture::ROOT_SIDE,
            "root side",
        ),
        (!outlines.passes.is_empty(), picture::PASS, "passes"),
        (
            !record.findings.is_empty() && record.kind == Kind::Section,
            picture::FLAW,
            "thin lines around flaws, with their numbers",
        ),
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

/// Samples of the patterns of the zones that this record has.
pub fn of_zones(record: &Record) -> Markup {
    let zones = &record.outlines_px.zones;
    html! {
        ul.key aria-label="Patterns in the picture" {
            @for look in LOOKS {
                @if zones.iter().any(|zone| zone.class == look.class) {
                    li { (pattern(look)) " " (look.name) }
                }
            }
        }
    }
}

fn pattern(look: &Look) -> Markup {
    let [r, g, b] = look.outline.colour;
    let colour = format!("rgb({r},{g},{b})");
    let dash = look
        .outline
        .dash
        .iter()
        .map(f32::to_string)
        .collect::<Vec<_>>()
        .join(" ");
    let (width, height) = (44.0, 20.0);
    let inside = [
        [3.0, 3.0],
        [width - 3.0, 3.0],
        [width - 3.0, height - 3.0],
        [3.0, height - 3.0],
    ];
    let lines: Vec<_> = look
        .hatch
        .iter()
        .flat_map(|angle| picture::hatch::lines(&inside, *angle, look.gap * 0.8))
        .collect();
    html! {
        svg viewBox="0 0 44 20" width="44" height="20" aria-hidden="true" {
            rect width="44" height="20" fill="#333" {}
            @for [from, to] in lines {
                line x1=(from[0]) y1=(from[1]) x2=(to[0]) y2=(to[1]) stroke=(colour)
                    stroke-width="1.2" {}
            }
            rect x="3" y="3" width="38" height="14" fill="none" stroke=(colour) stroke-width="2"
                stroke-dasharray=(dash) {}
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
