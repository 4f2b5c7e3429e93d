//! Straight edges of the picture: a gradient-guided Hough transform (Duda and
//! Hart, 1972; orientation-limited votes after O'Gorman and Clowes, 1976).
//!
//! Guarantees lines, refined by least squares on their own edge samples,
//! strongest first. Says nothing yet about what they are edges *of*.

use super::view::View;
use crate::base::geometry::{Line, Point, Px};

/// Angle between neighbouring accumulator columns, degrees.
const ANGLE_STEP_DEG: f64 = 0.5;
/// An edge sample votes this far to each side of its own orientation, degrees.
const VOTE_REACH_DEG: f64 = 3.0;
/// Lines looked for at most: plate edges, scale edges, gap lines and clutter.
const MOST_LINES: usize = 70;
/// Shortest edge worth a line, mm: what shows of a surface beside a weld.
const LEAST_LENGTH_MM: f64 = 2.0;

/// An edge sample that survived thinning.
struct Edgel {
    x: f64,
    y: f64,
    /// Angle of the normal, degrees in [0, 180).
    normal_deg: f64,
    weight: f32,
    used: bool,
}

/// The straight edges of the view, strongest first, in photograph px.
/// `excluded` tells which photograph places to leave out (the scale reference).
pub fn straight_edges(view: &View, excluded: &dyn Fn(Point<Px>) -> bool) -> Vec<Line<Px>> {
    let mut edgels = thin_edges(view, excluded);
    let columns = (180.0 / ANGLE_STEP_DEG) as usize;
    let reach = (view.width() as f64).hypot(view.height() as f64).ceil() as usize + 2;
    let rows = 2 * reach;
    let mut votes = vec![0.0f32; columns * rows];
    let turns: Vec<(f64, f64)> = (0..columns)
        .map(|i| {
            let a = (i as f64 * ANGLE_STEP_DEG).to_radians();
            (a.cos(), a.sin())
        })
        .collect();
    let cast = |votes: &mut [f32], e: &Edgel, sign: f32| {
        let middle = (e.normal_deg / ANGLE_STEP_DEG).round() as i64;
        let half = (VOTE_REACH_DEG / ANGLE_STEP_DEG) as i64;
        for i in middle - half..=middle + half {
            let column = i.rem_euclid(columns as i64) as usize;
            let (c, s) = turns[column];
            let at = e.x * c + e.y * s + reach as f64;
            let low = at.floor();
            let part = (at - low) as f32;
            let base = column * rows + low as usize;
            votes[base] += sign * e.weight * (1.0 - part);
            votes[base + 1] += sign * e.weight * part;
        }
    };
    for e in &edgels {
        cast(&mut votes, e, 1.0);
    }

    let least = (LEAST_LENGTH_MM * view.samples_per_mm) as f32;
    let mut lines = Vec::new();
    while lines.len() < MOST_LINES {
        let Some((peak, strength)) = votes
            .iter()
            .copied()
            .enumerate()
            .max_by(|a, b| a.1.total_cmp(&b.1))
        else {
            break;
        };
        if strength < 0.3 * least {
            break;
        }
        let (c, s) = turns[peak / rows];
        let offset = (peak % rows) as f64 - reach as f64;
        let normal_deg = (peak / rows) as f64 * ANGLE_STEP_DEG;
        let near = |e: &Edgel, distance: f64, turn: f64| {
            let off = (e.normal_deg - normal_deg + 90.0).rem_euclid(180.0) - 90.0;
            (e.x * c + e.y * s - offset).abs() <= distance && off.abs() <= turn
        };
        let mut points: Vec<Point<Px>> = Vec::new();
        let mut weights = Vec::new();
        for e in edgels.iter_mut().filter(|e| !e.used && near(e, 2.5, 8.0)) {
            if near(e, 1.5, 6.0) {
                points.push(Point::new(e.x * view.factor, e.y * view.factor));
                weights.push(f64::from(e.weight));
            }
            cast(&mut votes, e, -1.0);
            e.used = true;
        }
        votes[peak] = 0.0;
        if points.len() >= least as usize
            && let Some(line) = Line::fit(&points, &weights)
        {
            lines.push(line);
        }
    }
    lines
}

/// Edge samples thinned to the crest of the colour gradient (Di Zenzo, 1986,
/// for the gradient of several channels).
fn thin_edges(view: &View, excluded: &dyn Fn(Point<Px>) -> bool) -> Vec<Edgel> {
    let (w, h) = (view.width(), view.height());
    let mut size = vec![0.0f32; w * h];
    let mut angle = vec![0.0f32; w * h];
    for i in 0..w * h {
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        for c in 0..3 {
            let (x, y) = (view.dx[c].samples()[i], view.dy[c].samples()[i]);
            xx += x * x;
            xy += x * y;
            yy += y * y;
        }
        let half = 0.5 * (xx + yy);
        let root = (0.25 * (xx - yy).powi(2) + xy * xy).sqrt();
        size[i] = (half + root).sqrt();
        angle[i] = 0.5 * (2.0 * xy).atan2(xx - yy);
    }
    let mut found = Vec::new();
    for y in 2..h.saturating_sub(2) {
        for x in 2..w.saturating_sub(2) {
            let i = y * w + x;
            if size[i] < 1.0 {
                continue;
            }
            let (s, c) = angle[i].sin_cos();
            let (ox, oy) = (c.round() as i64, s.round() as i64);
            let ahead = (i as i64 + oy * w as i64 + ox) as usize;
            let behind = (i as i64 - oy * w as i64 - ox) as usize;
            if size[i] < size[ahead] || size[i] <= size[behind] {
                continue;
            }
            let curve = size[ahead] - 2.0 * size[i] + size[behind];
            let shift = if curve < 0.0 {
                0.5 * (size[behind] - size[ahead]) / curve
            } else {
                0.0
            };
            let px = x as f64 + 0.5 + f64::from(shift * ox as f32);
            let py = y as f64 + 0.5 + f64::from(shift * oy as f32);
            if excluded(Point::new(px * view.factor, py * view.factor)) {
                continue;
            }
            found.push(Edgel {
                x: px,
                y: py,
                normal_deg: f64::from(angle[i]).to_degrees().rem_euclid(180.0),
                weight: size[i],
                used: false,
            });
        }
    }
    // Saturating weight: a glaring edge must not outvote a long dull one.
    let sizes: Vec<f64> = found.iter().map(|e| f64::from(e.weight)).collect();
    let typical = crate::base::numeric::quantile(&sizes, 0.8).max(1.0) as f32;
    for e in &mut found {
        e.weight /= e.weight + typical;
    }
    found
}
