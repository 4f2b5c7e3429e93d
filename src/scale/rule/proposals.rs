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

/// A sample with a strong gradient: where, and how much it counts.
#[derive(Clone, Copy, Default)]
struct Voter {
    x: u32,
    y: u32,
    weight: f32,
}

/// The voters of some rows, sorted by the direction of their gradient in steps
/// from 0 to half a turn inclusive, and by its sense.
struct Strip {
    voters: Vec<Voter>,
    /// Where each kind begins, and their end.
    starts: Vec<usize>,
}

impl Strip {
    /// Sorts voters by their kind; those of one kind keep their order.
    fn new(unsorted: &[(u16, Voter)], kinds: usize) -> Self {
        let mut starts = vec![0; kinds + 1];
        for (kind, _) in unsorted {
            starts[usize::from(*kind) + 1] += 1;
        }
        for k in 0..kinds {
            starts[k + 1] += starts[k];
        }
        let mut next = starts.clone();
        let mut voters = vec![Voter::default(); unsorted.len()];
        for (kind, voter) in unsorted {
            let place = &mut next[usize::from(*kind)];
            voters[*place] = *voter;
            *place += 1;
        }
        Self { voters, starts }
    }

    /// Voters of a direction and sense: 0 along that direction, 1 against it.
    fn of(&self, step: usize, sense: usize) -> &[Voter] {
        let kind = 2 * step + sense;
        &self.voters[self.starts[kind]..self.starts[kind + 1]]
    }
}

/// Middle of the picture and half its diagonal, samples.
struct Frame {
    cx: f32,
    cy: f32,
    reach: f64,
}

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
    let frame = Frame {
        cx: cx as f32,
        cy: cy as f32,
        reach,
    };
    // One direction after the other: its bands are few enough to stay at hand.
    let mut score: Vec<f32> = (0..angles)
        .into_par_iter()
        .flat_map_iter(|i| scores(&votes(&strips, i, angles, bands, &frame)))
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
    let mut unsorted = Vec::with_capacity(rows.len() * gray.width() / 2);
    for &y in rows {
        let (above, here, below) = (gray.row(y - 1), gray.row(y), gray.row(y + 1));
        for x in 1..gray.width().saturating_sub(1) {
            let gx = 0.5 * (here[x + 1] - here[x - 1]);
            let gy = 0.5 * (below[x] - above[x]);
            let squared = gx * gx + gy * gy;
            if squared < WEAKEST * WEAKEST {
                continue;
            }
            // Turned to the upper half; half a turn less where it was the lower.
            let sense = usize::from(gy < 0.0);
            let upright = if gy < 0.0 { (-gx, -gy) } else { (gx, gy) };
            let step = direction(upright.0, upright.1).min(angles);
            let voter = Voter {
                x: x as u32,
                y: y as u32,
                weight: squared.sqrt().min(CAP),
            };
            unsorted.push(((2 * step + sense) as u16, voter));
        }
    }
    Strip::new(&unsorted, 2 * (angles + 1))
}

/// Direction of a vector with `y` ≥ 0, in steps from 0 to half a turn.
fn direction(x: f32, y: f32) -> usize {
    let steps = upper_angle(x, y).to_degrees() / STEP_DEG as f32;
    let nearest = steps.round();
    // Half way between two, the quick angle will not do.
    if (steps - nearest).abs() > 0.499 {
        (y.atan2(x).to_degrees() / STEP_DEG as f32).round() as usize
    } else {
        nearest as usize
    }
}

/// Angle of a vector with `y` ≥ 0, from 0 to π, to 2·10⁻⁶: the arc tangent's
/// approximation by an odd polynomial (Hastings, Approximations for Digital
/// Computers, 1955; from memory, checked below). Most of the search's time would go into an exact one.
fn upper_angle(x: f32, y: f32) -> f32 {
    let along = x.abs();
    let (short, long) = (along.min(y), along.max(y));
    let t = short / long.max(f32::MIN_POSITIVE);
    let s = t * t;
    let series = [
        0.999_977_26f32,
        -0.332_623_47,
        0.193_543_46,
        -0.116_432_87,
        0.052_653_32,
        -0.011_721_2,
    ];
    let first = t * series.iter().rev().fold(0.0, |sum, c| sum * s + c);
    let quarter = if along < y {
        std::f32::consts::FRAC_PI_2 - first
    } else {
        first
    };
    if x < 0.0 {
        std::f32::consts::PI - quarter
    } else {
        quarter
    }
}

/// Votes of either sense for every band of direction `i`: a gradient votes for
/// its own direction and those next to it.
fn votes(strips: &[Strip], i: usize, angles: usize, bands: usize, frame: &Frame) -> [Vec<f32>; 2] {
    let angle = (i as f64 * STEP_DEG).to_radians();
    let (c, s) = (angle.cos() as f32, angle.sin() as f32);
    let mut votes = [vec![0f32; bands], vec![0f32; bands]];
    let (i, half_turn) = (i as i32, angles as i32);
    // Half a turn on, the same line runs the other way.
    for (turned, flipped) in [(i - half_turn, 1), (i, 0), (i + half_turn, 1)] {
        for step in (turned - 1).max(0)..=(turned + 1).min(half_turn) {
            for strip in strips {
                for sense in [0, 1] {
                    let row = &mut votes[sense ^ flipped];
                    for v in strip.of(step as usize, sense) {
                        let dx = v.x as f32 + 0.5 - frame.cx;
                        let dy = v.y as f32 + 0.5 - frame.cy;
                        let rho = dy * c - dx * s;
                        let band = ((f64::from(rho) + frame.reach) / BAND) as usize;
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_quick_angle_is_the_arc_tangent() {
        for k in 0..=3600 {
            let angle = f64::from(k) * std::f64::consts::PI / 3600.0;
            let (x, y) = ((30.0 * angle.cos()) as f32, (30.0 * angle.sin()) as f32);
            let error = f64::from(upper_angle(x, y.max(0.0))) - angle;
            assert!(error.abs() < 5e-6, "{angle}: {error}");
        }
    }
}
