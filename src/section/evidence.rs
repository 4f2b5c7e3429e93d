//! Edge evidence along straight lines of the measured plane.

use super::view::View;
use crate::base::geometry::{Line, Mm, Point, Vector};
use crate::base::numeric::quantile;
use crate::scale::PlaneMap;

/// Step along a profile, mm.
pub const STEP_MM: f64 = 0.25;
/// Half the window over which slopes are averaged along a line, mm. Texture
/// averages out over it, a straight edge does not.
const HALF_WINDOW_MM: f64 = 0.75;

/// The view together with the plane map: asks how much a line looks like an edge.
pub struct Evidence<'a> {
    /// Working view.
    pub view: &'a View,
    /// Plane map of the photograph.
    pub map: &'a PlaneMap,
    noise: f32,
}

/// Edge evidence along a line: 0 = none, 1 = a clear edge, `None` = outside
/// the picture.
pub struct Profile {
    start: f64,
    values: Vec<Option<f32>>,
}

impl<'a> Evidence<'a> {
    /// Measures the picture's own texture first, so that evidence is relative to it.
    pub fn new(view: &'a View, map: &'a PlaneMap) -> Self {
        let mut this = Self {
            view,
            map,
            noise: 1.0,
        };
        let (w, h) = (
            view.width() as f64 * view.factor,
            view.height() as f64 * view.factor,
        );
        let mut sizes = Vec::new();
        // A fixed scatter of short lines at golden-ratio places and angles.
        for i in 1..400 {
            let part = |k: f64| (i as f64 * k).fract();
            let at = map.to_mm(Point::new(w * part(0.618_034), h * part(0.754_878)));
            let line = Line::new(
                at,
                Vector::from_angle(std::f64::consts::TAU * part(0.569_840)),
            );
            if let Some(size) = this.mean_slope(&line, 0.0, 0.0) {
                sizes.push(f64::from(size));
            }
        }
        this.noise = (quantile(&sizes, 0.75) as f32).max(0.15);
        this
    }

    /// Evidence that an edge of whatever direction near `along` passes through `p`,
    /// averaged over ± `half_window` mm along `along`: 0 … 1, `None` outside the picture.
    pub fn near(&self, p: Point<Mm>, along: Vector<Mm>, half_window: f64) -> Option<f32> {
        if !self.view.covers(self.map.to_px(p)) {
            return None;
        }
        let (mut x, mut y) = ([0.0f32; 3], [0.0f32; 3]);
        for k in [-1.0, -0.5, 0.0, 0.5, 1.0] {
            let place = self.map.to_px(p + along * (k * half_window));
            let (dx, dy) = (
                self.view.slope(place, 1.0, 0.0),
                self.view.slope(place, 0.0, 1.0),
            );
            for c in 0..3 {
                x[c] += dx[c] / 5.0;
                y[c] += dy[c] / 5.0;
            }
        }
        let squared: f32 = x.iter().chain(&y).map(|v| v * v).sum();
        let relative = squared / (2.0 * self.noise).powi(2);
        Some(relative / (1.0 + relative))
    }

    /// Evidence along `line` shifted by `shift` mm along its normal, from
    /// `start` to `end` mm along it.
    pub fn profile(&self, line: &Line<Mm>, shift: f64, start: f64, end: f64) -> Profile {
        let count = ((end - start) / STEP_MM).ceil().max(0.0) as usize;
        let sample_mm = 1.0 / self.view.samples_per_mm;
        let values = (0..count)
            .map(|i| {
                let t = start + i as f64 * STEP_MM;
                // A line fitted over its whole length may be off by a sample
                // here and there (lens, rounding of edges): look beside it too.
                let size = [-0.8, 0.0, 0.8]
                    .iter()
                    .filter_map(|k| self.mean_slope(line, t, shift + k * sample_mm))
                    .fold(None, |best: Option<f32>, s| {
                        Some(best.map_or(s, |b| b.max(s)))
                    })?;
                Some(self.worth(size))
            })
            .collect();
        Profile { start, values }
    }

    /// What a mean slope is worth as evidence, 0 … 1.
    fn worth(&self, size: f32) -> f32 {
        let relative = size / (2.0 * self.noise);
        relative * relative / (1.0 + relative * relative)
    }

    /// Size of the colour step across the line, averaged with its sign over
    /// the window, grey levels per sample; `None` outside the picture.
    fn mean_slope(&self, line: &Line<Mm>, t: f64, shift: f64) -> Option<f32> {
        let normal = line.normal();
        let centre = line.at(t) + normal * shift;
        let here = self.map.to_px(centre);
        if !self.view.covers(here) {
            return None;
        }
        let across = (self.map.to_px(centre + normal * 0.1) - here).unit();
        let mut sum = [0.0f32; 3];
        let count = 7;
        for i in 0..count {
            let s = HALF_WINDOW_MM * (2.0 * i as f64 / (count - 1) as f64 - 1.0);
            let slope = self.view.slope(
                self.map.to_px(centre + line.direction * s),
                across.x,
                across.y,
            );
            for c in 0..3 {
                sum[c] += slope[c] / count as f32;
            }
        }
        Some((sum[0] * sum[0] + sum[1] * sum[1] + sum[2] * sum[2]).sqrt())
    }
}

/// Net evidence (+ where edge, − where none) of a whole line shifted by `shift`
/// mm along its normal, between `from` and `to` mm, in mm of edge; the parts
/// outside the picture count nothing. Coarser and quicker than a profile.
pub fn net_along(evidence: &Evidence, line: &Line<Mm>, shift: f64, from: f64, to: f64) -> f64 {
    let step = 2.0 * HALF_WINDOW_MM;
    let count = ((to - from) / step).floor().max(0.0) as usize;
    (0..count)
        .filter_map(|i| evidence.mean_slope(line, from + (i as f64 + 0.5) * step, shift))
        .map(|size| f64::from(evidence.worth(size) - NEUTRAL) * step)
        .sum()
}

/// Evidence needed to count as edge rather than not.
const NEUTRAL: f32 = 0.5;

/// A stretch of edge that begins some way from the profile's start.
#[derive(Clone, Copy, Debug)]
pub struct Run {
    /// Where it begins, mm from the profile's zero.
    pub begin: f64,
    /// Where it ends, mm from the profile's zero.
    pub end: f64,
    /// Net edge length: evidence above neutral, summed over length, less what
    /// stands between the profile's start and `begin`, mm.
    pub gain: f64,
}

impl Profile {
    /// Net evidence between two places: + where edge, − where none, 0 outside
    /// the picture, mm.
    pub fn net(&self, from: f64, to: f64) -> f64 {
        self.between(from, to)
            .map(|v| f64::from(v - NEUTRAL) * STEP_MM)
            .sum()
    }

    /// Positive evidence between two places, mm.
    pub fn presence(&self, from: f64, to: f64) -> f64 {
        self.between(from, to)
            .map(|v| f64::from((v - NEUTRAL).max(0.0)) * STEP_MM)
            .sum()
    }

    /// The stretch with the most net evidence: where it begins and ends, and how much, mm.
    pub fn longest(&self) -> Option<(f64, f64, f64)> {
        let at = |i: usize| self.start + i as f64 * STEP_MM;
        let (mut sum, mut first) = (0.0, 0);
        let mut best = None;
        for (i, value) in self.values.iter().enumerate() {
            // A stretch does not go on outside the picture.
            sum += value.map_or(f64::NEG_INFINITY, |v| f64::from(v - NEUTRAL) * STEP_MM);
            if sum <= 0.0 {
                (sum, first) = (0.0, i + 1);
            } else if best.is_none_or(|(_, _, most)| sum > most) {
                best = Some((at(first), at(i + 1), sum));
            }
        }
        best
    }

    fn between(&self, from: f64, to: f64) -> impl Iterator<Item = f32> + '_ {
        let index = |t: f64| {
            (((t - self.start) / STEP_MM).round().max(0.0) as usize).min(self.values.len())
        };
        self.values[index(from)..index(to).max(index(from))]
            .iter()
            .flatten()
            .copied()
    }

    /// The values met going out from `origin` in the direction `sign`.
    fn ray(&self, origin: f64, sign: f64) -> impl Iterator<Item = Option<f32>> + '_ {
        let first = ((origin - self.start) / STEP_MM).round() as i64;
        let step = if sign < 0.0 { -1 } else { 1 };
        (0..).map(move |k: i64| first + k * step).map_while(|i| {
            usize::try_from(i)
                .ok()
                .and_then(|i| self.values.get(i))
                .copied()
        })
    }

    /// The best stretch of edge on the ray from `origin` in the direction
    /// `sign`, with nothing before it. `None` when there is none, or when it
    /// begins less than `least` or more than `most` mm from the origin.
    pub fn run(&self, origin: f64, sign: f64, least: f64, most: f64) -> Option<Run> {
        let values: Vec<Option<f32>> = self.ray(origin, sign).collect();
        // Largest sum of (evidence − neutral) over the stretch that begins at
        // each place, found from the far end backwards.
        let mut follow = vec![(0.0f64, values.len()); values.len() + 1];
        for i in (0..values.len()).rev() {
            follow[i] = match values[i] {
                None => (0.0, i),
                Some(v) => {
                    let sum = follow[i + 1].0 + f64::from(v - NEUTRAL) * STEP_MM;
                    if sum > 0.0 {
                        (sum, follow[i + 1].1)
                    } else {
                        (0.0, i)
                    }
                }
            };
        }
        // The crossing itself is skipped: the other edge shows there.
        let skip = (0.5 / STEP_MM) as usize;
        let mut before = 0.0;
        let mut best: Option<Run> = None;
        let mut too_soon: f64 = 0.0;
        for i in skip..values.len().min((most / STEP_MM) as usize) {
            let Some(v) = values[i] else { break };
            let at = |k: usize| k as f64 * STEP_MM;
            let gain = follow[i].0 - before;
            if at(i) < least {
                too_soon = too_soon.max(gain);
            } else if best.is_none_or(|b| gain > b.gain) {
                best = Some(Run {
                    begin: at(i),
                    end: at(follow[i].1),
                    gain,
                });
            }
            before += f64::from((v - NEUTRAL).max(0.0)) * STEP_MM;
        }
        // An edge that reaches the corner costs its length before `least`
        // twice over; stray texture there costs less.
        best.filter(|b| b.gain > 0.0 && b.gain > too_soon - 0.2 * least)
    }

    /// The stretch of edge on the ray from `origin` in the direction `sign` that
    /// reaches furthest in towards the corner, from `least` mm on, whatever lies
    /// before it: where a weld did not fuse to a plate, or hardly, the plate's
    /// surface shows inside the metal too. `None` without an edge.
    pub fn run_from_corner(&self, origin: f64, sign: f64, least: f64) -> Option<Run> {
        let values: Vec<Option<f32>> = self.ray(origin, sign).collect();
        let first = (least / STEP_MM) as usize;
        let (mut sum, mut best) = (0.0f64, (0.0f64, first));
        for (i, v) in values.iter().enumerate().skip(first) {
            let Some(v) = v else { break };
            sum += f64::from(v - NEUTRAL) * STEP_MM;
            if sum > best.0 {
                best = (sum, i);
            }
        }
        (best.0 > 0.0).then_some(Run {
            begin: least,
            end: best.1 as f64 * STEP_MM,
            gain: best.0,
        })
    }
}
