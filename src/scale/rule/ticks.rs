//! Tick marks traced in the full-resolution picture.

use super::comb::Row;
use super::crossing::row_on;
use super::tone::tone;
use crate::base::geometry::{Line, Point, Px};
use crate::base::numeric::{median, quantile};
use crate::base::raster::Gray;
use rayon::prelude::*;

/// One tick mark: a short line from its foot at the graduated edge to its tip.
#[derive(Clone, Debug)]
pub struct Tick {
    /// Number within the row.
    pub index: i32,
    /// End at the graduated edge.
    pub foot: Point<Px>,
    /// Free end.
    pub tip: Point<Px>,
    /// Places on its centre line, from foot to tip.
    pub centres: Vec<Point<Px>>,
    /// Spacing of the row here, px.
    pub pitch_px: f64,
}

impl Tick {
    /// Length, px.
    pub fn length_px(&self) -> f64 {
        self.foot.distance(self.tip)
    }

    /// Length in units of the local pitch.
    pub fn relative_length(&self) -> f64 {
        self.length_px() / self.pitch_px
    }
}

/// The ticks of one graduated edge.
#[derive(Clone, Debug)]
pub struct Edge {
    /// Through the feet; the ticks stand on the side of its normal.
    pub baseline: Line<Px>,
    /// In order of their number.
    pub ticks: Vec<Tick>,
    /// Median spacing, px.
    pub pitch_px: f64,
    /// 1 for dark ticks, −1 for light ones.
    pub sign: f64,
}

impl Edge {
    /// Middle of its feet.
    pub fn centre(&self) -> Point<Px> {
        self.ticks[0]
            .foot
            .lerp(self.ticks[self.ticks.len() - 1].foot, 0.5)
    }

    /// (Number, relative length) of every tick.
    pub fn lengths(&self) -> Vec<(i32, f64)> {
        self.ticks
            .iter()
            .map(|t| (t.index, t.relative_length()))
            .collect()
    }
}

/// Fewest ticks that are followed to an edge.
const FEWEST: usize = 8;
/// Ticks that place the edge while the row is still being settled; only then all
/// are traced.
const ENOUGH: usize = 48;
/// Rounds until the row is read just inside its edge.
const ROUNDS: usize = 3;

/// Follows a row of ticks found on `line` to the graduated edge: traces ticks to
/// both ends, puts a straight line through the ends that lie on one, and reads the
/// row again just inside it. `None` when the marks do not stand on a common edge.
pub fn edge_from(gray: &Gray, line: &Line<Px>, sign: f64) -> Option<Edge> {
    let mut line = *line;
    let mut row = row_on(gray, &line, 1.5, sign)?;
    let mut slope = 0.0;
    for _ in 0..ROUNDS {
        let traced = trace(gray, &line, &row, sign, slope, stride_for(row.ticks.len()));
        slope = traced.slope;
        let edge = traced.stand_up(sign)?;
        let lengths: Vec<f64> = edge.ticks.iter().map(|t| t.foot.distance(t.tip)).collect();
        let inside = 0.5 * quantile(&lengths, 0.15);
        let next = Line::new(
            edge.baseline.point + edge.baseline.normal() * inside,
            edge.baseline.direction,
        );
        let half = (0.25 * quantile(&lengths, 0.15)).clamp(0.5, 8.0);
        let again = row_on(gray, &next, half, sign)?;
        // The line left the row: what it crossed before was better.
        if again.ticks.len() + 3 < row.ticks.len() && again.pitch > 0.8 * row.pitch {
            break;
        }
        // Both axes may have turned round, and what leans one way then still does.
        line = next;
        row = again;
    }
    trace(gray, &line, &row, sign, slope, 1).stand_up(sign)
}

/// Every how manieth of `count` ticks to trace so that about [`ENOUGH`] are: a
/// stride that shares no factor with the tens of a metric rule and the powers of
/// two of an inch rule, so that long and short ticks come in their proportion.
fn stride_for(count: usize) -> usize {
    let mut stride = (count / ENOUGH).max(1);
    while stride.is_multiple_of(2) || stride.is_multiple_of(5) {
        stride += 1;
    }
    stride
}

/// Ticks traced to both ends.
struct Traced {
    ticks: Vec<Tick>,
    /// How far they lean: along the line for each px across it.
    slope: f64,
}

/// Traces every `stride`th tick of `row` to both sides of `line`, expecting it to
/// lean by `slope`.
fn trace(gray: &Gray, line: &Line<Px>, row: &Row, sign: f64, slope: f64, stride: usize) -> Traced {
    let pitches = local_pitches(row);
    let chosen: Vec<(i32, f64, f64, f64)> = (0..row.ticks.len())
        .step_by(stride)
        .filter_map(|k| {
            let (index, at) = row.ticks[k];
            let contrast = centre(gray, line, at, 0.0, pitches[k], sign)?.1;
            Some((index, at, pitches[k], contrast))
        })
        .collect();
    let usual = median(&chosen.iter().map(|c| c.3).collect::<Vec<_>>());
    let traced: Vec<(Tick, Option<f64>)> = chosen
        .into_par_iter()
        .filter_map(|(index, at, pitch, contrast)| {
            let need = 0.45 * contrast.clamp(0.5 * usual, 1.2 * usual);
            if contrast <= 0.5 * need {
                return None;
            }
            let down = follow(gray, line, at, -1.0, pitch, slope, need, sign);
            let up = follow(gray, line, at, 1.0, pitch, slope, need, sign);
            let mut places: Vec<(f64, f64)> = down.into_iter().rev().collect();
            places.extend(up);
            if places.len() < 3 {
                return None;
            }
            let (first, last) = (places[0], places[places.len() - 1]);
            let leans =
                (last.1 - first.1 > 0.8 * pitch).then(|| (last.0 - first.0) / (last.1 - first.1));
            let normal = line.normal();
            let centres: Vec<Point<Px>> = places
                .into_iter()
                .map(|(u, v)| line.at(u) + normal * v)
                .collect();
            let tick = Tick {
                index,
                foot: centres[0],
                tip: centres[centres.len() - 1],
                centres,
                pitch_px: pitch,
            };
            Some((tick, leans))
        })
        .collect();
    let leans: Vec<f64> = traced.iter().filter_map(|t| t.1).collect();
    Traced {
        ticks: traced.into_iter().map(|t| t.0).collect(),
        slope: if leans.len() > 4 {
            median(&leans)
        } else {
            slope
        },
    }
}

/// Spacing at every tick, smoothed over its neighbours.
fn local_pitches(row: &Row) -> Vec<f64> {
    let n = row.ticks.len();
    (0..n)
        .map(|k| {
            let (a, b) = (
                row.ticks[k.saturating_sub(4)],
                row.ticks[(k + 4).min(n - 1)],
            );
            (b.1 - a.1) / f64::from(b.0 - a.0).max(1.0)
        })
        .collect()
}

/// A mark's surroundings are sampled in at most this many steps: where they are
/// more than a pixel and a half each, the mark itself is many pixels wide.
const MOST_STEPS: usize = 40;

/// Centre of the dark mark near place (u, v) of the line's frame and how much
/// darker it is than the gaps beside it, grey levels: centroid of what is
/// darker than half way, which for a symmetrical mark is the middle between
/// its two half-height crossings.
fn centre(
    gray: &Gray,
    line: &Line<Px>,
    u: f64,
    v: f64,
    pitch: f64,
    sign: f64,
) -> Option<(f64, f64)> {
    let normal = line.normal();
    let value = |t: f64| {
        let p = line.at(u + t) + normal * v;
        sign * tone(gray, p.x, p.y)
    };
    let foot = line.at(u) + normal * v;
    if !gray.covers(foot.x, foot.y) {
        return None;
    }
    let n = ((0.8 * pitch / 0.6).ceil() as usize).clamp(8, MOST_STEPS);
    let step = 0.8 * pitch / n as f64;
    let mut samples = [0.0; MOST_STEPS + 1];
    for (i, s) in samples[..=n].iter_mut().enumerate() {
        *s = value(i as f64 * step - 0.4 * pitch);
    }
    let side = |t: f64| 0.5 * (value(t) + value(0.86 * t));
    let (left, right) = (side(-0.52 * pitch), side(0.52 * pitch));
    let depth_at = |i: usize| {
        let f = i as f64 / n as f64;
        left + (right - left) * f - samples[i]
    };
    // Only the dip around the prediction: a neighbour or numeral beyond counts not.
    let middle = n / 2;
    let reach = n / 4 + 1;
    let peak =
        (middle - reach..=middle + reach).max_by(|a, b| depth_at(*a).total_cmp(&depth_at(*b)))?;
    let depth = depth_at(peak);
    if depth <= 0.0 {
        return Some((u, 0.0));
    }
    let (mut sum, mut weight) = (0.0, 0.0);
    let mut take = |i: usize| -> bool {
        let over = depth_at(i) - 0.5 * depth;
        if over <= 0.0 {
            return false;
        }
        sum += over * (i as f64 * step - 0.4 * pitch);
        weight += over;
        true
    };
    for i in (0..=peak).rev() {
        if !take(i) {
            break;
        }
    }
    for i in peak + 1..=n {
        if !take(i) {
            break;
        }
    }
    // A one-sided shade is no mark: both gaps have to be brighter.
    let lower = (left - samples[peak]).min(right - samples[peak]);
    Some((u + sum / weight, lower.min(depth)))
}

/// Places (u, v) of a tick's centre from `line` outwards on the side of
/// `sense`, as long as it stays `need` grey levels darker than its gaps.
#[allow(
    clippy::too_many_arguments,
    reason = "one tight loop with its fixed surroundings"
)]
fn follow(
    gray: &Gray,
    line: &Line<Px>,
    start: f64,
    sense: f64,
    pitch: f64,
    slope: f64,
    need: f64,
    sign: f64,
) -> Vec<(f64, f64)> {
    let step = (0.08 * pitch).max(0.8);
    let mut places = Vec::new();
    let mut missed = 0.0;
    let (mut u, mut v) = (start, if sense > 0.0 { 0.0 } else { -step });
    if sense < 0.0 {
        u -= slope * step;
    }
    while v.abs() < 25.0 * pitch && places.len() < 400 {
        let Some((at, depth)) = centre(gray, line, u, v, pitch, sign) else {
            break;
        };
        if depth >= need && (at - u).abs() < 0.25 * pitch {
            places.push((at, v));
            u += 0.3 * (at - u);
            missed = 0.0;
        } else {
            missed += step;
            if missed > 0.2 * pitch + 1.5 {
                break;
            }
        }
        u += sense * slope * step;
        v += sense * step;
    }
    places
}

impl Traced {
    /// Decides which ends are the feet: those that lie on one straight line. `None`
    /// when neither do, and of too few ticks.
    fn stand_up(self, sign: f64) -> Option<Edge> {
        let mut ticks = self.ticks;
        if ticks.len() < FEWEST {
            return None;
        }
        let pitch = median(&ticks.iter().map(|t| t.pitch_px).collect::<Vec<_>>());
        let spread = |ends: &[Point<Px>]| -> Option<(Line<Px>, f64)> {
            let (line, _) = Line::fit_robust(ends, 0.05 * pitch)?;
            let off: Vec<f64> = ends
                .iter()
                .map(|p| line.signed_distance(*p).abs())
                .collect();
            Some((line, quantile(&off, 0.85)))
        };
        let feet: Vec<Point<Px>> = ticks.iter().map(|t| t.foot).collect();
        let tips: Vec<Point<Px>> = ticks.iter().map(|t| t.tip).collect();
        let (low, off_low) = spread(&feet)?;
        let (high, off_high) = spread(&tips)?;
        let (mut baseline, off) = if off_high < off_low {
            for t in &mut ticks {
                std::mem::swap(&mut t.foot, &mut t.tip);
                t.centres.reverse();
            }
            (high, off_high)
        } else {
            (low, off_low)
        };
        let lengths: Vec<f64> = ticks.iter().map(|t| t.foot.distance(t.tip)).collect();
        if off > 0.4 * median(&lengths).max(pitch) {
            return None;
        }
        // Direction so that the ticks stand on the normal's side.
        let stand = ticks
            .iter()
            .filter(|t| baseline.signed_distance(t.tip) > 0.0)
            .count();
        if 2 * stand < ticks.len() {
            baseline = Line::new(baseline.point, -baseline.direction);
        }
        if baseline.along(ticks[0].foot) > baseline.along(ticks[ticks.len() - 1].foot) {
            let last = ticks[ticks.len() - 1].index;
            for t in &mut ticks {
                t.index = last - t.index;
            }
            ticks.reverse();
        }
        Some(Edge {
            baseline,
            ticks,
            pitch_px: pitch,
            sign,
        })
    }
}
