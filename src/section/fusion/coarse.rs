//! The coarse look: both lines at once, by edges and by colours that are learned again
//! beside the lines found; and how far apart several such looks are.

use super::grain::Stripes;
use super::pair::{self, Lattice, Motion};
use super::rays::COLUMN_MM;
use super::sight::{Sight, Step};
use super::{COLOUR_WEIGHT, DEPTH_COST};
use crate::base::numeric::quantile;
use crate::section::palette::Kinds;

/// Row of the lattice, mm.
const ROW_MM: f64 = 0.1;
/// Widest heat-affected band, mm.
const WIDEST_BAND_MM: f64 = 4.0;
/// Weight of the edge at the band's outer border against that at the fusion
/// boundary: the band fades out where the fusion boundary breaks off.
const OUTER_EDGE: f32 = 0.5;
/// Cost of a step of one column's width, fusion boundary and outer border.
pub const BEND: (f32, f32) = (0.15, 0.3);
/// Steepest step, column widths a column.
const STEEPEST: f64 = 2.0;
/// Cost that makes a pair of lines e times less likely.
const TEMPERATURE: f32 = 1.0;
/// Times both lines are found again with colours learned beside them, clear of them by
/// this, mm.
const RELEARNED: usize = 2;
const CLEAR_MM: f64 = 0.15;
/// Cost of a band half or twice as wide as it mostly is: heat spreads about as far
/// everywhere.
const WIDTH_COST: f32 = 0.15;
/// Cost of calling the gap between the members weld metal.
const GAP_COST: f32 = 1.5;
/// Weight of contrast square to the rays, per mm and unit of log-likelihood ratio: as
/// learned beside the lines, and as learned far off, where grinding marks may run
/// otherwise against the rays.
const GRAIN_WEIGHT: f32 = 0.4;
const FAR_GRAIN_WEIGHT: f32 = 0.2;
/// A look that doubts the colours gives them this share of their weight.
const DOUBTING: f32 = 0.4;
/// Standard uncertainty of a place, as a share of how far apart looks have it.
const APART: f64 = 0.5;

/// The fusion boundary as the coarse look has it.
pub struct Coarse {
    /// Row of the sight, one a column.
    pub rows: Vec<usize>,
    /// How far the boundary may move from column to column, rows of the sight.
    pub steepest: usize,
    chances: Vec<f32>,
    apart_mm: Vec<f64>,
    fold: usize,
    step_mm: f64,
}

impl Coarse {
    /// Standard uncertainty of the boundary placed at a row of a column, mm: by the
    /// chances of all other rows, and by what other looks saw.
    pub fn deviation_mm(&self, c: usize, row: usize) -> f64 {
        let rows = self.chances.len() / self.rows.len();
        let variance: f64 = self.chances[c * rows..(c + 1) * rows]
            .iter()
            .enumerate()
            .map(|(k, p)| {
                let off = (k * self.fold + self.fold / 2) as f64 - row as f64;
                f64::from(*p) * (off * self.step_mm).powi(2)
            })
            .sum();
        variance.sqrt().hypot(APART * self.apart_mm[c])
    }
}

/// Looks for both lines. `None` where no pair is possible. `quick`: once, by the colours
/// that were certain from the start, and without chances.
pub fn look(sight: &Sight, quick: bool) -> Option<Coarse> {
    let step_mm = sight.step_mm();
    let fold = (ROW_MM / step_mm).round().max(1.0) as usize;
    let row_mm = fold as f64 * step_mm;
    let per_row = (row_mm / COLUMN_MM).powi(2) as f32;
    let motion = Motion {
        steepest: (STEEPEST * COLUMN_MM / row_mm).ceil() as usize,
        bend: (BEND.0 * per_row, BEND.1 * per_row),
        widest: (WIDEST_BAND_MM / row_mm) as usize,
    };
    let mut lattice = lattice(sight, &Known::beforehand(sight), fold, COLOUR_WEIGHT);
    let (mut inner, mut outer) = pair::cheapest(&lattice, motion)?;
    let mut looks = Vec::new();
    let rounds = if quick { 0 } else { RELEARNED };
    for round in 1..=rounds {
        let known = Known::beside(sight, &inner, &outer, fold, motion.widest);
        looks.push(inner);
        if round == RELEARNED {
            let doubting = self::lattice(sight, &known, fold, DOUBTING * COLOUR_WEIGHT);
            looks.push(pair::cheapest(&doubting, motion)?.0);
        }
        lattice = self::lattice(sight, &known, fold, COLOUR_WEIGHT);
        (inner, outer) = pair::cheapest(&lattice, motion)?;
    }
    let apart_mm = (0..inner.len())
        .map(|c| {
            let apart = looks.iter().map(|look| look[c].abs_diff(inner[c])).max();
            apart.unwrap_or(0) as f64 * row_mm
        })
        .collect();
    Some(Coarse {
        rows: inner.iter().map(|r| r * fold + fold / 2).collect(),
        // As the lattice may, so that a finer look can stay near this one.
        steepest: motion.steepest * fold,
        chances: if quick {
            Vec::new()
        } else {
            pair::chances(&lattice, motion, TEMPERATURE)
        },
        apart_mm,
        fold,
        step_mm,
    })
}

/// What is known of this picture's metals and lines.
struct Known {
    /// Colours of weld metal, heat-affected band and parent metal.
    kinds: Kinds<3>,
    /// Coarse grain against fine.
    stripes: Stripes,
    /// Weight of the grain.
    stripes_weight: f32,
    /// How colours change across the fusion boundary and the band's outer border.
    steps: [Step; 2],
    /// What a band of each width costs; empty = all alike.
    width: Vec<f32>,
}

impl Known {
    /// By what was certain from the start.
    fn beforehand(sight: &Sight) -> Self {
        let [weld, band, parent] = &sight.certain;
        let [coarse, fine] = &sight.certain_grain;
        Self {
            kinds: Kinds::learn([weld, band, parent]),
            stripes: Stripes::learn(coarse, fine),
            stripes_weight: FAR_GRAIN_WEIGHT,
            steps: [Step::UNKNOWN, Step::UNKNOWN],
            width: Vec::new(),
        }
    }

    /// And by what lies beside two lines found.
    fn beside(sight: &Sight, inner: &[usize], outer: &[usize], fold: usize, widest: usize) -> Self {
        let middles =
            |rows: &[usize]| -> Vec<usize> { rows.iter().map(|r| r * fold + fold / 2).collect() };
        Self {
            kinds: learned_beside(sight, inner, outer, fold),
            stripes: stripes_beside(sight, inner, fold),
            stripes_weight: GRAIN_WEIGHT,
            steps: [inner, outer].map(|rows| sight.step_across(&middles(rows))),
            width: width_costs(inner, outer, widest),
        }
    }
}

/// The evidence of edges, colours and grain, `fold` rows of the sight to one of the lattice.
fn lattice(sight: &Sight, known: &Known, fold: usize, weight: f32) -> Lattice {
    let columns = sight.columns();
    let rows = sight.raw.rows / fold;
    let mut lattice = Lattice {
        columns,
        rows,
        inner: vec![f32::INFINITY; columns * rows],
        outer: vec![1.0; columns * rows],
        weld: vec![0.0; columns * rows],
        band: vec![0.0; columns * rows],
        width: known.width.clone(),
    };
    let step = sight.step_mm() as f32;
    let weight = weight * step;
    for (c, gap) in sight.gap.iter().enumerate() {
        if let Some(r) = gap.filter(|r| r / fold < rows) {
            lattice.weld[c * rows + r / fold] += GAP_COST;
        }
        for r in 0..rows * fold {
            let i = c * rows + r / fold;
            let [weld, band, parent] = known.kinds.of(sight.raw.column(c)[r]);
            lattice.weld[i] += weight * (parent - weld);
            lattice.weld[i] -=
                known.stripes_weight * step * known.stripes.ratio(sight.grain.column(c)[r]);
            lattice.band[i] += weight * (parent - band);
            let outer = 1.0 - sight.edge_like(c, r, &known.steps[1]);
            lattice.outer[i] = lattice.outer[i].min(OUTER_EDGE * outer);
            let cost = 1.0 - sight.edge_like(c, r, &known.steps[0]);
            if sight.allowed(c, r) {
                let depth = DEPTH_COST * sight.smooth.offset_mm(r as f64) as f32;
                lattice.inner[i] = lattice.inner[i].min(cost + depth);
            }
        }
    }
    lattice
}

/// What a band of each width costs, given the widths found.
fn width_costs(inner: &[usize], outer: &[usize], widest: usize) -> Vec<f32> {
    let widths: Vec<f64> = inner
        .iter()
        .zip(outer)
        .map(|(inner, outer)| (outer - inner) as f64)
        .collect();
    let usual = quantile(&widths, 0.5);
    (1..=widest)
        .map(|w| WIDTH_COST * (w as f64 / usual).log2().powi(2) as f32)
        .collect()
}

/// Colours on either side of the two lines, besides those that were certain: they say
/// more of this place than what lies farther off.
fn learned_beside(sight: &Sight, inner: &[usize], outer: &[usize], fold: usize) -> Kinds<3> {
    let [mut weld, mut band, mut parent] = sight.certain.clone();
    let clear = (CLEAR_MM / sight.step_mm()) as usize;
    for c in 0..sight.columns() {
        let (inner, outer) = (inner[c] * fold, outer[c] * fold);
        for (r, colour) in sight.raw.column(c).iter().enumerate().skip(sight.first) {
            if r + clear < inner {
                weld.push(*colour);
            } else if r > inner + fold + clear && r + clear < outer {
                band.push(*colour);
            } else if r > outer + fold + clear {
                parent.push(*colour);
            }
        }
    }
    Kinds::learn([&weld, &band, &parent])
}

/// Contrast on either side of the fusion boundary, besides what was certain.
fn stripes_beside(sight: &Sight, inner: &[usize], fold: usize) -> Stripes {
    let [mut weld, mut other] = sight.certain_grain.clone();
    let clear = (CLEAR_MM / sight.step_mm()) as usize;
    for (c, inner) in inner.iter().enumerate() {
        let column = &sight.grain.column(c)[sight.first..];
        let inner = (inner * fold).saturating_sub(sight.first);
        weld.extend(&column[..inner.saturating_sub(clear)]);
        other.extend(column.iter().skip(inner + fold + clear));
    }
    Stripes::learn(&weld, &other)
}
