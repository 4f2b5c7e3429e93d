//! Where exactly a bar ends, and whether it is drawn at all.

use super::label::Label;
use super::patches::Patch;
use super::tone::{Ink, mean_along};
use crate::base::geometry::{Point, Px};
use crate::base::numeric::{median, quantile};
use crate::base::raster::Gray;

/// Largest spread of tone along a bar, and along the ground at both its sides,
/// grey levels, and as a share of the bar's contrast where that is more: a
/// drawing is even, a bench or a plate is not; sensor noise under a strong bar
/// is still no unevenness.
const EVEN: f64 = 12.0;
const EVEN_OF_CONTRAST: f64 = 0.1;
/// An end that rises from a fifth to four fifths within this many pixels was
/// drawn into the picture; a wider one went through a lens, whose blur has its
/// middle where the light, not the sample, is half.
const SHARP: f64 = 1.6;
/// Step of the search for an end, px.
const STEP: f64 = 0.25;
/// A label nearer to its bar, px, leaves no ground to look at between them.
const NEAR: f64 = 4.0;
/// Least contrast at the ends, grey levels.
const CONTRAST: f64 = 45.0;
/// The same for a stroke of pure black or white, and its largest spread of tone:
/// it has no noise of its own, and means over its width see little of the
/// ground's.
const PURE_CONTRAST: f64 = 8.0;
const PURE_SPREAD: f64 = 4.0;

/// By what a stroke was told from its ground.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cut {
    /// It stands out of the ground around it.
    OffGround,
    /// It is pure black or white, which only a drawing is.
    Pure,
}

impl Cut {
    fn least_contrast(self) -> f64 {
        match self {
            Self::OffGround => CONTRAST,
            Self::Pure => PURE_CONTRAST,
        }
    }
}

/// Whether the stroke is of one tone, and the ground along both its sides too.
///
/// Where the label is so near that it lies on that line, the ground is looked at
/// beside the label only. A pure stroke may cross grounds of any tone but its own.
pub fn is_drawn(gray: &Gray, bar: &Patch, label: &Label, cut: Cut) -> bool {
    let across = bar.axis.turned();
    let gap = label.clear - 0.5 * bar.width;
    let tones = |off: f64, share: f64| -> Vec<f64> {
        let under_label = off * label.side > 0.0 && gap < NEAR;
        (0..=60)
            .map(|i| 0.5 * bar.length * share * (f64::from(i) / 30.0 - 1.0))
            .filter(|t| !under_label || t.abs() > label.half_width + 4.0)
            .map(|t| {
                // Sensor noise is no unevenness: means over a few pixels.
                mean_along(gray, bar.centre + bar.axis * t + across * off, bar.axis, 4)
            })
            .collect()
    };
    let spread = |v: &[f64]| quantile(v, 0.9) - quantile(v, 0.1);
    let usual = 0.5 * bar.width.clamp(4.0, 12.0);
    let towards = |side: f64| {
        let free = if side == label.side && gap >= NEAR {
            usual.min(0.5 * gap)
        } else {
            usual
        };
        side * (0.5 * bar.width + free)
    };
    // Caps stand beside the stroke's ends; the means reach four pixels on.
    let share = (1.0 - 2.0 * (bar.cap + 5.0) / bar.length).clamp(0.2, 0.9);
    let stroke = tones(0.0, share);
    let grounds = [tones(towards(1.0), share), tones(towards(-1.0), share)];
    if cut == Cut::Pure {
        let own = median(&stroke);
        let clear = |g: &f64| (g - own).abs() >= PURE_CONTRAST;
        return spread(&stroke) < PURE_SPREAD && grounds.iter().flatten().all(clear);
    }
    let contrast = grounds
        .iter()
        .map(|g| (median(g) - median(&stroke)).abs())
        .fold(f64::INFINITY, f64::min);
    let limit = EVEN.max(EVEN_OF_CONTRAST * contrast);
    spread(&stroke) < limit && grounds.iter().all(|g| spread(g) < limit)
}

/// One end of the bar, `sense` 1 or −1 along its axis: where the light across the
/// stroke's middle half is half way between bar and ground, and how far apart
/// that is on the stroke's two sides, px. A cap belongs to the bar.
pub fn end(gray: &Gray, bar: &Patch, sense: f64, ink: Ink, cut: Cut) -> Option<(Point<Px>, f64)> {
    let places: Vec<f64> = [-0.25, -0.125, 0.0, 0.125, 0.25]
        .iter()
        .filter_map(|off| crossing(gray, bar, sense, ink, cut, off * bar.width))
        .collect();
    if places.len() < 4 {
        return None;
    }
    let at = median(&places);
    let spread = quantile(&places, 0.9) - quantile(&places, 0.1);
    Some((bar.centre + bar.axis * (sense * at), spread))
}

/// Where the stroke ends on a line `off` px beside its middle, px from its centre.
fn crossing(gray: &Gray, bar: &Patch, sense: f64, ink: Ink, cut: Cut, off: f64) -> Option<f64> {
    let across = bar.axis.turned();
    let tone = |t: f64| {
        let p = bar.centre + bar.axis * (sense * t) + across * off;
        mean_along(gray, p, across, 1)
    };
    let mean = |from: f64, to: f64| {
        (0..12)
            .map(|i| tone(from + (to - from) * f64::from(i) / 11.0))
            .sum::<f64>()
            / 12.0
    };
    let reach = 0.5 * bar.length;
    let margin = (0.6 * bar.width).clamp(3.0, 0.15 * bar.length);
    let inside = mean(0.5 * reach, reach - margin);
    let outside = mean(reach + margin, reach + 1.5 * margin + 1.0);
    if f64::from(ink.sign()) * (inside - outside) < cut.least_contrast() {
        return None;
    }
    let crosses = |level: f64, value: &dyn Fn(f64) -> f64| -> Option<f64> {
        let over = |t: f64| f64::from(ink.sign()) * (value(t) - level);
        let mut t = reach - margin;
        while t < reach + margin {
            let (a, b) = (over(t), over(t + STEP));
            if a >= 0.0 && b < 0.0 {
                return Some(t + STEP * a / (a - b));
            }
            t += STEP;
        }
        None
    };
    let part = |share: f64| crosses(outside + share * (inside - outside), &tone);
    let blurred = part(0.2)? - part(0.8)? > SHARP;
    if blurred {
        let half = 0.5 * (ink.light(inside) + ink.light(outside));
        crosses(half, &|t| ink.light(tone(t)))
    } else {
        part(0.5)
    }
}
