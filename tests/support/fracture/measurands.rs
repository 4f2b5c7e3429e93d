//! What the record would hold of the painted coupon, from its geometry alone.

use super::coupon::{Coupon, STEP, samples};
use crate::support::section::shapes::*;
use std::collections::BTreeMap;

/// Figures by record name; mm, mm², per cent. The whole length is evaluated.
pub fn measurands(c: &Coupon) -> BTreeMap<String, f64> {
    let evaluated = c.spec.length;
    let face = area(&c.face(STEP));
    let roots = c.stretches(|s| c.root_gap(s));
    let walls = c.stretches(|s| c.wall(s));
    let runs = merged(c.patches.iter().map(|ring| reach(ring)).collect());
    let total = |spans: &[[f64; 2]]| spans.iter().map(|[a, b]| b - a).sum::<f64>();
    let sum_area = |zones: &[Vec<P>]| zones.iter().map(|z| area(z)).sum::<f64>();
    let root_area = sum_area(&c.root_zones(STEP));
    let wall_area = sum_area(&c.wall_zones(STEP));
    let run_area = sum_area(&c.patches);
    let flaws: Vec<f64> = c
        .spec
        .pores
        .iter()
        .map(|p| p.diameter)
        .chain(c.inclusions.iter().map(|ring| greatest(ring)))
        .collect();
    let largest = |of: &[f64]| of.iter().copied().fold(0.0, f64::max);
    let lengths: Vec<f64> = roots.iter().map(|[a, b]| b - a).collect();
    let depths: Vec<f64> = samples(0.0, evaluated, STEP)
        .into_iter()
        .map(|s| c.root_gap(s))
        .collect();
    [
        ("evaluated_length_mm", evaluated),
        ("face_area_mm2", face),
        ("root_unfused_length_mm", total(&roots)),
        ("root_unfused_percent", 100.0 * total(&roots) / evaluated),
        ("root_unfused_longest_mm", largest(&lengths)),
        ("root_unfused_depth_max_mm", largest(&depths)),
        ("root_unfused_area_mm2", root_area),
        ("inter_run_unfused_length_mm", total(&runs)),
        (
            "inter_run_unfused_percent",
            100.0 * total(&runs) / evaluated,
        ),
        ("inter_run_unfused_area_mm2", run_area),
        ("sidewall_unfused_length_mm", total(&walls)),
        (
            "sidewall_unfused_percent",
            100.0 * total(&walls) / evaluated,
        ),
        ("sidewall_unfused_area_mm2", wall_area),
        ("flaw_sum_mm", flaws.iter().sum()),
        ("flaw_largest_mm", largest(&flaws)),
        ("flaw_count", flaws.len() as f64),
        (
            "unfused_area_percent",
            100.0 * (root_area + wall_area + run_area) / face,
        ),
    ]
    .into_iter()
    // An empty sum is −0.
    .map(|(name, v)| (name.to_owned(), v + 0.0))
    .collect()
}

/// Extent of a ring along the weld.
fn reach(ring: &[P]) -> [f64; 2] {
    ring.iter()
        .fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], p| {
            [a.min(p[0]), b.max(p[0])]
        })
}

fn merged(mut spans: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    spans.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let mut kept: Vec<[f64; 2]> = Vec::new();
    for span in spans {
        match kept.last_mut() {
            Some(last) if span[0] <= last[1] => last[1] = last[1].max(span[1]),
            _ => kept.push(span),
        }
    }
    kept
}

/// Largest distance between two points of a ring.
pub fn greatest(ring: &[P]) -> f64 {
    let from = |p: &P| ring.iter().map(|q| length(sub(*p, *q))).fold(0.0, f64::max);
    ring.iter().map(from).fold(0.0, f64::max)
}
