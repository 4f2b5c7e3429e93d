//! Where ribbons of torn metal lie: rough throughout, smoother on both sides,
//! several times as long as wide.

use super::roughness::Roughness;
use crate::base::geometry::{Point, Px, Vector, contains};
use crate::base::numeric::quantile;
use crate::base::raster::{Gray, halve};
use rayon::prelude::*;

/// A straight ribbon in the photograph.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ribbon {
    /// Its middle.
    pub centre: Point<Px>,
    /// Unit vector along it.
    pub along: Vector<Px>,
    /// Length, px.
    pub length: f64,
    /// Width, px.
    pub width: f64,
    /// Mean roughness inside, 0 … 1 of the map's [`CAP_QUANTILE`].
    pub inside: f64,
    /// How much stands out over how many columns; compares ribbons of one
    /// photograph.
    pub score: f64,
}

impl Ribbon {
    /// 1; less when the ribbon lies along a scale reference, where more
    /// graduations and numerals are to be expected.
    pub fn beside_reference(&self, occupied: &[Vec<Point<Px>>]) -> f64 {
        let across = self.along.turned();
        let near = occupied.iter().any(|outline| {
            let grown: Vec<_> = (-4..=4)
                .map(|i| self.centre + self.along * (f64::from(i) / 9.0 * self.length))
                .flat_map(|p| [-1.0, 1.0].map(|s| p + across * (s * self.width)))
                .collect();
            grown.iter().filter(|p| contains(outline, **p)).count() * 3 >= grown.len()
        });
        if near { BESIDE_REFERENCE } else { 1.0 }
    }

    /// Whether this is a shorter piece of `other`.
    pub fn is_part_of(&self, other: &Self) -> bool {
        other.length > 1.15 * self.length
            && other.covers(self.centre, 1.0)
            && self.along.cross(other.along).abs() < 0.1
            && self.width.max(other.width) < NESTED * self.width.min(other.width)
    }

    /// Whether `p` lies within the ribbon made `times` as long and wide.
    pub fn covers(&self, p: Point<Px>, times: f64) -> bool {
        let d = p - self.centre;
        d.dot(self.along).abs() < 0.5 * times * self.length
            && d.cross(self.along).abs() < 0.5 * times * self.width
    }
}

/// What is left of a ribbon's worth when it lies along a scale reference.
const BESIDE_REFERENCE: f64 = 0.3;

/// Step of the coarse search over directions. A ribbon fifteen times as long as
/// wide leaves its place by a quarter of its width at the ends when it is off
/// by half of it.
const COARSE_DEG: f64 = 4.0;
/// Step of the fine search.
const FINE_DEG: f64 = 1.0;

/// Roughness counts up to this quantile of the map, a face being some 3 to
/// 15 % of a picture: otherwise a few numerals outweigh it.
const CAP_QUANTILE: f64 = 0.97;

/// What a column must stand out by, in shares of the cap, to belong to a
/// ribbon.
const STANDS_OUT: f32 = 0.05;

/// What unevenness across a ribbon takes away, as a share of the difference
/// between its roughest and its smoothest third: the whole coupon is rougher
/// than the bench, but only its face is rough from edge to edge.
const UNEVEN: f32 = 0.3;

/// A ribbon is worth what this quantile of its columns stands out by: a face
/// does so all along, a row of numerals not in the gaps between them.
const WORTH_QUANTILE: f64 = 0.3;

/// Least ratio of length to width. The stoutest face has 25 mm on a coupon of
/// 50 mm.
const LEAST_ASPECT: f64 = 2.0;

/// Shortest ribbon as a share of the picture's longer side: a smaller coupon
/// has too few pixels a millimetre to be measured.
const SHORTEST: f64 = 0.12;

/// Widths of the fine search, in widths of the ribbon found by the coarse one:
/// about as wide; and, for one so stout that it may be the whole coupon, the
/// face within it, of which the coarse search has too few samples across.
const AS_WIDE: (f64, f64) = (0.6, 1.7);
const WITHIN: (f64, f64) = (0.12, 0.6);
/// Length over width below which a ribbon may be a coupon.
const WITHIN_ASPECT: f64 = 8.0;

/// Power of the width by which a wider ribbon is worth more, so that a part of
/// a face is not taken for the whole.
const WIDER: f64 = 0.35;

/// A ribbon within another more than this many times as wide is kept: the face
/// within its coupon.
const NESTED: f64 = 1.7;

/// Width classes of which the best ribbons are kept apart, each this many times
/// as wide as the last.
const CLASSES: usize = 5;

/// Ribbons that touch or cross are one; of each the best is kept.
const MOST_RIBBONS: usize = 7;

/// The most prominent ribbons, best first, not overlapping.
pub(super) fn ribbons(rough: &Roughness) -> Vec<Ribbon> {
    let k = rough.px_per_sample;
    let values: Vec<f64> = rough
        .map
        .samples()
        .iter()
        .map(|v| f64::from(*v))
        .filter(|v| *v > 0.0)
        .collect();
    let cap = quantile(&values, CAP_QUANTILE) as f32;
    if cap.is_nan() || cap <= 0.0 {
        return Vec::new();
    }
    let mut map = rough.map.clone();
    map.samples_mut()
        .iter_mut()
        .for_each(|v| *v = (*v / cap).min(1.0));
    let half = halve(&map);
    let steps = (180.0 / COARSE_DEG) as usize;
    let mut coarse: Vec<Candidate> = (0..steps)
        .into_par_iter()
        .flat_map_iter(|i| at_angle(&half, (i as f64 * COARSE_DEG).to_radians(), None))
        .collect();
    let mut found = Vec::new();
    for c in distinct(&mut coarse) {
        let near = Candidate {
            centre: (2.0 * c.centre.0, 2.0 * c.centre.1),
            length: 2.0 * c.length,
            width: 2.0 * c.width,
            ..c
        };
        let looks: &[(f64, f64)] = if c.length < WITHIN_ASPECT * c.width {
            &[AS_WIDE, WITHIN]
        } else {
            &[AS_WIDE]
        };
        for widths in looks {
            let mut fine: Vec<Candidate> = (-4..=4)
                .into_par_iter()
                .flat_map_iter(|i| {
                    let angle = c.angle + (FINE_DEG * f64::from(i)).to_radians();
                    at_angle(&map, angle, Some((near, *widths)))
                })
                .collect();
            found.extend(distinct(&mut fine).into_iter().next());
        }
    }
    let mut ribbons: Vec<Ribbon> = distinct(&mut found)
        .into_iter()
        .map(|c| Ribbon {
            centre: Point::new(c.centre.0 * k, c.centre.1 * k),
            along: Vector::from_angle(c.angle),
            length: c.length * k,
            width: c.width * k,
            inside: c.inside,
            score: c.score,
        })
        .collect();
    ribbons.sort_by(|a, b| b.score.total_cmp(&a.score));
    ribbons
}

/// The ribbons worth a closer look, each replaced by one within it that is
/// clearly rougher: the coupon as a whole stands out from a smooth bench, its
/// face from the coupon.
pub(super) fn candidates(ribbons: &[Ribbon]) -> Vec<Ribbon> {
    let mut kept: Vec<Ribbon> = Vec::new();
    for ribbon in ribbons {
        let mut best = *ribbon;
        while let Some(inner) = ribbons
            .iter()
            .filter(|r| {
                r.width * NESTED < best.width
                    && r.length > 0.35 * best.length
                    && r.inside > CLEARLY_ROUGHER * best.inside
                    && r.along.cross(best.along).abs() < 0.1
                    && best.covers(r.centre, 1.0)
            })
            .max_by(|a, b| a.score.total_cmp(&b.score))
        {
            best = *inner;
        }
        let known = kept.iter().any(|k| {
            k.covers(best.centre, 1.0) && k.width.max(best.width) < NESTED * k.width.min(best.width)
        });
        if kept.len() < MOST_CANDIDATES && !known {
            kept.push(best);
        }
    }
    kept
}

/// Ribbons looked at closely, a few hundredths of a second each.
const MOST_CANDIDATES: usize = 6;

/// See [`candidates`]: as a ratio of mean roughness.
const CLEARLY_ROUGHER: f64 = 1.25;

/// A ribbon in samples of the map.
#[derive(Clone, Copy)]
struct Candidate {
    angle: f64,
    centre: (f64, f64),
    length: f64,
    width: f64,
    inside: f64,
    score: f64,
}

impl Candidate {
    /// Whether `other` lies on or close beside this one.
    fn meets(&self, other: &Self) -> bool {
        let (x, y) = (
            other.centre.0 - self.centre.0,
            other.centre.1 - self.centre.1,
        );
        let (sin, cos) = self.angle.sin_cos();
        (x * cos + y * sin).abs() < 0.5 * (self.length + other.length)
            && (y * cos - x * sin).abs() < 0.6 * (self.width + other.width)
            && self.width.max(other.width) < NESTED * self.width.min(other.width)
    }
}

/// The best candidates, none of which meets a better one.
fn distinct(candidates: &mut [Candidate]) -> Vec<Candidate> {
    candidates.sort_by(|a, b| b.score.total_cmp(&a.score));
    let mut kept: Vec<Candidate> = Vec::new();
    for c in candidates.iter() {
        if kept.len() < MOST_RIBBONS && !kept.iter().any(|k| k.meets(c)) {
            kept.push(*c);
        }
    }
    kept
}

/// The best ribbons along one direction, one for each sixteenth of the rows:
/// the map is turned so that ribbons lie along rows; the smoothest third of a box
/// is compared with the strips above and below it column by column, and the
/// best run of columns kept. With `near`, only ribbons about there, of so
/// many times its width.
fn at_angle(map: &Gray, angle: f64, near: Option<(Candidate, (f64, f64))>) -> Vec<Candidate> {
    let (w, h) = (map.width() as f64, map.height() as f64);
    let (sin, cos) = angle.sin_cos();
    let columns = (w * cos.abs() + h * sin.abs()).ceil() as usize;
    let rows = (w * sin.abs() + h * cos.abs()).ceil() as usize;
    let place = |x: f64, y: f64| {
        let (x, y) = (x - 0.5 * columns as f64, y - 0.5 * rows as f64);
        (0.5 * w + x * cos - y * sin, 0.5 * h + x * sin + y * cos)
    };
    let (mut first, mut last, mut narrow, mut wide) = (0, rows, 2.0, 0.3 * w.max(h));
    if let Some((n, times)) = near {
        let (x, y) = (n.centre.0 - 0.5 * w, n.centre.1 - 0.5 * h);
        let row = 0.5 * rows as f64 - x * sin + y * cos;
        let reach = 2.2 * n.width + 4.0;
        first = (row - reach).max(0.0) as usize;
        last = ((row + reach).max(0.0) as usize).min(rows);
        (narrow, wide) = (times.0 * n.width, times.1 * n.width);
    }
    let sums = sums_down(map, columns, first..last, &place);
    let height = last.saturating_sub(first);
    let shortest = SHORTEST * w.max(h);
    let widths = std::iter::successors(Some(3usize), |t| Some((t * 5).div_ceil(4)))
        .filter(|t| *t as f64 >= narrow)
        .take_while(|t| (*t as f64) < wide);
    let mut found: Vec<Option<Candidate>> = vec![None; 16 * CLASSES];
    let mut stands = vec![0.0f32; columns];
    for t in widths {
        let class = ((t as f64 / 3.0).ln() / NESTED.ln()) as usize;
        let class = class.min(CLASSES - 1);
        let third = t / 3;
        let side = (t / 2).max(2);
        let (share, beside_share) = (1.0 / third as f32, 1.0 / side as f32);
        let core_share = 1.0 / (t - 2 * third) as f32;
        for r in 0..height.saturating_sub(t) {
            let row = |at: usize| &sums[at * columns..(at + 1) * columns];
            let (above, top) = (row(r.saturating_sub(side)), row(r));
            let (upper, lower) = (row(r + third), row(r + t - third));
            let (bottom, below) = (row(r + t), row((r + t + side).min(height)));
            let slot = &mut found[(r * 16 / height) * CLASSES + class];
            // Best run of columns (maximum sub-array; Bentley, 1984).
            let (mut sum, mut start) = (0.0f32, 0);
            let (mut most, mut run) = (0.0f32, 0..0);
            for (c, value) in stands.iter_mut().enumerate() {
                let (a, b) = ((upper[c] - top[c]) * share, (bottom[c] - lower[c]) * share);
                let core = (lower[c] - upper[c]) * core_share;
                let (least, greatest) = (a.min(b).min(core), a.max(b).max(core));
                let beside = (top[c] - above[c]).max(below[c] - bottom[c]) * beside_share;
                *value = least - beside - UNEVEN * (greatest - least);
                sum += *value - STANDS_OUT;
                if sum <= 0.0 {
                    (sum, start) = (0.0, c + 1);
                } else if sum > most {
                    (most, run) = (sum, start..c + 1);
                }
            }
            let length = run.len() as f64;
            if length < shortest || length < LEAST_ASPECT * t as f64 {
                continue;
            }
            let middle = 0.5 * (run.start + run.end) as f64;
            let values = &mut stands[run.clone()];
            let at = (WORTH_QUANTILE * length) as usize;
            let worth = *values.select_nth_unstable_by(at, f32::total_cmp).1;
            let inside: f32 = run.clone().map(|c| bottom[c] - top[c]).sum();
            let inside = f64::from(inside) / (t as f64 * length);
            let score = f64::from(worth) * inside * length * (t as f64).powf(WIDER);
            if score > 0.0 && slot.is_none_or(|f| f.score < score) {
                *slot = Some(Candidate {
                    angle,
                    centre: place(middle, (first + r) as f64 + 0.5 * t as f64),
                    length,
                    width: t as f64,
                    inside,
                    score,
                });
            }
        }
    }
    found.into_iter().flatten().collect()
}

/// The map turned and smoothed a little along the rows, as sums down the
/// columns: `[r * columns + c]` is the sum over the first r of `rows`.
fn sums_down(
    map: &Gray,
    columns: usize,
    rows: std::ops::Range<usize>,
    place: &dyn Fn(f64, f64) -> (f64, f64),
) -> Vec<f32> {
    const REACH: usize = 4;
    let mut sums = vec![0.0f32; (rows.len() + 1) * columns];
    let mut line = vec![0.0f32; columns];
    for (i, r) in rows.enumerate() {
        for (c, v) in line.iter_mut().enumerate() {
            let (x, y) = place(c as f64 + 0.5, r as f64 + 0.5);
            *v = if map.covers(x, y) {
                map.sample(x, y)
            } else {
                0.0
            };
        }
        let mut window: f32 = line.iter().take(REACH).sum();
        for c in 0..columns {
            if c + REACH < columns {
                window += line[c + REACH];
            }
            if c > REACH {
                window -= line[c - REACH - 1];
            }
            sums[(i + 1) * columns + c] = sums[i * columns + c] + window / (2 * REACH + 1) as f32;
        }
    }
    sums
}
