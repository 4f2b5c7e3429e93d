//! Measurements of the face of a broken weld.
//!
//! s runs along the weld from the left end as pictured with the root side
//! below; the ends that are discarded are not part of it.

use super::{Entry, Unit};

/// Every measurement of a fracture face, in the order a report lists them.
pub const FRACTURE: &[Entry] = &[
    Entry {
        name: "evaluated_length_mm",
        title: "length of weld that was looked at",
        symbol: "L",
        unit: Unit::Mm,
        definition: "Length of the fracture face along the weld, without the ends that are \
                     discarded.",
        source: "ISO 9017 (examined length)",
    },
    Entry {
        name: "discard_left_mm",
        title: "left end marked to be discarded",
        symbol: "",
        unit: Unit::Mm,
        definition: "Distance of the line painted across the coupon from the left end of the \
                     face, where such lines were found.",
        source: "common practice, no source",
    },
    Entry {
        name: "discard_right_mm",
        title: "right end marked to be discarded",
        symbol: "",
        unit: Unit::Mm,
        definition: "Distance of the line painted across the coupon from the right end of the \
                     face, where such lines were found.",
        source: "common practice, no source",
    },
    Entry {
        name: "face_area_mm2",
        title: "area of the fracture face",
        symbol: "A f",
        unit: Unit::Mm2,
        definition: "Area between the root line and the edge where the break left the weld, over \
                     the evaluated length.",
        source: "the outline's polygon",
    },
    Entry {
        name: "root_unfused_length_mm",
        title: "length of root not fused",
        symbol: "l r",
        unit: Unit::Mm,
        definition: "Length along the weld over which the plate's own surface shows inside the \
                     root line: fusion did not reach the root there.",
        source: "ISO 6520-1, 4013 (lack of root fusion)",
    },
    Entry {
        name: "root_unfused_percent",
        title: "share of the root not fused",
        symbol: "",
        unit: Unit::Percent,
        definition: "Length of root not fused as a share of the evaluated length.",
        source: "ISO 6520-1, 4013 (lack of root fusion)",
    },
    Entry {
        name: "root_unfused_longest_mm",
        title: "longest stretch of root not fused",
        symbol: "l r max",
        unit: Unit::Mm,
        definition: "Length along the weld of the longest single stretch of root that is not \
                     fused.",
        source: "ISO 6520-1, 4013 (lack of root fusion)",
    },
    Entry {
        name: "root_unfused_depth_max_mm",
        title: "greatest depth of root not fused",
        symbol: "h r",
        unit: Unit::Mm,
        definition: "Greatest distance of the unfused surface from the root line, across the weld.",
        source: "ISO 6520-1, 4013; ISO 5817 (height h)",
    },
    Entry {
        name: "root_unfused_area_mm2",
        title: "area of root not fused",
        symbol: "A r",
        unit: Unit::Mm2,
        definition: "Area of the plate surface that shows at the root.",
        source: "the zone's polygon",
    },
    Entry {
        name: "inter_run_unfused_length_mm",
        title: "length not fused between passes",
        symbol: "l i",
        unit: Unit::Mm,
        definition: "Length along the weld over which one pass did not fuse to the one below; \
                     stretches one above the other count once.",
        source: "ISO 6520-1, 4012 (lack of inter-run fusion)",
    },
    Entry {
        name: "inter_run_unfused_percent",
        title: "share not fused between passes",
        symbol: "",
        unit: Unit::Percent,
        definition: "Length not fused between passes as a share of the evaluated length.",
        source: "ISO 6520-1, 4012 (lack of inter-run fusion)",
    },
    Entry {
        name: "inter_run_unfused_area_mm2",
        title: "area not fused between passes",
        symbol: "A i",
        unit: Unit::Mm2,
        definition: "Area of the surfaces of passes that did not fuse to the next one.",
        source: "the zone's polygon",
    },
    Entry {
        name: "sidewall_unfused_length_mm",
        title: "length not fused at a side wall",
        symbol: "l s",
        unit: Unit::Mm,
        definition: "Length along the weld over which the weld metal did not fuse to a plate \
                     beside the face's far edge; stretches one above the other count once.",
        source: "ISO 6520-1, 4011 (lack of side-wall fusion)",
    },
    Entry {
        name: "sidewall_unfused_percent",
        title: "share not fused at a side wall",
        symbol: "",
        unit: Unit::Percent,
        definition: "Length not fused at a side wall as a share of the evaluated length.",
        source: "ISO 6520-1, 4011 (lack of side-wall fusion)",
    },
    Entry {
        name: "sidewall_unfused_area_mm2",
        title: "area not fused at a side wall",
        symbol: "A s",
        unit: Unit::Mm2,
        definition: "Area of the plate surfaces at a side wall that did not fuse.",
        source: "the zone's polygon",
    },
    Entry {
        name: "flaw_sum_mm",
        title: "pores and inclusions added up",
        symbol: "Σ d",
        unit: Unit::Mm,
        definition: "Sum of the greatest dimensions of all pores, wormholes and inclusions found \
                     on the face.",
        source: "AWS D1.1, fillet weld break test (sum of the greatest dimensions)",
    },
    Entry {
        name: "flaw_largest_mm",
        title: "largest pore or inclusion",
        symbol: "d max",
        unit: Unit::Mm,
        definition: "Greatest dimension of the largest pore, wormhole or inclusion found.",
        source: "AWS D1.1, fillet weld break test (greatest dimension)",
    },
    Entry {
        name: "flaw_count",
        title: "number of pores and inclusions",
        symbol: "n d",
        unit: Unit::Count,
        definition: "Pores, wormholes and inclusions found on the face.",
        source: "ISO 6520-1, 2011, 2016, 300",
    },
    Entry {
        name: "unfused_area_percent",
        title: "share of the face that never fused",
        symbol: "",
        unit: Unit::Percent,
        definition: "Area not fused at the root, between passes and at side walls, as a share of \
                     the fracture face.",
        source: "the zones' polygons",
    },
    Entry {
        name: "fractured_area_percent",
        title: "share of the face that was torn",
        symbol: "",
        unit: Unit::Percent,
        definition: "Area of metal that had to be torn apart, as a share of the fracture face.",
        source: "the zones' polygons",
    },
];
