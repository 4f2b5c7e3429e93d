//! Dark lines: how much darker each place is than both of its sides, over all
//! directions and a few widths.
//!
//! The darker side counts: beside an edge one side is as dark as the place
//! itself, so a step gives nothing and only a line does.

use super::patch::Patch;
use crate::base::raster::{Gray, gaussian_blur};
use rayon::prelude::*;
use std::f64::consts::PI;

/// Directions tried: a straight line of 0.7 mm stays within 0.03 mm of the nearest.
const DIRECTIONS: usize = 16;
/// Standard deviation of the mean along the line, mm.
const ALONG_MM: f64 = 0.13;
/// Widths looked for, mm; those below 1.5 samples are one.
const WIDTHS_MM: [f64; 4] = [0.04, 0.08, 0.16, 0.3];
/// Lightness added to both sides of the comparison, grey levels: below this a
/// picture is noise.
const FLOOR: f32 = 6.0;

/// The best line through each place.
pub struct Ridges {
    /// Share of the light that is missing, 0 … 1.
    pub depth: Gray,
    /// Direction, radians in the patch's own axes, 0 … π.
    pub direction: Vec<f32>,
}

/// Looks for lines everywhere.
pub fn find(patch: &Patch) -> Ridges {
    let (w, h) = (patch.width(), patch.height());
    let step = patch.step_mm;
    let mut widths: Vec<f64> = Vec::new();
    for width in WIDTHS_MM {
        let samples = (width / step).max(1.5);
        if widths.last().is_none_or(|last| samples > 1.3 * last) {
            widths.push(samples);
        }
    }
    let smooth = gaussian_blur(&patch.luma, 0.6);
    let candidates: Vec<Vec<f32>> = (0..DIRECTIONS)
        .into_par_iter()
        .map(|d| {
            let angle = PI * d as f64 / DIRECTIONS as f64;
            one_direction(&smooth, angle, ALONG_MM / step, &widths)
        })
        .collect();
    let mut depth = vec![0.0f32; w * h];
    let mut direction = vec![0.0f32; w * h];
    for (d, responses) in candidates.iter().enumerate() {
        let angle = (PI * d as f64 / DIRECTIONS as f64) as f32;
        for (i, &r) in responses.iter().enumerate() {
            if r > depth[i] {
                depth[i] = r;
                direction[i] = angle;
            }
        }
    }
    Ridges {
        depth: Gray::new(w, h, depth),
        direction,
    }
}

fn one_direction(smooth: &Gray, angle: f64, sigma: f64, widths: &[f64]) -> Vec<f32> {
    let (w, h) = (smooth.width(), smooth.height());
    let (sin, cos) = angle.sin_cos();
    // Every other sample along the line is enough: `smooth` is.
    let stride = if sigma > 3.0 { 2.0 } else { 1.0 };
    let half = (2.2 * sigma / stride).ceil() as i64;
    let taps: Vec<(f64, f64)> = (-half..=half)
        .map(|k| {
            let t = k as f64 * stride;
            (t, (-0.5 * (t / sigma).powi(2)).exp())
        })
        .collect();
    let total: f64 = taps.iter().map(|t| t.1).sum();
    let mut mean = vec![0.0f32; w * h];
    for (t, weight) in &taps {
        let shift = ((t * cos).round() as i64, (t * sin).round() as i64);
        add_shifted(
            &mut mean,
            smooth.samples(),
            (w, h),
            shift,
            (weight / total) as f32,
        );
    }
    let mut best = vec![0.0f32; w * h];
    let across = |t: f64| ((-t * sin).round() as i64, (t * cos).round() as i64);
    for &width in widths {
        let average = |offsets: [f64; 3]| {
            let mut sum = vec![0.0f32; w * h];
            for t in offsets {
                add_shifted(&mut sum, &mean, (w, h), across(t), 1.0 / 3.0);
            }
            sum
        };
        let beside = [width, 1.25 * width + 1.0, 1.5 * width + 2.0];
        let (left, right) = (average(beside.map(|t| -t)), average(beside));
        let middle = average([-0.25 * width, 0.0, 0.25 * width]);
        for (b, ((l, r), m)) in best.iter_mut().zip(left.iter().zip(&right).zip(&middle)) {
            let side = l.min(*r) + FLOOR;
            *b = b.max(1.0 - (m + FLOOR) / side);
        }
    }
    best
}

/// Adds `weight` times the raster moved by `shift`; beyond its border the
/// nearest sample counts.
fn add_shifted(
    sum: &mut [f32],
    samples: &[f32],
    (w, h): (usize, usize),
    (dx, dy): (i64, i64),
    weight: f32,
) {
    for (y, out) in sum.chunks_exact_mut(w).enumerate() {
        let from = (y as i64 + dy).clamp(0, h as i64 - 1) as usize;
        let row = &samples[from * w..(from + 1) * w];
        let low = (-dx).clamp(0, w as i64) as usize;
        let high = (w as i64 - dx).clamp(0, w as i64) as usize;
        if low >= high {
            continue;
        }
        for o in &mut out[..low] {
            *o += weight * row[0];
        }
        let first = (low as i64 + dx) as usize;
        for (o, s) in out[low..high].iter_mut().zip(&row[first..]) {
            *o += weight * s;
        }
        for o in &mut out[high..] {
            *o += weight * row[w - 1];
        }
    }
}
