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
use rayon::prelude::*;

/// Angular step of the accumulator, degrees.
const STEP_DEG: f64 = 1.5;
/// Width of a line's band, samples.
const BAND: f64 = 4.0;
/// Gradients below this are noise, above the cap all count alike, grey levels a sample.
const WEAKEST: f32 = 4.0;
const CAP: f32 = 40.0;

/// Rows of the picture that are looked through together.
const STRIP: usize = 64;

/// A sample with a strong gradient: its place off the picture's centre and how
/// much it counts.
#[derive(Clone, Copy)]
struct Voter {
    dx: f32,
    dy: f32,
    weight: f32,
}

/// The voters of a strip by the direction of their gradient, in steps from 0 to
/// half a turn inclusive, and its sense: 0 along that direction, 1 against it.
type Strip = Vec<[Vec<Voter>; 2]>;

/// Lines along which ticks may stand, most promising first, in coordinates of
/// `gray`; at most `most`.
pub fn tick_lines(gray: &Gray, most: usize) -> Vec<Line<Px>> {
    let (w, h) = (gray.width(), gray.height());
    let (cx, cy) = (w as f64 / 2.0, h as f64 / 2.0);
    let angles = (180.0 / STEP_DEG) as usize;
    let reach = (w as f64).hypot(h as f64) / 2.0;
    let bands = (2.0 * reach / BAND).ceil() as usize + 2;
    // Every other row of a large picture votes just as clearly.
    let stride = if w * h > 1_500_000 { 2 } else { 1 };
    let rows: Vec<usize> = (1..h.saturating_sub(1)).step_by(stride).collect();
    let strips: Vec<Strip> = rows
        .par_chunks(STRIP)
        .map(|rows| voters(gray, rows, angles))
        .collect();
    // One direction after the other: its bands are few enough to stay at hand.
    let mut score: Vec<f32> = (0..angles)
        .into_par_iter()
        .flat_map_iter(|i| scores(&votes(&strips, i, angles, bands, reach)))
        .collect();
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

fn voters(gray: &Gray, rows: &[usize], angles: usize) -> Strip {
    let (cx, cy) = (gray.width() as f64 / 2.0, gray.height() as f64 / 2.0);
    let mut strip: Strip = vec![Default::default(); angles + 1];
    for &y in rows {
        let (above, here, below) = (gray.row(y - 1), gray.row(y), gray.row(y + 1));
        let dy = (y as f64 + 0.5 - cy) as f32;
        for x in 1..gray.width().saturating_sub(1) {
            let gx = 0.5 * (here[x + 1] - here[x - 1]);
            let gy = 0.5 * (below[x] - above[x]);
            let squared = gx * gx + gy * gy;
            if squared < WEAKEST * WEAKEST {
                continue;
            }
            let angle = gy.atan2(gx);
            let (sense, folded) = if angle < 0.0 {
                (1, angle + std::f32::consts::PI)
            } else {
                (0, angle)
            };
            let step = (folded.to_degrees() / STEP_DEG as f32).round() as usize;
            strip[step.min(angles)][sense].push(Voter {
                dx: (x as f64 + 0.5 - cx) as f32,
                dy,
                weight: squared.sqrt().min(CAP),
            });
        }
    }
    strip
}

/// Votes of either sense for every band of direction `i`: a gradient votes for
/// its own direction and those next to it.
fn votes(strips: &[Strip], i: usize, angles: usize, bands: usize, reach: f64) -> [Vec<f32>; 2] {
    let angle = (i as f64 * STEP_DEG).to_radians();
    let (c, s) = (angle.cos() as f32, angle.sin() as f32);
    let mut votes = [vec![0f32; bands], vec![0f32; bands]];
    let (i, half_turn) = (i as i32, angles as i32);
    // Half a turn on, the same line runs the other way.
    for (turned, flipped) in [(i - half_turn, 1), (i, 0), (i + half_turn, 1)] {
        for step in (turned - 1).max(0)..=(turned + 1).min(half_turn) {
            for strip in strips {
                for (sense, voters) in strip[step as usize].iter().enumerate() {
                    let row = &mut votes[sense ^ flipped];
                    for v in voters {
                        let rho = -v.dx * s + v.dy * c;
                        let band = ((f64::from(rho) + reach) / BAND) as usize;
                        row[band.min(bands - 1)] += v.weight;
                    }
                }
            }
        }
    }
    votes
}

/// What speaks for a row of ticks in every band of one direction.
fn scores(votes: &[Vec<f32>; 2]) -> Vec<f32> {
    let bands = votes[0].len();
    let row = |k: usize| -> f32 {
        let at = |s: usize, j: usize| votes[s][j.min(bands - 1)];
        let sum = |s: usize| at(s, k.saturating_sub(1)) + at(s, k) + at(s, k + 1);
        sum(0).min(sum(1))
    };
    let raw: Vec<f32> = (0..bands).map(row).collect();
    // What the whole direction has is texture, not a row.
    let mean = raw.iter().sum::<f32>() / bands as f32;
    raw.into_iter().map(|r| r - mean).collect()
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
