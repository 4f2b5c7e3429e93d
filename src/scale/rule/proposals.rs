//! Where a row of ticks may lie.
//!
//! Along a row of ticks the brightness gradient points along the row, in both
//! senses equally often. So every pixel with a strong gradient votes for the
//! one straight line through it along its own gradient (a Hough transform,
//! Duda and Hart, 1972, with the line turned by a quarter): rows of ticks
//! gather many votes of both senses on a few lines, while a straight edge
//! spreads its votes, all of one sense, over as many lines as it is long.

use crate::base::geometry::{Line, Point, Px, Vector};
use crate::base::raster::Gray;

/// Angular step of the accumulator, degrees.
const STEP_DEG: f64 = 1.5;
/// Width of a line's band, samples.
const BAND: f64 = 4.0;
/// Gradients below this are noise, above the cap all count alike, grey levels a sample.
const WEAKEST: f32 = 4.0;
const CAP: f32 = 40.0;

/// Lines along which ticks may stand, most promising first, in coordinates of
/// `gray`; at most `most`.
pub fn tick_lines(gray: &Gray, most: usize) -> Vec<Line<Px>> {
    let (w, h) = (gray.width(), gray.height());
    let (cx, cy) = (w as f64 / 2.0, h as f64 / 2.0);
    let angles = (180.0 / STEP_DEG) as usize;
    let reach = (w as f64).hypot(h as f64) / 2.0;
    let bands = (2.0 * reach / BAND).ceil() as usize + 2;
    let directions: Vec<(f32, f32)> = (0..angles)
        .map(|i| {
            let a = (i as f64 * STEP_DEG).to_radians();
            (a.cos() as f32, a.sin() as f32)
        })
        .collect();
    let mut votes = [vec![0f32; angles * bands], vec![0f32; angles * bands]];
    // Senses: 0 along the direction of the bin, 1 against it.
    // Every other row of a large picture votes just as clearly.
    let stride = if w * h > 1_500_000 { 2 } else { 1 };
    for y in (1..h.saturating_sub(1)).step_by(stride) {
        let (above, here, below) = (gray.row(y - 1), gray.row(y), gray.row(y + 1));
        let dy = (y as f64 + 0.5 - cy) as f32;
        for x in 1..w.saturating_sub(1) {
            let gx = 0.5 * (here[x + 1] - here[x - 1]);
            let gy = 0.5 * (below[x] - above[x]);
            let squared = gx * gx + gy * gy;
            if squared < WEAKEST * WEAKEST {
                continue;
            }
            let weight = squared.sqrt().min(CAP);
            let angle = gy.atan2(gx);
            let (sense, folded) = if angle < 0.0 {
                (1, angle + std::f32::consts::PI)
            } else {
                (0, angle)
            };
            let bin = (folded.to_degrees() / STEP_DEG as f32).round() as i32;
            let dx = (x as f64 + 0.5 - cx) as f32;
            for turned in [bin - 1, bin, bin + 1] {
                // Half a turn on, the same line runs the other way.
                let flipped = usize::from(turned < 0 || turned >= angles as i32);
                let i = turned.rem_euclid(angles as i32) as usize;
                let (c, s) = directions[i];
                let rho = -dx * s + dy * c;
                let band = ((rho as f64 + reach) / BAND) as usize;
                votes[sense ^ flipped][i * bands + band.min(bands - 1)] += weight;
            }
        }
    }
    let mut score = vec![0f32; angles * bands];
    for i in 0..angles {
        let row = |k: usize| -> f32 {
            let at = |s: usize, j: usize| votes[s][i * bands + j.min(bands - 1)];
            let sum = |s: usize| at(s, k.saturating_sub(1)) + at(s, k) + at(s, k + 1);
            sum(0).min(sum(1))
        };
        let raw: Vec<f32> = (0..bands).map(row).collect();
        let mean = raw.iter().sum::<f32>() / bands as f32;
        for k in 0..bands {
            // What the whole direction has is texture, not a row.
            score[i * bands + k] = raw[k] - mean;
        }
    }
    peaks(&mut score, angles, bands, most)
        .into_iter()
        .map(|(i, k)| {
            let direction = Vector::from_angle((i as f64 * STEP_DEG).to_radians());
            let rho = (k as f64 + 0.5) * BAND - reach;
            let foot = Point::new(cx, cy) + direction.turned() * rho;
            Line::new(foot, direction)
        })
        .collect()
}

/// The highest cells, each suppressing its surroundings.
fn peaks(score: &mut [f32], angles: usize, bands: usize, most: usize) -> Vec<(usize, usize)> {
    let mut found = Vec::new();
    let floor = 0.02 * score.iter().copied().fold(0.0, f32::max);
    while found.len() < most {
        let Some((at, best)) = score
            .iter()
            .copied()
            .enumerate()
            .max_by(|a, b| a.1.total_cmp(&b.1))
        else {
            break;
        };
        if best <= floor {
            break;
        }
        let (i, k) = (at / bands, at % bands);
        found.push((i, k));
        for di in 0..=4usize {
            // ± 2 angular steps, wrapping at half a turn, where the sign of
            // the distance changes.
            let j = i + angles + di - 2;
            let mirrored = !(angles..2 * angles).contains(&j);
            let k = if mirrored { bands - 1 - k } else { k };
            for b in k.saturating_sub(3)..(k + 4).min(bands) {
                score[(j % angles) * bands + b] = f32::NEG_INFINITY;
            }
        }
    }
    found
}
