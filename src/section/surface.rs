//! A member's original surface, to sub-pixel, from its bare stretch.
//!
//! The edge between plate and surroundings is often accompanied by others: the
//! outer border of a visible side wall, a shadow. The plate's own edge is the
//! innermost clear one, seen from inside the plate.

use super::strip::Strip;
use crate::base::geometry::{Line, Mm, Point, Vector};
use crate::base::numeric::{Grid, median, optimal_path, quantile};
use crate::photo::Photo;
use crate::scale::PlaneMap;

/// A surface line with the scatter of its edge points.
#[derive(Clone, Copy, Debug)]
pub struct Surface {
    /// The line.
    pub line: Line<Mm>,
    /// Standard deviation of the edge points about the line, mm.
    pub scatter_mm: f64,
    /// Standard uncertainty of the whole line's place besides that scatter, mm.
    pub placed_mm: f64,
    /// Length of bare surface it rests on, mm.
    pub support_mm: f64,
    /// Mean evidence of the edge, 0 … 1.
    pub clarity: f64,
    /// Middle of the bare surface it rests on.
    pub middle: Point<Mm>,
    /// Standard uncertainty of its direction, radians.
    pub turn: f64,
}

impl Surface {
    /// The same surface with its direction known from its plate's other surface,
    /// too: the two of a rolled plate are parallel, and a short bare stretch
    /// beside a large weld says little of where the surface runs under it. As it
    /// is when the two directions do not go together.
    pub fn turned_to(self, back: &Self) -> Self {
        let apart = back.line.direction.cross(self.line.direction);
        let apart = if back.line.direction.dot(self.line.direction) < 0.0 {
            -apart
        } else {
            apart
        };
        let (own, other) = (self.turn.powi(2), back.turn.powi(2) + PARALLEL_RAD.powi(2));
        if apart.abs() > AGREE_U * (own + other).sqrt() {
            return self;
        }
        let angle = self.line.direction.angle() - apart * own / (own + other);
        let turned = Line::new(self.middle, Vector::from_angle(angle));
        let zero = turned.at(turned.along(self.line.point));
        Self {
            line: Line::new(zero, turned.direction),
            turn: (own * other / (own + other)).sqrt(),
            ..self
        }
    }
}

/// How parallel the two surfaces of a plate are, radians: a tenth of a millimetre
/// of thickness over some four centimetres (common practice, no source).
const PARALLEL_RAD: f64 = 0.0025;
/// Directions may differ by this many standard uncertainties of their difference.
const AGREE_U: f64 = 3.0;
/// A straight edge is not placed better than this, px.
const LEAST_NOISE_PX: f64 = 0.2;
/// Length over which the waviness of a plate's edge is one and the same, mm.
const WAVE_MM: f64 = 1.0;

/// Searched to each side of the first guess, mm.
const REACH_MM: f64 = 1.3;
/// Cost of choosing an edge 1 mm further out than another equally clear one.
const OUTWARD_COST: f32 = 0.45;

/// A clear place of an edge lies within this of the edge's crest, mm.
const FLANK_MM: f64 = 0.15;

/// Refines the surface that starts at `origin` along `direction`, bare between
/// `from` and `to` mm; `outward` points out of the plate. `None` when no edge
/// is there.
pub fn refine(
    photo: &Photo,
    map: &PlaneMap,
    origin: Point<Mm>,
    direction: Vector<Mm>,
    outward: Vector<Mm>,
    (from, to): (f64, f64),
) -> Option<Surface> {
    let mut line = Line::new(origin, direction);
    let mut result = None;
    for (reach, step_factor) in [(REACH_MM, 1.0), (0.4, 0.5)] {
        let px_mm = 1.0 / map.px_per_mm_at(line.at(0.5 * (from + to)));
        let step = (px_mm * step_factor).max(0.02 * step_factor).min(0.05);
        let along_step: f64 = 0.1;
        let count = ((to - from).max(0.0) / along_step).floor() as usize + 1;
        if count < 8 {
            return None;
        }
        let normal = line.normal();
        let out = if normal.dot(outward) >= 0.0 {
            normal
        } else {
            -normal
        };
        let spine: Vec<Point<Mm>> = (0..count)
            .map(|i| line.at(from + i as f64 * along_step))
            .collect();
        let strip = Strip::new(photo, map, spine, vec![out; count], -reach, reach, step);
        // Texture averages out along half a millimetre; two samples across
        // keep the edge where it is.
        let smooth = strip.smoothed(0.4 / along_step, (0.04 / step).max(1.0));
        let inside = smooth.row_at(-0.55 * reach);
        let mut texture: Vec<f64> = Vec::new();
        for c in 0..count {
            for r in 1..inside {
                texture.push(f64::from(smooth.slope(c, r)));
            }
        }
        let noise = (quantile(&texture, 0.9) as f32).max(0.05);
        let mut grid = Grid::filled(count, smooth.rows, 1.0);
        for c in 0..count {
            for r in 1..smooth.rows - 1 {
                let relative = smooth.slope(c, r) / (2.0 * noise);
                let e = relative * relative / (1.0 + relative * relative);
                let out_mm = smooth.offset_mm(r as f64) as f32;
                grid.column_mut(c)[r] = 1.0 - e + OUTWARD_COST * out_mm;
            }
        }
        let (path, _) = optimal_path(&grid, 1, 0.05)?;
        let mut points = Vec::with_capacity(count);
        let mut clarity = 0.0;
        let mut climbs = Vec::with_capacity(count);
        for (c, &r) in path.iter().enumerate() {
            clarity += f64::from(
                1.0 - grid.column(c)[r] + OUTWARD_COST * smooth.offset_mm(r as f64) as f32,
            );
            let on_flank = crest(&smooth, c, r);
            points.push(smooth.place(c, on_flank));
            climbs.push(crest(&smooth, c, uphill(&smooth, c, r)) - on_flank);
        }
        // All of it moves as half of it does: where no edge shows, a flank is noise.
        let climb = out * (median(&climbs) * step);
        points.iter_mut().for_each(|p| *p = *p + climb);
        let (fitted, weights) = Line::fit_robust(&points, 0.3 * px_mm)?;
        let sum: f64 = weights.iter().sum();
        let scatter = (points
            .iter()
            .zip(&weights)
            .map(|(p, w)| w * fitted.signed_distance(*p).powi(2))
            .sum::<f64>()
            / sum.max(1e-9))
        .sqrt();
        let direction = if fitted.direction.dot(direction) >= 0.0 {
            fitted.direction
        } else {
            -fitted.direction
        };
        // Keep the line's zero at the foot of the first guess's origin.
        let foot = fitted.at(fitted.along(origin));
        line = Line::new(foot, direction);
        let mean: f64 = points
            .iter()
            .zip(&weights)
            .map(|(p, w)| w * line.along(*p))
            .sum::<f64>()
            / sum.max(1e-9);
        let spread: f64 = points
            .iter()
            .zip(&weights)
            .map(|(p, w)| w * (line.along(*p) - mean).powi(2))
            .sum();
        let noise = scatter.hypot(LEAST_NOISE_PX * px_mm);
        result = Some(Surface {
            middle: line.at(mean),
            turn: noise * (WAVE_MM / along_step).sqrt() / spread.sqrt().max(1e-6),
            line,
            scatter_mm: scatter,
            placed_mm: 0.0,
            support_mm: sum * along_step,
            clarity: clarity / count as f64,
        });
    }
    result
}

/// The row on top of the flank that `r` lies on, [`FLANK_MM`] away at most: the innermost
/// clear place of an edge that a rounded rim or a soft lens draws wide is not its middle.
fn uphill(strip: &Strip, c: usize, r: usize) -> usize {
    let most = (FLANK_MM / strip.step_mm) as usize;
    let slope = |r: usize| strip.slope(c, r);
    let mut top = r;
    let within = |r: &usize| *r >= 1 && *r + 1 < strip.rows;
    while let Some(next) = [top + 1, top.saturating_sub(1)]
        .into_iter()
        .filter(|n| within(n) && n.abs_diff(r) <= most && slope(*n) > slope(top))
        .max_by(|a, b| slope(*a).total_cmp(&slope(*b)))
    {
        top = next;
    }
    top
}

/// The row of greatest slope near `r`, by a parabola through three rows.
pub fn crest(strip: &Strip, c: usize, r: usize) -> f64 {
    let low = r.saturating_sub(2).max(1);
    let high = (r + 2).min(strip.rows - 2);
    let top = (low..=high)
        .max_by(|a, b| strip.slope(c, *a).total_cmp(&strip.slope(c, *b)))
        .unwrap_or(r);
    if top <= 1 || top + 2 >= strip.rows {
        return top as f64;
    }
    let (a, b, d) = (
        strip.slope(c, top - 1),
        strip.slope(c, top),
        strip.slope(c, top + 1),
    );
    let curve = a - 2.0 * b + d;
    if curve >= 0.0 {
        top as f64
    } else {
        top as f64 + f64::from((0.5 * (a - d) / curve).clamp(-0.5, 0.5))
    }
}
