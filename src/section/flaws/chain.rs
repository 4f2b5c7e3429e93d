//! From the ridge map to centre lines: crests, joined where they touch and run
//! on in one direction, each reduced to its longest way through.

use super::patch::Patch;
use super::ridge::Ridges;
use crate::base::geometry::{Joint, Point};
use std::collections::VecDeque;
use std::f32::consts::PI;

/// Crests are joined across this many samples.
const REACH: i64 = 2;
/// Largest turn between joined crests, radians.
const TURN: f32 = 0.55;

/// Centre lines whose crest reaches `high` somewhere and `low` everywhere, in
/// the joint's frame. Lines shorter than `least_mm` are left out.
pub fn centre_lines(
    patch: &Patch,
    ridges: &Ridges,
    low: f32,
    high: f32,
    least_mm: f64,
) -> Vec<Vec<Point<Joint>>> {
    let (w, h) = (patch.width(), patch.height());
    let crest: Vec<bool> = (0..w * h)
        .map(|i| {
            patch.open[i] && ridges.depth.samples()[i] >= low && is_crest(ridges, i % w, i / w)
        })
        .collect();
    let mut seen = vec![false; w * h];
    let mut lines = Vec::new();
    for seed in 0..w * h {
        if !crest[seed] || seen[seed] || ridges.depth.samples()[seed] < high {
            continue;
        }
        let (far, _) = spread(&crest, ridges, (w, h), seed, Some(&mut seen));
        let (end, before) = spread(&crest, ridges, (w, h), far, None);
        let mut way = vec![end];
        while let Some(&previous) = before.get(&way[way.len() - 1]) {
            way.push(previous);
        }
        let points: Vec<Point<Joint>> = way
            .iter()
            .map(|&i| {
                let t = summit(ridges, i % w, i / w);
                let (sin, cos) = ridges.direction[i].sin_cos();
                patch.place(
                    (i % w) as f64 - f64::from(t * sin),
                    (i / w) as f64 + f64::from(t * cos),
                )
            })
            .collect();
        let smooth = smoothed(&points, (0.06 / patch.step_mm).ceil() as usize);
        let depths: Vec<f32> = way.iter().map(|&i| ridges.depth.samples()[i]).collect();
        for (from, to) in dark_runs(&depths, high) {
            let run = &smooth[from..=to];
            if crate::base::geometry::length(run) >= least_mm {
                lines.push(run.to_vec());
            }
        }
    }
    lines
}

/// Stretches that keep at least half of their own greatest depth, which is at
/// least `high`: where a line stops being itself and goes on as something
/// fainter, such as the etched boundary it lies on, it ends.
fn dark_runs(depths: &[f32], high: f32) -> Vec<(usize, usize)> {
    let mut runs = Vec::new();
    let mut todo = vec![(0, depths.len())];
    while let Some((from, to)) = todo.pop() {
        let Some(peak) = (from..to).max_by(|a, b| depths[*a].total_cmp(&depths[*b])) else {
            continue;
        };
        if depths[peak] < high {
            continue;
        }
        let half = 0.5 * depths[peak];
        let begin = (from..peak)
            .rev()
            .find(|&i| depths[i] < half)
            .map_or(from, |i| i + 1);
        let end = (peak..to).find(|&i| depths[i] < half).unwrap_or(to);
        runs.push((begin, end - 1));
        todo.push((from, begin));
        todo.push((end, to));
    }
    runs
}

/// Whether the ridge is highest here, seen across its direction.
fn is_crest(ridges: &Ridges, x: usize, y: usize) -> bool {
    let depth = &ridges.depth;
    let (here, (sin, cos)) = (
        depth.at(x, y),
        ridges.direction[y * depth.width() + x].sin_cos(),
    );
    let at = |t: f32| {
        depth.sample(
            x as f64 + 0.5 - f64::from(t * sin),
            y as f64 + 0.5 + f64::from(t * cos),
        )
    };
    here >= at(1.0) && here >= at(-1.0)
}

/// Offset of the summit across the line, samples, by a parabola.
fn summit(ridges: &Ridges, x: usize, y: usize) -> f32 {
    let depth = &ridges.depth;
    let (sin, cos) = ridges.direction[y * depth.width() + x].sin_cos();
    let at = |t: f32| {
        depth.sample(
            x as f64 + 0.5 - f64::from(t * sin),
            y as f64 + 0.5 + f64::from(t * cos),
        )
    };
    let (a, b, c) = (at(-1.0), depth.at(x, y), at(1.0));
    let curve = a - 2.0 * b + c;
    if curve < -1e-6 {
        (0.5 * (a - c) / curve).clamp(-0.5, 0.5)
    } else {
        0.0
    }
}

type Before = std::collections::HashMap<usize, usize>;

/// Walks over all crests joined to `from`, nearest first; the last one met and
/// from where each was met.
fn spread(
    crest: &[bool],
    ridges: &Ridges,
    (w, h): (usize, usize),
    from: usize,
    mut seen: Option<&mut Vec<bool>>,
) -> (usize, Before) {
    let mut before = Before::new();
    let mut met = std::collections::HashSet::from([from]);
    let mut queue = VecDeque::from([from]);
    let mut last = from;
    while let Some(i) = queue.pop_front() {
        last = i;
        if let Some(seen) = seen.as_deref_mut() {
            seen[i] = true;
        }
        let (x, y) = ((i % w) as i64, (i / w) as i64);
        for ring in 1..=REACH {
            for dy in -ring..=ring {
                for dx in -ring..=ring {
                    if dx.abs().max(dy.abs()) != ring {
                        continue;
                    }
                    let (nx, ny) = (x + dx, y + dy);
                    if nx < 0 || ny < 0 || nx >= w as i64 || ny >= h as i64 {
                        continue;
                    }
                    let j = ny as usize * w + nx as usize;
                    let turn = (ridges.direction[i] - ridges.direction[j]).abs();
                    if crest[j] && turn.min(PI - turn) <= TURN && met.insert(j) {
                        before.insert(j, i);
                        queue.push_back(j);
                    }
                }
            }
        }
    }
    (last, before)
}

/// Running mean over `half` points to each side, ends kept.
fn smoothed(points: &[Point<Joint>], half: usize) -> Vec<Point<Joint>> {
    (0..points.len())
        .map(|i| {
            let reach = half.min(i).min(points.len() - 1 - i);
            let part = &points[i - reach..=i + reach];
            let n = part.len() as f64;
            Point::new(
                part.iter().map(|p| p.x).sum::<f64>() / n,
                part.iter().map(|p| p.y).sum::<f64>() / n,
            )
        })
        .collect()
}
