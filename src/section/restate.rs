//! The uncertainty of every number, by trials through the very functions that
//! compute the numbers (JCGM 101:2008), and what it is made of: one part after the
//! other moved by one standard uncertainty (JCGM 100:2008, 5.1.3, note 2).

use super::doubts::{Doubts, Part, Varied, parts};
use super::measurands;
use super::tracing::Tracing;
use crate::base::uncertainty::{Plan, Spread, normals, run};
use crate::record::{BudgetShare, Measurement};
use crate::scale::Scale;
use std::collections::BTreeMap;

/// Standard deviations known to a tenth are known well enough: nobody states three
/// digits of an uncertainty.
const PLAN: Plan = Plan {
    block: 150,
    most: 8,
    tolerance: 0.1,
};
/// The number that the trials do not move.
const FIXED: &str = "pass_count";
/// Parts below this share of the variance are not listed.
const LEAST_SHARE: f64 = 0.005;

/// Restates the uncertainty of every number in `measurements` that comes from the
/// traced outlines; where nearly no trial leaves a joint, the first estimate stands.
/// `seed` makes the trials the same whenever the photograph is.
pub fn restate(
    tracing: &Tracing,
    scale: &Scale,
    size_px: (usize, usize),
    gap_mm: f64,
    seed: u64,
    measurements: &mut BTreeMap<String, Measurement>,
) {
    let stated: Vec<(String, f64)> = measurements
        .iter()
        .filter(|(name, _)| *name != FIXED)
        .filter_map(|(name, m)| Some((name.clone(), m.value?)))
        .collect();
    let doubts = Doubts::new(tracing, scale, size_px);
    let outline_mm = tracing.outline_mm;
    let values = |z: &[f64]| -> Option<Vec<f64>> {
        let varied = doubts.at(z)?;
        let found = numbers(&varied, scale, outline_mm, gap_mm);
        stated
            .iter()
            .map(|(name, _)| found.get(name)?.value)
            .collect()
    };
    let parts = parts();
    let rows = run(PLAN, |trial| values(&normals(seed, trial, parts.len())));
    let budget = budget(&parts, stated.len(), &values);
    for (c, (name, value)) in stated.iter().enumerate() {
        let mut column: Vec<f64> = rows.iter().map(|row| row[c]).collect();
        let Some(spread) = Spread::of(&mut column, *value) else {
            continue;
        };
        let power = match name.rsplit('_').next() {
            Some("mm") => 1.0,
            Some("mm2") => 2.0,
            _ => 0.0,
        };
        let scale_share = power * scale.standard_uncertainty_rel * value;
        let [low, high] = spread.interval;
        let below = (value - low).max(0.0).hypot(2.0 * scale_share);
        let above = (high - value).max(0.0).hypot(2.0 * scale_share);
        if let Some(measurement) = measurements.get_mut(name) {
            let half = below.max(above).max(2.0 * spread.about.hypot(scale_share));
            measurement.expanded_uncertainty = Some(half);
            measurement.standard_uncertainty = Some(0.5 * half);
            measurement.shortest_interval = Some([value - below, value + above]);
            measurement.budget = shares(&budget, c, scale_share);
        }
    }
}

/// The numbers of a section as a trial has it.
fn numbers(
    varied: &Varied,
    scale: &Scale,
    outline_mm: f64,
    gap_mm: f64,
) -> BTreeMap<String, Measurement> {
    measurands::measure(
        &measurands::Traced {
            frame: &varied.frame,
            toes: &varied.toes,
            fusion: varied.fusion.as_ref().ok_or(""),
            gap_mm,
            passes: None,
            outline_mm,
            root_mm: 0.0,
            fusion_mm: 0.0,
        },
        scale,
    )
}

/// Variance of every quantity by part.
fn budget(
    parts: &[Part],
    quantities: usize,
    values: &dyn Fn(&[f64]) -> Option<Vec<f64>>,
) -> BTreeMap<Part, Vec<f64>> {
    let mut budget: BTreeMap<Part, Vec<f64>> = BTreeMap::new();
    for (i, part) in parts.iter().enumerate() {
        let at = |z: f64| {
            let mut inputs = vec![0.0; parts.len()];
            inputs[i] = z;
            values(&inputs)
        };
        let (Some(up), Some(down)) = (at(1.0), at(-1.0)) else {
            continue;
        };
        let own = budget.entry(*part).or_insert_with(|| vec![0.0; quantities]);
        for ((own, up), down) in own.iter_mut().zip(up).zip(down) {
            *own += (0.5 * (up - down)).powi(2);
        }
    }
    budget
}

/// Shares of one quantity's variance, the largest first.
fn shares(budget: &BTreeMap<Part, Vec<f64>>, c: usize, scale_share: f64) -> Vec<BudgetShare> {
    let mut parts: Vec<(&str, f64)> = budget
        .iter()
        .map(|(part, variances)| (name_of(*part), variances[c]))
        .collect();
    parts.push(("scale", scale_share.powi(2)));
    let all: f64 = parts.iter().map(|p| p.1).sum();
    if all <= 0.0 {
        return Vec::new();
    }
    parts.sort_by(|a, b| b.1.total_cmp(&a.1));
    parts
        .into_iter()
        .filter(|p| p.1 >= LEAST_SHARE * all)
        .map(|(part, variance)| BudgetShare {
            part: part.to_owned(),
            share: variance / all,
        })
        .collect()
}

fn name_of(part: Part) -> &'static str {
    match part {
        Part::Tilt => "tilt",
        Part::Lens => "lens",
        Part::Surfaces => "surfaces",
        Part::Outline => "outline",
        Part::Fusion => "fusion-boundary",
    }
}
