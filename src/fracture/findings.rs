//! From zones and flaws to findings.
//!
//! Sizes are those of the part inside the evaluated range. What lies in a
//! discarded end is reported with its place and outline but without sizes: it
//! is seen and does not count. Pores and inclusions count whole when their
//! centre is in the range.

use super::doubt::END_MM;
use super::evaluated::Evaluated;
use super::flaws::{Flaw, FlawKind};
use super::measurands::{BORDER_MM, EDGE_MM, combined};
use super::strip::{Straight, Strip};
use super::zones::{Kind, Zone, Zones};
use crate::base::geometry::Point;
use crate::record::{Finding, PlacePx, Quantity};

/// The findings of one face, in order along the weld.
pub fn findings(strip: &Strip, zones: &Zones, flaws: &[Flaw], range: &Evaluated) -> Vec<Finding> {
    let mut all: Vec<(f64, Finding)> = Vec::new();
    for zone in &zones.zones {
        all.push((
            zone.start_mm(&zones.cells.grid()),
            of_zone(strip, zones, zone, range),
        ));
    }
    for flaw in flaws {
        all.push((flaw.at.x, of_flaw(strip, flaw, range)));
    }
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    all.into_iter().map(|(_, finding)| finding).collect()
}

/// Outline in the photograph.
pub fn drawn(strip: &Strip, outline: &[Point<Straight>]) -> Vec<PlacePx> {
    outline.iter().map(|p| strip.to_px(*p).to_array()).collect()
}

fn quantity(value: f64, standard_uncertainty: f64) -> Option<Quantity> {
    Some(Quantity {
        value,
        expanded_uncertainty: 2.0 * standard_uncertainty,
    })
}

fn of_zone(strip: &Strip, zones: &Zones, zone: &Zone, range: &Evaluated) -> Finding {
    let grid = zones.cells.grid();
    let (kind, iso_6520) = match zone.kind {
        Kind::Root => ("lack-of-root-fusion", 4013),
        Kind::InterRun => ("lack-of-inter-run-fusion", 4012),
        Kind::Sidewall => ("lack-of-sidewall-fusion", 4011),
    };
    let place = |i: &usize| grid.centre(*i);
    let counted: Vec<usize> = zone
        .cells
        .iter()
        .copied()
        .filter(|i| range.contains(place(i).0))
        .collect();
    let shown = if counted.is_empty() {
        &zone.cells
    } else {
        &counted
    };
    let n = shown.len() as f64;
    let (s, h) = shown
        .iter()
        .map(place)
        .fold((0.0, 0.0), |a, p| (a.0 + p.0 / n, a.1 + p.1 / n));
    let mut finding = Finding {
        kind: kind.to_owned(),
        iso_6520,
        outline_px: drawn(strip, &zone.outline),
        centre_px: Some(strip.to_px(Point::new(s, h)).to_array()),
        offset_from_root_mm: Some(h),
        confidence: zone.confidence,
        ..Finding::default()
    };
    let side = grid.side_mm;
    let column = |i: &usize| *i % grid.columns;
    let (first, last) = (
        shown.iter().map(column).min().unwrap_or(0),
        shown.iter().map(column).max().unwrap_or(0),
    );
    finding.start_mm = Some(first as f64 * side);
    finding.end_mm = Some((last + 1) as f64 * side);
    if counted.is_empty() {
        return finding;
    }
    let scale = strip.scale_rel();
    let length = (last + 1 - first) as f64 * side;
    let area = n * side * side;
    let mut extents = vec![0usize; last + 1 - first];
    let mut highest = 0.0f64;
    for i in shown {
        extents[column(i) - first] += 1;
        highest = highest.max(place(i).1 + 0.5 * side);
    }
    let extent = extents.iter().max().copied().unwrap_or(0) as f64 * side;
    let (depth, edge) = match zone.kind {
        Kind::Root => (highest, EDGE_MM),
        Kind::InterRun => (extent, BORDER_MM),
        Kind::Sidewall => (extent, EDGE_MM),
    };
    let border = combined(&[BORDER_MM, edge]);
    let end = END_MM * std::f64::consts::SQRT_2;
    finding.length_mm = quantity(length, combined(&[scale * length, end]));
    finding.depth_max_mm = quantity(depth, combined(&[scale * depth, border]));
    let mean = area / length;
    finding.depth_mean_mm = quantity(mean, combined(&[scale * mean, border]));
    finding.area_mm2 = quantity(
        area,
        combined(&[2.0 * scale * area, border * length, end * mean]),
    );
    finding
}

fn of_flaw(strip: &Strip, flaw: &Flaw, range: &Evaluated) -> Finding {
    let (kind, iso_6520) = match flaw.kind {
        FlawKind::Pore => ("pore", 2011),
        FlawKind::Wormhole => ("wormhole", 2016),
        FlawKind::Inclusion => ("inclusion", 300),
    };
    let mut finding = Finding {
        kind: kind.to_owned(),
        iso_6520,
        at_mm: Some(flaw.at.x),
        offset_from_root_mm: Some(flaw.at.y),
        outline_px: drawn(strip, &flaw.outline),
        centre_px: Some(strip.to_px(flaw.at).to_array()),
        confidence: flaw.confidence,
        ..Finding::default()
    };
    if range.contains(flaw.at.x) {
        let scale = strip.scale_rel();
        let (d, a) = (flaw.greatest_mm, flaw.area_mm2);
        finding.greatest_dimension_mm = quantity(d, combined(&[scale * d, flaw.outline_mm]));
        finding.area_mm2 = quantity(
            a,
            combined(&[2.0 * scale * a, 2.0 * a / d.max(0.1) * flaw.outline_mm]),
        );
    }
    finding
}
