//! How a zone of a fracture face looks: outline, hatching and colour, each of
//! which alone tells the classes apart.
//!
//! The colours keep their distance also for people with a colour deficiency,
//! after the eight-colour palette of Okabe and Ito (2008), lightened to stand on
//! metal.

use super::hatch;
use super::pen::{At, Pen, Style};

/// How one class is drawn and called.
#[derive(Clone, Copy, Debug)]
pub struct Look {
    /// Class in the record.
    pub class: &'static str,
    /// What a reader calls it.
    pub name: &'static str,
    /// Outline.
    pub outline: Style,
    /// Angles of the hatching, degrees; none for an outline alone.
    pub hatch: &'static [f32],
    /// Distance of the hatch lines, line units.
    pub gap: f32,
}

/// Every class, as keys list them.
pub const LOOKS: &[Look] = &[
    Look {
        class: "root-unfused",
        name: "root not fused",
        outline: style([255, 176, 59], 2.6, &[]),
        hatch: &[-45.0],
        gap: 9.0,
    },
    Look {
        class: "inter-run-unfused",
        name: "not fused between passes",
        outline: style([110, 210, 255], 2.6, &[12.0, 4.0]),
        hatch: &[45.0],
        gap: 9.0,
    },
    Look {
        class: "sidewall-unfused",
        name: "not fused at the side wall",
        outline: style([120, 235, 175], 2.6, &[5.0, 3.0]),
        hatch: &[90.0],
        gap: 8.0,
    },
    Look {
        class: "pore",
        name: "pore",
        outline: style([255, 240, 110], 2.2, &[]),
        hatch: &[],
        gap: 6.0,
    },
    Look {
        class: "wormhole",
        name: "wormhole",
        outline: style([255, 240, 110], 2.2, &[]),
        hatch: &[0.0],
        gap: 5.0,
    },
    Look {
        class: "inclusion",
        name: "inclusion",
        outline: style([255, 150, 205], 2.2, &[]),
        hatch: &[-45.0, 45.0],
        gap: 6.0,
    },
    Look {
        class: "unsure",
        name: "cannot be told: look yourself",
        outline: style([255, 255, 255], 1.6, &[2.0, 5.0]),
        hatch: &[],
        gap: 14.0,
    },
];

/// Width of a hatch line, line units.
const HATCH_WIDTH: f32 = 1.3;

const fn style(colour: [u8; 3], width: f32, dash: &'static [f32]) -> Style {
    Style {
        colour,
        width,
        dash,
    }
}

/// The look of a class of the record.
pub fn look(class: &str) -> Option<&'static Look> {
    LOOKS.iter().find(|look| look.class == class)
}

/// Draws a zone: hatching, then its outline.
pub fn draw(pen: &mut Pen, places: &[At], look: &Look) {
    let line = style(look.outline.colour, HATCH_WIDTH, &[]);
    for angle in look.hatch {
        pen.lines(&hatch::lines(places, *angle, look.gap * pen.unit), line);
    }
    pen.line(places, true, look.outline);
}

/// Draws a bar on paper in the same pattern: dark lines on a pale ground.
pub fn bar(pen: &mut Pen, corner: At, size: At, look: &Look) {
    let [x, y] = corner;
    let outline = [
        [x, y],
        [x + size[0], y],
        [x + size[0], y + size[1]],
        [x, y + size[1]],
    ];
    pen.fill(corner, size, look.outline.colour);
    for angle in look.hatch {
        let lines = hatch::lines(&outline, *angle, look.gap * pen.unit);
        pen.plain_lines(&lines, 1.6, INK);
    }
    pen.plain_line(&outline, true, 1.6, INK);
}

/// Lines on paper.
pub const INK: [u8; 3] = [20, 20, 20];
