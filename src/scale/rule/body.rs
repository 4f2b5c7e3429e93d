//! The outline of a rule around its graduated edge.

use super::ticks::Edge;
use crate::base::geometry::{Line, Point, Px};
use crate::base::numeric::{median, quantile};
use crate::base::raster::Gray;

/// Widest rule looked for, mm.
const WIDEST_MM: f64 = 60.0;
/// Stretches of the rule in which its far edge is looked for.
const STRETCHES: usize = 7;

/// Outline of the rule that `edge` belongs to, four corners, possibly outside
/// the picture. `px_per_mm` is the scale along it.
pub fn outline(gray: &Gray, edge: &Edge, px_per_mm: f64) -> Vec<Point<Px>> {
    let base = &edge.baseline;
    let (from, to) = (
        base.along(edge.ticks[0].foot),
        base.along(edge.ticks[edge.ticks.len() - 1].foot),
    );
    let longest = quantile(
        &edge
            .ticks
            .iter()
            .map(|t| t.foot.distance(t.tip))
            .collect::<Vec<_>>(),
        0.95,
    );
    let far = far_edge(gray, base, from, to, 1.3 * longest, px_per_mm);
    let (start, end) = (
        rule_end(gray, base, from, -1.0, longest, px_per_mm),
        rule_end(gray, base, to, 1.0, longest, px_per_mm),
    );
    // A margin for the edge's own blur and the rule's visible side.
    let margin = 0.3 * px_per_mm;
    let normal = base.normal();
    let at = |u: f64, v: f64| base.at(u) + normal * v;
    let far_at = |u: f64| match &far {
        Some(line) => {
            let across = Line::new(base.at(u), normal);
            let width = line.crossing(&across).map_or(0.0, |p| across.along(p));
            at(u, width + margin)
        }
        None => at(u, 1.8 * longest),
    };
    vec![
        at(start, -margin),
        at(end, -margin),
        far_at(end),
        far_at(start),
    ]
}

/// The rule's other long edge: in several stretches the first strong step of
/// brightness beyond the ticks, then a straight line through those places.
fn far_edge(
    gray: &Gray,
    base: &Line<Px>,
    from: f64,
    to: f64,
    beyond: f64,
    px_per_mm: f64,
) -> Option<Line<Px>> {
    let step = (0.1 * px_per_mm).max(1.0);
    let rows = ((WIDEST_MM * px_per_mm - beyond) / step) as usize;
    let normal = base.normal();
    let mut places = Vec::new();
    for s in 0..STRETCHES {
        let middle = from + (to - from) * (s as f64 + 0.5) / STRETCHES as f64;
        let half = 0.35 * (to - from) / STRETCHES as f64;
        let mut values = Vec::with_capacity(rows);
        for r in 0..rows {
            let v = beyond + r as f64 * step;
            let p = base.at(middle) + normal * v;
            if !gray.covers(p.x, p.y) {
                break;
            }
            // The median across a stretch is blind to numerals and ticks.
            let row: Vec<f64> = (0..15)
                .map(|k| {
                    let q = base.at(middle + half * (k as f64 / 7.0 - 1.0)) + normal * v;
                    f64::from(gray.sample(q.x, q.y))
                })
                .collect();
            values.push(median(&row));
        }
        if let Some(k) = first_step(&values) {
            places.push(base.at(middle) + normal * (beyond + k as f64 * step));
        }
    }
    if places.len() < 4 {
        return None;
    }
    let (line, _) = Line::fit_robust(&places, 2.0 * step)?;
    // A rule's edges are parallel but for perspective.
    (line.direction.cross(base.direction).abs() < 0.05).then_some(line)
}

/// Where the rule ends beyond the last tick at `last`, along the baseline.
fn rule_end(
    gray: &Gray,
    base: &Line<Px>,
    last: f64,
    sense: f64,
    depth: f64,
    px_per_mm: f64,
) -> f64 {
    let step = (0.1 * px_per_mm).max(1.0);
    let normal = base.normal();
    let mut values = Vec::new();
    let limit = (20.0 * px_per_mm / step) as usize;
    for k in 0..limit {
        let u = last + sense * k as f64 * step;
        let middle = base.at(u) + normal * (0.5 * depth);
        if !gray.covers(middle.x, middle.y) {
            // The rule leaves the picture.
            return u + sense * px_per_mm;
        }
        let column: Vec<f64> = (0..11)
            .map(|i| {
                let p = base.at(u) + normal * (depth * (0.1 + 0.12 * f64::from(i)));
                f64::from(gray.sample(p.x, p.y))
            })
            .collect();
        values.push(median(&column));
    }
    // Leave out the last tick itself.
    let skip = ((0.4 * px_per_mm / step) as usize).min(values.len());
    match first_step(&values[skip..]) {
        Some(k) => last + sense * ((k + skip) as f64 * step + 0.2 * px_per_mm),
        None => last + sense * 2.0 * px_per_mm,
    }
}

/// Index of the first lasting change of level that stands out; `None` when nothing stands out of the noise.
fn first_step(values: &[f64]) -> Option<usize> {
    let half = 4;
    if values.len() < 3 * half {
        return None;
    }
    let steps: Vec<f64> = (half..values.len() - half)
        .map(|i| (median(&values[i..i + half]) - median(&values[i - half..i])).abs())
        .collect();
    let noise = quantile(&steps, 0.5);
    let strongest = steps.iter().copied().fold(0.0, f64::max);
    if strongest < (5.0 * noise).max(8.0) {
        return None;
    }
    // The nearest step that stands out, not the strongest: beyond a light rule
    // on a light bench a specimen's edge is stronger than the rule's own.
    let floor = (5.0 * noise).max(8.0).max(0.15 * strongest);
    let first = steps.iter().position(|s| *s > floor)?;
    // On to the top of that step.
    let top = (first..steps.len().min(first + 2 * half))
        .max_by(|a, b| steps[*a].total_cmp(&steps[*b]))?;
    Some(top + half)
}
