//! Short imperfections along a fracture face: their length in the worst stretch.
//!
//! A section cannot show how long something is along the weld; a fracture face
//! can, because every finding has its start and its end.

use super::conformity;
use super::nominal::{Uncertain, measured};
use super::profile::LengthUnit;
use super::row::Source;
use super::wording::Scale;
use crate::record::{Finding, Kind, Measurement};
use serde::Deserialize;
use std::collections::BTreeMap;

/// What counts as short, in the profile's unit.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Short {
    /// Stretch of weld that is looked at.
    pub window: f64,
    /// Greatest length of all such imperfections together in any such stretch.
    pub at_most: f64,
    /// Of a weld shorter than the stretch: greatest share of its length.
    pub share: f64,
    /// Where the values come from.
    pub source: Source,
}

impl Short {
    /// What is wrong with it in a profile for `kind`, if anything.
    pub(super) fn fault(&self, kind: Kind) -> Option<String> {
        let numbers = [self.window, self.at_most, self.share];
        if kind != Kind::Fracture {
            return Some("[short] is for `kind = \"fracture\"` only".to_owned());
        }
        numbers
            .iter()
            .any(|number| !(number.is_finite() && *number > 0.0))
            .then(|| "the numbers of [short] must be above 0".to_owned())
    }

    /// Probability that the findings together are short, and the comparison in
    /// words.
    ///
    /// # Errors
    /// What is not known, in words.
    pub(super) fn keeps(
        &self,
        findings: &[&Finding],
        measurements: &BTreeMap<String, Measurement>,
        unit: LengthUnit,
    ) -> Result<(f64, String), String> {
        let weld = measured(measurements, "evaluated_length_mm")
            .map_err(|why| format!("the length of weld looked at is not known: {why}"))?;
        let weld = unit.from_mm(weld.value);
        let mut spans = Vec::new();
        let mut u = 0.0;
        for finding in findings {
            let (Some(start), Some(end)) = (finding.start_mm, finding.end_mm) else {
                return Err("where it begins and ends along the weld is not known".to_owned());
            };
            spans.push((unit.from_mm(start), unit.from_mm(end)));
            // Ends are uncertain together (one scale, one light): added as they are.
            u += finding.length_mm.map_or(0.0, |length| {
                unit.from_mm(length.expanded_uncertainty) / 2.0
            });
        }
        let found = Uncertain {
            value: longest_in_window(&spans, self.window),
            u,
        };
        let (allowed, stretch) = if weld >= self.window {
            (
                self.at_most,
                format!("the worst {} {}", self.window, unit.sign()),
            )
        } else {
            (self.share * weld, "the whole length looked at".to_owned())
        };
        let scale = Scale::length(unit);
        Ok((
            conformity::at_most(found.value, found.u, allowed),
            format!(
                "along the weld it is {} in {stretch}, where up to {} count as short",
                scale.with_uncertainty(found.value, found.u),
                scale.limit(allowed)
            ),
        ))
    }
}

/// Greatest total length of `spans` inside any stretch of length `window`;
/// spans that overlap count once, ends may come in either order.
///
/// The total changes linearly while the stretch moves between span ends, so
/// its greatest value is met with the stretch beginning at a span's start or
/// ending at a span's end.
fn longest_in_window(spans: &[(f64, f64)], window: f64) -> f64 {
    let mut sorted: Vec<(f64, f64)> = spans
        .iter()
        .map(|&(a, b)| (a.min(b), a.max(b)))
        .filter(|(a, b)| a.is_finite() && b.is_finite())
        .collect();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut merged: Vec<(f64, f64)> = Vec::new();
    for (start, end) in sorted {
        match merged.last_mut() {
            Some(last) if start <= last.1 => last.1 = last.1.max(end),
            _ => merged.push((start, end)),
        }
    }
    let inside = |from: f64| -> f64 {
        merged
            .iter()
            .map(|(start, end)| (end.min(from + window) - start.max(from)).max(0.0))
            .sum()
    };
    merged
        .iter()
        .flat_map(|(start, end)| [*start, end - window])
        .map(inside)
        .fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_worst_stretch_is_found() {
        for (spans, total) in [
            (&[][..], 0.0),
            (&[(10.0, 24.0)], 14.0),
            (&[(24.0, 10.0)], 14.0),
            // Both fit into 100 mm; overlaps count once.
            (&[(0.0, 10.0), (90.0, 100.0)], 20.0),
            (&[(0.0, 10.0), (5.0, 12.0)], 12.0),
            // 110 mm from end to end: wherever the stretch lies, 10 mm are left out.
            (&[(0.0, 10.0), (95.0, 110.0)], 15.0),
            // Three of 10 mm; only two fit into any 100 mm, and half of the third.
            (&[(0.0, 10.0), (55.0, 65.0), (95.0, 105.0)], 25.0),
            (&[(0.0, 150.0)], 100.0),
        ] {
            assert_eq!(longest_in_window(spans, 100.0), total, "{spans:?}");
        }
    }

    /// Against every stretch on a fine grid.
    #[test]
    fn no_stretch_holds_more() {
        let spans = [(3.0, 9.5), (31.25, 40.0), (77.0, 101.5), (118.0, 119.0)];
        let best = longest_in_window(&spans, 60.0);
        let grid = (-100..200)
            .map(|i| f64::from(i) * 0.75)
            .map(|from| -> f64 {
                spans
                    .iter()
                    .map(|(a, b)| (b.min(from + 60.0) - a.max(from)).max(0.0))
                    .sum()
            })
            .fold(0.0, f64::max);
        assert!(best >= grid && best - grid < 0.8, "{best} {grid}");
    }
}
