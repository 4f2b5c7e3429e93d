//! The outline of a rule around its graduated edge.
//!
//! Where nothing else tells, the rule ends where its tone, as it is beyond the
//! ticks, gives way for good to another; how much of a change counts is judged
//! by how much the rule differs from what lies before its graduated edge.

use super::ticks::Edge;
use crate::base::geometry::{Line, Point, Px};
use crate::base::numeric::{median, quantile};
use crate::base::raster::Gray;

/// Widest rule looked for, mm.
const WIDEST_MM: f64 = 60.0;
/// Stretches of the rule in which its far edge is looked for.
const STRETCHES: usize = 7;
/// A rule that differs from the bench by less, grey levels, does not show its
/// end by its tone.
const PLAIN: f64 = 15.0;
/// Share of that difference that a change of tone must have, and at least, grey
/// levels.
const CHANGE: f64 = 0.3;
const LEAST_CHANGE: f64 = 10.0;
/// How long a change must last, and how much before it is compared, mm.
const LASTING_MM: f64 = 1.0;
const BEFORE_MM: f64 = 3.0;

/// Outline of the rule that `edge` belongs to, four corners, possibly outside
/// the picture. `px_per_mm` is the scale along it, `others` the graduated edges
/// found beside it: the rule's other edge, where it is one of them, is its far
/// side.
pub fn outline(gray: &Gray, edge: &Edge, px_per_mm: f64, others: &[&Edge]) -> Vec<Point<Px>> {
    let rule = Rule::new(gray, edge, px_per_mm);
    let far = others
        .iter()
        .find_map(|o| rule.opposite(o))
        .or_else(|| rule.far_edge());
    let (start, end) = (rule.end(rule.from, -1.0), rule.end(rule.to, 1.0));
    // A margin for the edge's own blur and the rule's visible side.
    let margin = 0.3 * px_per_mm;
    let far_at = |u: f64| match &far {
        Some(line) => {
            let across = Line::new(rule.base.at(u), rule.base.normal());
            let width = line.crossing(&across).map_or(0.0, |p| across.along(p));
            rule.at(u, width + margin)
        }
        None => rule.at(u, 1.8 * rule.longest),
    };
    vec![
        rule.at(start, -margin),
        rule.at(end, -margin),
        far_at(end),
        far_at(start),
    ]
}

/// A graduated edge and the tones about it.
struct Rule<'a> {
    gray: &'a Gray,
    base: Line<Px>,
    /// Outermost ticks, along the base.
    from: f64,
    to: f64,
    longest: f64,
    px_per_mm: f64,
    /// Difference between the rule and what lies before its edge, grey levels.
    stands_out: f64,
}

impl<'a> Rule<'a> {
    fn new(gray: &'a Gray, edge: &Edge, px_per_mm: f64) -> Self {
        let base = edge.baseline;
        let lengths: Vec<f64> = edge.ticks.iter().map(|t| t.length_px()).collect();
        let mut rule = Self {
            gray,
            base,
            from: base.along(edge.ticks[0].foot),
            to: base.along(edge.ticks[edge.ticks.len() - 1].foot),
            longest: quantile(&lengths, 0.95),
            px_per_mm,
            stands_out: 0.0,
        };
        let tone = |v: f64| {
            let places = (0..40).filter_map(|i| {
                let u = rule.from + (rule.to - rule.from) * (f64::from(i) + 0.5) / 40.0;
                rule.tone(u, v)
            });
            let tones: Vec<f64> = places.collect();
            (tones.len() >= 10).then(|| median(&tones))
        };
        let (inside, outside) = (tone(1.2 * rule.longest), tone(-1.5 * px_per_mm));
        if let (Some(a), Some(b)) = (inside, outside) {
            rule.stands_out = (a - b).abs();
        }
        rule
    }

    fn at(&self, u: f64, v: f64) -> Point<Px> {
        self.base.at(u) + self.base.normal() * v
    }

    fn tone(&self, u: f64, v: f64) -> Option<f64> {
        let p = self.at(u, v);
        self.gray
            .covers(p.x, p.y)
            .then(|| f64::from(self.gray.sample(p.x, p.y)))
    }

    /// The base of `other`, when its ticks stand towards this edge's from across
    /// the rule.
    fn opposite(&self, other: &Edge) -> Option<Line<Px>> {
        let facing = other.baseline.normal().dot(self.base.normal()) < -0.9;
        let width = self.base.signed_distance(other.centre());
        (facing && width > self.longest && width < WIDEST_MM * self.px_per_mm)
            .then_some(other.baseline)
    }

    /// The rule's other long edge: in several stretches where its tone ends,
    /// then a straight line through those places.
    fn far_edge(&self) -> Option<Line<Px>> {
        let step = (0.1 * self.px_per_mm).max(1.0);
        let beyond = 1.3 * self.longest;
        let rows = ((WIDEST_MM * self.px_per_mm - beyond) / step) as usize;
        let mut places = Vec::new();
        for s in 0..STRETCHES {
            let length = (self.to - self.from) / STRETCHES as f64;
            let middle = self.from + length * (s as f64 + 0.5);
            let mut values = Vec::with_capacity(rows);
            for r in 0..rows {
                let v = beyond + r as f64 * step;
                if self.tone(middle, v).is_none() {
                    break;
                }
                // The median across a stretch is blind to numerals and ticks.
                let row: Vec<f64> = (0..15)
                    .filter_map(|k| self.tone(middle + 0.35 * length * (k as f64 / 7.0 - 1.0), v))
                    .collect();
                values.push(median(&row));
            }
            if let Some(k) = self.change(&values, step, 0) {
                places.push(self.at(middle, beyond + k as f64 * step));
            }
        }
        if places.len() < 4 {
            return None;
        }
        let (line, _) = Line::fit_robust(&places, 2.0 * step)?;
        // A rule's edges are parallel but for perspective.
        (line.direction.cross(self.base.direction).abs() < 0.05).then_some(line)
    }

    /// Where the rule ends beyond the tick at `last`, along the base.
    fn end(&self, last: f64, sense: f64) -> f64 {
        let step = (0.1 * self.px_per_mm).max(1.0);
        let plain = self.stands_out < PLAIN;
        // What the rule looks like is known up to its last tick; where it is told
        // by its tone the look begins there, as it may end right behind.
        let known = if plain {
            0
        } else {
            (BEFORE_MM * self.px_per_mm / step) as usize
        };
        // Leave out the last tick itself.
        let skip = known + (0.4 * self.px_per_mm / step) as usize;
        let place = |k: usize| last + sense * (k as f64 - known as f64) * step;
        let mut values = Vec::new();
        loop {
            let u = place(values.len());
            if self.tone(u, 0.5 * self.longest).is_none() {
                // The rule leaves the picture.
                if self.change(&values, step, skip).is_none() {
                    return u + sense * self.px_per_mm;
                }
                break;
            }
            if plain && values.len() as f64 * step > 20.0 * self.px_per_mm {
                break;
            }
            let column: Vec<f64> = (0..13)
                .filter_map(|i| self.tone(u, self.longest * (0.1 + 0.12 * f64::from(i))))
                .collect();
            values.push(median(&column));
        }
        match self.change(&values, step, skip) {
            Some(k) => place(k) + sense * 0.2 * self.px_per_mm,
            None => last + sense * 2.0 * self.px_per_mm,
        }
    }

    /// Index of the first lasting change from `from` on among tones `step` px apart.
    fn change(&self, values: &[f64], step: f64, from: usize) -> Option<usize> {
        if self.stands_out < PLAIN {
            let from = from.min(values.len());
            return first_step(&values[from..]).map(|k| k + from);
        }
        let need = (CHANGE * self.stands_out).max(LEAST_CHANGE);
        let count = |mm: f64| ((mm * self.px_per_mm / step) as usize).max(3);
        let (after, before) = (count(LASTING_MM), count(BEFORE_MM));
        let first = (from.max(after)..values.len().saturating_sub(after)).find(|&k| {
            let old = median(&values[k.saturating_sub(before)..k]);
            let changed = |v: &&f64| (**v - old).abs() > need;
            let new = &values[k..k + after];
            new.iter().filter(changed).count() * 5 >= new.len() * 4
        })?;
        Some(first)
    }
}

/// Index of the first step of level that stands out of the noise.
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
