//! Whether numerals stand where a reading says whole units are.
//!
//! Inch fractions repeat by doubling: an edge in 1/32 inch whose half-inch and
//! inch ticks are equally long looks like one in 1/16 inch. Only the numerals
//! tell them apart: they stand at every whole inch and nowhere else.

use super::graduation::Reading;
use super::ticks::{Edge, Tick};
use crate::base::numeric::{median, quantile};
use crate::base::raster::Gray;

/// Ink beside a tick that counts as a numeral: this many times what stands
/// half way between numerals, and at least this share of the field.
const RATIO: f64 = 2.0;
const LEAST: f64 = 0.008;

/// Whether ink stands at nearly all ticks that `reading` takes for whole
/// inches, and not at the halves.
pub fn confirm(gray: &Gray, edge: &Edge, reading: &Reading) -> bool {
    let cycle = reading.graduation.cycle();
    let at = |offset: i32| -> Vec<&Tick> {
        edge.ticks
            .iter()
            .filter(|t| (t.index - reading.phase - offset).rem_euclid(cycle) == 0)
            .collect()
    };
    let (whole, half) = (at(0), at(cycle / 2));
    if whole.is_empty() || half.is_empty() {
        return false;
    }
    let longest = median(
        &whole
            .iter()
            .map(|t| t.foot.distance(t.tip))
            .collect::<Vec<_>>(),
    );
    let reach = 0.16 * f64::from(cycle) * edge.pitch_px;
    let ink = |ticks: &[&Tick]| -> Vec<f64> {
        ticks
            .iter()
            .filter_map(|t| share_of_ink(gray, edge, t, longest, reach))
            .collect()
    };
    let (whole, half) = (ink(&whole), ink(&half));
    if whole.is_empty() || half.is_empty() {
        return false;
    }
    let blank = median(&half);
    let inked = whole
        .iter()
        .filter(|w| **w > LEAST && **w > RATIO * blank)
        .count();
    inked * 4 >= whole.len() * 3
}

/// Share of dark samples in the field around and beyond a tick's free end, the
/// tick's own stroke left out; `None` where the field leaves the picture.
fn share_of_ink(gray: &Gray, edge: &Edge, tick: &Tick, longest: f64, reach: f64) -> Option<f64> {
    let along = edge.baseline.direction;
    let up = edge.baseline.normal();
    let stroke = 0.5 * edge.pitch_px;
    let mut field = Vec::new();
    for i in -12i32..=12 {
        let u = reach * f64::from(i) / 12.0;
        if u.abs() < stroke {
            continue;
        }
        for j in 0..24 {
            let v = longest * (0.75 + 1.1 * f64::from(j) / 23.0);
            let p = tick.foot + along * u + up * v;
            if gray.covers(p.x, p.y) {
                field.push(f64::from(gray.sample(p.x, p.y)));
            }
        }
    }
    if field.len() < 250 {
        return None;
    }
    let ground = quantile(&field, 0.6);
    let dark = field.iter().filter(|v| **v < 0.75 * ground - 4.0).count();
    Some(dark as f64 / field.len() as f64)
}
