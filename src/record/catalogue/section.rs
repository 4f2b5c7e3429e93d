//! Measurements of an etched section.

use super::{Entry, Unit};

/// Every measurement of a section, in the order a report lists them.
pub const SECTION: &[Entry] = &[
    Entry {
        name: "leg_butting_mm",
        title: "leg on the standing (butting) plate",
        symbol: "z1",
        unit: Unit::Mm,
        definition: "Distance from the joint root to the toe, along the original surface of the \
                     butting member; a root gap counts as part of it.",
        source: "ISO 2553, AWS A3.0 (leg)",
    },
    Entry {
        name: "leg_nonbutting_mm",
        title: "leg on the through (nonbutting) plate",
        symbol: "z2",
        unit: Unit::Mm,
        definition: "Distance from the joint root to the toe, along the original surface of the \
                     nonbutting member.",
        source: "ISO 2553, AWS A3.0 (leg)",
    },
    Entry {
        name: "leg_difference_mm",
        title: "difference between the two legs",
        symbol: "|z1 − z2|",
        unit: Unit::Mm,
        definition: "Longer leg less shorter leg.",
        source: "ISO 6520-1, 512 (excessive asymmetry)",
    },
    Entry {
        name: "inscribed_throat_mm",
        title: "throat",
        symbol: "a",
        unit: Unit::Mm,
        definition: "Height, from the joint root, of the largest isosceles triangle with its apex \
                     at the joint root that fits inside the weld, outside the original plates.",
        source: "ISO 17659, ISO 2553 (throat thickness a)",
    },
    Entry {
        name: "actual_throat_mm",
        title: "actual throat, bulge included",
        symbol: "a act",
        unit: Unit::Mm,
        definition: "Shortest distance from the joint root to the weld face.",
        source: "AWS A3.0 (actual throat, here taken from the joint root)",
    },
    Entry {
        name: "effective_throat_mm",
        title: "throat with root penetration",
        symbol: "a eff",
        unit: Unit::Mm,
        definition: "Shortest distance from the deepest point of root penetration to the weld \
                     face.",
        source: "AWS A3.0 (throat from the weld root); convexity is not taken off",
    },
    Entry {
        name: "convexity_mm",
        title: "convexity of the face",
        symbol: "h cvx",
        unit: Unit::Mm,
        definition: "Greatest distance of the weld face from the straight line between the toes: \
                     positive where it bulges outward, negative where it is hollow.",
        source: "AWS A3.0 (convexity, concavity); ISO 6520-1, 503",
    },
    Entry {
        name: "face_width_mm",
        title: "width of the face",
        symbol: "b",
        unit: Unit::Mm,
        definition: "Length of the straight line from toe to toe.",
        source: "ISO 5817 (weld width b)",
    },
    Entry {
        name: "toe_angle_butting_deg",
        title: "toe angle on the standing (butting) plate",
        symbol: "α1",
        unit: Unit::Deg,
        definition: "Angle through the air between the plate surface and the first millimetre of \
                     the weld face; the larger it is, the smoother the transition.",
        source: "ISO 6520-1, 505; ISO 5817 (angle α)",
    },
    Entry {
        name: "toe_angle_nonbutting_deg",
        title: "toe angle on the through (nonbutting) plate",
        symbol: "α2",
        unit: Unit::Deg,
        definition: "Angle through the air between the plate surface and the first millimetre of \
                     the weld face; the larger it is, the smoother the transition.",
        source: "ISO 6520-1, 505; ISO 5817 (angle α)",
    },
    Entry {
        name: "undercut_butting_mm",
        title: "undercut in the standing (butting) plate",
        symbol: "h uc1",
        unit: Unit::Mm,
        definition: "Depth of the groove at the toe, square to the original surface of the \
                     butting member.",
        source: "ISO 6520-1, 501; AWS A3.0 (undercut)",
    },
    Entry {
        name: "undercut_nonbutting_mm",
        title: "undercut in the through (nonbutting) plate",
        symbol: "h uc2",
        unit: Unit::Mm,
        definition: "Depth of the groove at the toe, square to the original surface of the \
                     nonbutting member.",
        source: "ISO 6520-1, 501; AWS A3.0 (undercut)",
    },
    Entry {
        name: "overlap_butting_mm",
        title: "overlap on the standing (butting) plate",
        symbol: "h ov1",
        unit: Unit::Mm,
        definition: "How far weld metal lies on the butting member's surface beyond the last \
                     fused point.",
        source: "ISO 6520-1, 506; AWS A3.0 (overlap)",
    },
    Entry {
        name: "overlap_nonbutting_mm",
        title: "overlap on the through (nonbutting) plate",
        symbol: "h ov2",
        unit: Unit::Mm,
        definition: "How far weld metal lies on the nonbutting member's surface beyond the last \
                     fused point.",
        source: "ISO 6520-1, 506; AWS A3.0 (overlap)",
    },
    Entry {
        name: "penetration_butting_mm",
        title: "penetration into the standing (butting) plate",
        symbol: "p1",
        unit: Unit::Mm,
        definition: "Greatest depth of the fusion boundary below the original surface of the \
                     butting member.",
        source: "AWS A3.0 (depth of fusion)",
    },
    Entry {
        name: "penetration_nonbutting_mm",
        title: "penetration into the through (nonbutting) plate",
        symbol: "p2",
        unit: Unit::Mm,
        definition: "Greatest depth of the fusion boundary below the original surface of the \
                     nonbutting member.",
        source: "AWS A3.0 (depth of fusion)",
    },
    Entry {
        name: "root_penetration_mm",
        title: "fusion beyond the joint root",
        symbol: "p r",
        unit: Unit::Mm,
        definition: "How far fusion reaches past the joint root along the line where the members \
                     meet; negative where it falls short of the root.",
        source: "AWS A3.0 (root penetration), here along the faying line",
    },
    Entry {
        name: "root_gap_mm",
        title: "root gap",
        symbol: "g",
        unit: Unit::Mm,
        definition: "Distance between the two members at the joint root.",
        source: "ISO 6520-1, 617 (poor fit-up of a fillet weld)",
    },
    Entry {
        name: "weld_area_mm2",
        title: "area of the weld metal",
        symbol: "A w",
        unit: Unit::Mm2,
        definition: "Area inside the outline of all weld metal in the section.",
        source: "the outline's polygon",
    },
    Entry {
        name: "deposit_area_mm2",
        title: "area of weld metal outside the plates",
        symbol: "A d",
        unit: Unit::Mm2,
        definition: "Part of the weld metal that lies outside the original plates.",
        source: "the outline's polygon",
    },
    Entry {
        name: "melted_parent_area_mm2",
        title: "area of plate that was melted",
        symbol: "A m",
        unit: Unit::Mm2,
        definition: "Part of the weld metal that lies inside the original plates.",
        source: "the outline's polygon",
    },
    Entry {
        name: "dilution_percent",
        title: "dilution",
        symbol: "D",
        unit: Unit::Percent,
        definition: "Melted parent metal as a share of all weld metal.",
        source: "AWS A3.0 (dilution), as an area ratio",
    },
    Entry {
        name: "pass_count",
        title: "number of passes",
        symbol: "n",
        unit: Unit::Count,
        definition: "Passes that can be told apart in the section.",
        source: "ISO 17659 (run, bead)",
    },
];
