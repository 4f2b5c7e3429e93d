//! Dark squares on a light ground, each on its own.

use crate::base::geometry::{Line, Point, Px, Vector};
use crate::base::numeric::median;
use crate::base::raster::Gray;
use rayon::prelude::*;
use std::collections::HashMap;

/// A dark square: its corners in order of +x towards +y, px.
#[derive(Clone, Copy, Debug)]
pub struct Square {
    /// Corners; sides run from each to the next.
    pub corners: [Point<Px>; 4],
}

impl Square {
    /// Crossing of the diagonals: the picture of the centre, in perspective too.
    pub fn centre(&self) -> Point<Px> {
        let [a, b, c, d] = self.corners;
        Line::through(a, c)
            .crossing(&Line::through(b, d))
            .unwrap_or(a.lerp(c, 0.5))
    }

    /// Mean side, px.
    pub fn side(&self) -> f64 {
        (0..4)
            .map(|k| self.corners[k].distance(self.corners[(k + 1) % 4]))
            .sum::<f64>()
            / 4.0
    }

    /// The two side directions at the centre, each one square long.
    pub fn axes(&self) -> (Vector<Px>, Vector<Px>) {
        let [a, b, c, d] = self.corners;
        (((b - a) + (c - d)) * 0.5, ((d - a) + (c - b)) * 0.5)
    }
}

/// Grey levels at which the picture is cut into dark and light; a square shows
/// apart from its diagonal neighbours at every level below the middle of its
/// own contrast, so a coarse ladder meets all.
const LEVELS: [f32; 8] = [30.0, 45.0, 62.0, 80.0, 100.0, 122.0, 146.0, 172.0];
/// Smallest side, samples of the detection level.
const SMALLEST: f64 = 7.0;
/// Least difference between square and ground, grey levels.
const CONTRAST: f64 = 30.0;

/// Most places at which a side is looked for, in the first round, which also
/// turns away what is no square, and in the second.
const PLACES: [f64; 2] = [14.0, 28.0];
/// Least share of its upright frame that a square fills (half when it stands on
/// a corner), and least ratio of that frame's sides, both with room for tilt.
const LEAST_FILL: f64 = 0.35;
const LEAST_ASPECT: f64 = 0.6;

/// All dark squares of the picture: found in `small`, whose samples span `factor`
/// px each, refined in `gray`.
pub fn find(gray: &Gray, small: &Gray, factor: f64) -> Vec<Square> {
    let rough: Vec<Vec<Square>> = LEVELS
        .par_iter()
        .map(|cut| {
            let rectangles = blobs(small, *cut).into_iter().filter_map(|b| b.rectangle());
            rectangles
                .map(|corners| Square {
                    corners: corners.map(|p| Point::new(p.0 * factor, p.1 * factor)),
                })
                .collect()
        })
        .collect();
    let mut found: Vec<Square> = Vec::new();
    for level in rough {
        for rough in level {
            let centre = rough.centre();
            if found
                .iter()
                .any(|s| s.centre().distance(centre) < 0.3 * s.side())
            {
                continue;
            }
            if let Some(square) = refine(gray, &rough) {
                found.push(square);
            }
        }
    }
    found
}

/// A connected dark region: its area and the ends of its rows, samples.
struct Blob {
    area: usize,
    rows: Vec<(usize, usize, usize)>,
}

impl Blob {
    /// The smallest rectangle around it when that is nearly square and nearly
    /// filled, corners in order.
    fn rectangle(&self) -> Option<[(f64, f64); 4]> {
        let area = self.area as f64;
        // Most regions are far from square and need no closer look.
        let left = self.rows.iter().map(|r| r.1).min()?;
        let right = self.rows.iter().map(|r| r.2).max()?;
        let frame = [(right + 1 - left) as f64, self.rows.len() as f64];
        if area < LEAST_FILL * frame[0] * frame[1]
            || frame[0].min(frame[1]) < LEAST_ASPECT * frame[0].max(frame[1])
        {
            return None;
        }
        let points: Vec<(f64, f64)> = self
            .rows
            .iter()
            .flat_map(|&(y, a, b)| {
                let (top, bottom) = (y as f64, y as f64 + 1.0);
                let (left, right) = (a as f64, b as f64 + 1.0);
                [(left, top), (left, bottom), (right, top), (right, bottom)]
            })
            .collect();
        let mut best: Option<(f64, f64, [f64; 4])> = None;
        for k in 0..45 {
            let angle = (2.0 * f64::from(k)).to_radians();
            let (c, s) = (angle.cos(), angle.sin());
            let mut limits = [f64::MAX, f64::MIN, f64::MAX, f64::MIN];
            for (x, y) in &points {
                let (u, v) = (x * c + y * s, y * c - x * s);
                limits[0] = limits[0].min(u);
                limits[1] = limits[1].max(u);
                limits[2] = limits[2].min(v);
                limits[3] = limits[3].max(v);
            }
            let size = (limits[1] - limits[0]) * (limits[3] - limits[2]);
            if best.is_none_or(|b| size < b.0) {
                best = Some((size, angle, limits));
            }
        }
        let (size, angle, l) = best?;
        let (w, h) = (l[1] - l[0], l[3] - l[2]);
        // Stair steps of a small turned square add about a sample all round.
        let slack = 2.2 * w.max(h);
        if w.min(h) < SMALLEST || w.min(h) < 0.75 * w.max(h) || area < 0.8 * size - slack {
            return None;
        }
        let (c, s) = (angle.cos(), angle.sin());
        let back = |u: f64, v: f64| (u * c - v * s, u * s + v * c);
        Some([
            back(l[0], l[2]),
            back(l[1], l[2]),
            back(l[1], l[3]),
            back(l[0], l[3]),
        ])
    }
}

/// Four-connected regions darker than `cut` that are no larger than a twelfth
/// of the picture and do not touch its border, from runs of rows.
fn blobs(gray: &Gray, cut: f32) -> Vec<Blob> {
    let (w, h) = (gray.width(), gray.height());
    let mut parent: Vec<usize> = Vec::new();
    let mut runs: Vec<(usize, usize, usize)> = Vec::new();
    let (mut above, mut start) = (0, 0);
    fn root(parent: &mut [usize], mut i: usize) -> usize {
        while parent[i] != i {
            parent[i] = parent[parent[i]];
            i = parent[i];
        }
        i
    }
    for y in 0..h {
        let row = gray.row(y);
        let mut x = 0;
        let mut j = above;
        let end_above = start;
        let begin = runs.len();
        while x < w {
            if row[x] >= cut {
                x += 1;
                continue;
            }
            let from = x;
            while x < w && row[x] < cut {
                x += 1;
            }
            let id = runs.len();
            runs.push((y, from, x - 1));
            parent.push(id);
            while j < end_above && runs[j].2 < from {
                j += 1;
            }
            let mut k = j;
            while k < end_above && runs[k].1 < x {
                let (a, b) = (root(&mut parent, k), root(&mut parent, id));
                parent[a.max(b)] = a.min(b);
                k += 1;
            }
        }
        above = begin;
        start = runs.len();
    }
    let mut blobs: HashMap<usize, Blob> = HashMap::new();
    for (i, run) in runs.iter().enumerate() {
        let blob = blobs.entry(root(&mut parent, i)).or_insert(Blob {
            area: 0,
            rows: Vec::new(),
        });
        blob.area += run.2 - run.1 + 1;
        match blob.rows.last_mut() {
            Some(last) if last.0 == run.0 => {
                last.1 = last.1.min(run.1);
                last.2 = last.2.max(run.2);
            }
            _ => blob.rows.push(*run),
        }
    }
    let smallest = (SMALLEST * SMALLEST) as usize;
    let mut kept: Vec<(usize, Blob)> = blobs
        .into_iter()
        .filter(|(_, b)| {
            let inside = b
                .rows
                .iter()
                .all(|r| r.1 > 0 && r.2 + 1 < w && r.0 > 0 && r.0 + 1 < h);
            b.area >= smallest && b.area <= w * h / 12 && inside
        })
        .collect();
    // The map's order is arbitrary; results must not be.
    kept.sort_by_key(|k| k.0);
    kept.into_iter().map(|k| k.1).collect()
}

/// Sides fitted at full resolution; `None` when the sides are not straight or
/// the inside is not darker all round.
fn refine(gray: &Gray, rough: &Square) -> Option<Square> {
    let mut square = *rough;
    for most_places in PLACES {
        let centre = square.centre();
        let side = square.side();
        let mut sides: Vec<Line<Px>> = Vec::with_capacity(4);
        for k in 0..4 {
            let (a, b) = (square.corners[k], square.corners[(k + 1) % 4]);
            let mut outward = Line::through(a, b).normal();
            if outward.dot(a.lerp(b, 0.5) - centre) < 0.0 {
                outward = -outward;
            }
            let count = (0.7 * side).clamp(7.0, most_places) as usize;
            let places: Vec<Point<Px>> = (0..count)
                .filter_map(|i| {
                    let at = a.lerp(b, 0.15 + 0.7 * i as f64 / (count - 1) as f64);
                    crossing(gray, at, outward, 0.28 * side)
                })
                .collect();
            if places.len() * 10 < count * 7 {
                return None;
            }
            let (line, _) = Line::fit_robust(&places, 0.05)?;
            let off: Vec<f64> = places
                .iter()
                .map(|p| line.signed_distance(*p).abs())
                .collect();
            if median(&off) > 0.02 * side + 0.3 {
                return None;
            }
            sides.push(line);
        }
        let mut corners = square.corners;
        for k in 0..4 {
            corners[(k + 1) % 4] = sides[k].crossing(&sides[(k + 1) % 4])?;
        }
        square = Square { corners };
        if square.centre().distance(rough.centre()) > 0.25 * rough.side()
            || (square.side() / rough.side() - 1.0).abs() > 0.35
        {
            return None;
        }
    }
    Some(square)
}

/// Where the brightness along `outward` crosses half way between the dark
/// inside and the light outside within ± `reach` px of `at`.
fn crossing(gray: &Gray, at: Point<Px>, outward: Vector<Px>, reach: f64) -> Option<Point<Px>> {
    let step = (reach / 24.0).clamp(0.25, 1.5);
    let n = (reach / step) as i32;
    let value = |k: i32| {
        let p = at + outward * (f64::from(k) * step);
        f64::from(gray.sample(p.x, p.y))
    };
    let samples: Vec<f64> = (-n..=n).map(value).collect();
    let third = samples.len() / 4;
    let dark = median(&samples[..third]);
    let light = median(&samples[samples.len() - third..]);
    if light - dark < CONTRAST {
        return None;
    }
    let half = 0.5 * (dark + light);
    // The crossing nearest to the prediction.
    let mut best: Option<f64> = None;
    for i in 1..samples.len() {
        let (a, b) = (samples[i - 1], samples[i]);
        if a < half && b >= half {
            let t = (i as f64 - 1.0 + (half - a) / (b - a) - f64::from(n)) * step;
            if best.is_none_or(|now| t.abs() < now.abs()) {
                best = Some(t);
            }
        }
    }
    best.map(|t| at + outward * t)
}
