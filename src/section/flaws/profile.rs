//! What a line looks like across: its depth, its width and the light it takes.

use super::patch::Patch;
use crate::base::geometry::{Joint, Point, Vector, resample};

/// The profile reaches this far to each side, mm.
const REACH_MM: f64 = 0.45;
/// Beside the line starts here at the nearest, mm.
const BESIDE_MM: f64 = 0.12;

/// The mean profile of a line.
#[derive(Clone, Copy, Debug)]
pub struct Across {
    /// Share of the light missing at its middle, 0 … 1.
    pub depth: f64,
    /// Width at half depth, mm.
    pub width_mm: f64,
    /// Width of a wholly black line that would take as much light, mm. Blur
    /// does not change it.
    pub black_mm: f64,
}

/// Profile of the line through `points` as a whole.
pub fn across(patch: &Patch, points: &[Point<Joint>]) -> Option<Across> {
    let step = 0.5 * patch.step_mm;
    let half = (REACH_MM / step) as i64;
    let line = resample(points, patch.step_mm);
    let mut sums = vec![0.0f64; 2 * half as usize + 1];
    let mut count = 0.0;
    for (i, p) in line.iter().enumerate() {
        let normal = direction(&line, i)?.turned();
        for (sum, k) in sums.iter_mut().zip(-half..=half) {
            *sum += f64::from(patch.lightness(*p + normal * (k as f64 * step)));
        }
        count += 1.0;
    }
    let profile: Vec<f64> = sums.iter().map(|s| s / count).collect();
    shape(&profile, step)
}

/// Depth at each point of a line, against the profile's sides there.
pub fn depths_along(patch: &Patch, line: &[Point<Joint>], width_mm: f64) -> Vec<f64> {
    let beside = (0.8 * width_mm + 0.06).max(BESIDE_MM);
    (0..line.len())
        .map(|i| {
            let Some(normal) = direction(line, i).map(Vector::turned) else {
                return 0.0;
            };
            let at = |t: f64| f64::from(patch.lightness(line[i] + normal * t));
            let side = |sign: f64| {
                (0..4)
                    .map(|k| at(sign * (beside + 0.03 * f64::from(k))))
                    .sum::<f64>()
                    / 4.0
            };
            let sides = side(1.0).min(side(-1.0));
            1.0 - at(0.0) / sides.max(1.0)
        })
        .collect()
}

/// Unit direction of a line at one of its points.
pub fn direction(line: &[Point<Joint>], i: usize) -> Option<Vector<Joint>> {
    let (a, b) = (i.saturating_sub(3), (i + 3).min(line.len() - 1));
    let d = line[b] - line[a];
    (d.length() > 1e-9).then(|| d.unit())
}

fn shape(profile: &[f64], step: f64) -> Option<Across> {
    let middle = profile.len() / 2;
    let near = (0.1 / step) as usize;
    let lowest =
        (middle - near..=middle + near).min_by(|a, b| profile[*a].total_cmp(&profile[*b]))?;
    // Each side's lightness: the lightest place of a short running mean.
    let beside = (BESIDE_MM / step) as usize;
    let window = ((0.06 / step) as usize).max(1);
    let side = |range: std::ops::Range<usize>| {
        profile[range]
            .windows(window)
            .map(|v| v.iter().sum::<f64>() / window as f64)
            .fold(0.0, f64::max)
    };
    let (left, right) = (
        side(0..middle - beside),
        side(middle + beside + 1..profile.len()),
    );
    let level = left.min(right).max(1.0);
    let depth = 1.0 - profile[lowest] / level;
    if depth <= 0.0 {
        return None;
    }
    let taken = |i: usize| 1.0 - profile[i] / level;
    // From the middle outwards as long as light is missing.
    let run = |indices: &mut dyn Iterator<Item = usize>| {
        let (mut half_at, mut sum, mut n) = (None, 0.0, 0);
        for i in indices {
            let t = taken(i);
            if t <= 0.0 {
                break;
            }
            n += 1;
            if half_at.is_none() && t < 0.5 * depth {
                half_at = Some(n);
            }
            sum += t * step;
        }
        (f64::from(half_at.unwrap_or(n)) * step, sum)
    };
    let (w_left, s_left) = run(&mut (0..lowest).rev());
    let (w_right, s_right) = run(&mut (lowest + 1..profile.len()));
    Some(Across {
        depth,
        width_mm: (w_left + w_right).max(step),
        black_mm: s_left + s_right + depth * step,
    })
}
