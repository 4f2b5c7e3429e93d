//! The fusion boundary: one path from toe to toe below the original surfaces.
//!
//! Rays leave a point of the deposit and enter the members. Along each ray the
//! weld metal gives way to heat-affected metal and that to unaffected metal;
//! where is decided for all rays and both borders at once, by edge strength, and
//! by colours and grain learned on this picture in places whose metal is certain.
//! A second, fine look places the inner border, the fusion boundary, near where
//! the first found it, and in the middle of its etched line.

mod coarse;
mod etched_line;
mod grain;
mod pair;
mod rays;
mod samples;
mod sight;

use super::measurands;
use super::members::JointFrame;
use super::palette::Palette;
use super::surface::crest;
use super::toes::Toes;
use crate::base::geometry::{Joint, Point};
use crate::base::numeric::{Grid, optimal_path};
use crate::photo::Photo;
use crate::scale::PlaneMap;
use coarse::Coarse;
use rays::{COLUMN_MM, Rays};
use sight::Sight;

/// The fusion boundary from the nonbutting toe to the butting toe.
#[derive(Clone, Debug)]
pub struct Fusion {
    /// Points in order.
    pub points: Vec<Point<Joint>>,
    /// Standard uncertainty of each point's position across the boundary, mm,
    /// from the chances of all other paths.
    pub deviation_mm: Vec<f64>,
    /// Mean edge evidence, 0 … 1.
    pub clarity: f64,
    /// Mean colour evidence for weld metal inside against parent metal
    /// outside, in units of log-likelihood ratio; 0 = the colours are alike.
    pub contrast: f64,
    /// Length of it that lies under or behind glare, mm.
    pub hidden_mm: f64,
    /// Length of it that lies as deep as it was looked for, mm.
    pub at_limit_mm: f64,
}

impl Fusion {
    /// Whether so much of it is hidden by glare that its course there is a guess.
    pub fn is_hidden(&self) -> bool {
        self.hidden_mm >= MOST_HIDDEN_MM
    }

    /// Whether it may well run deeper than it was looked for.
    pub fn is_cut_off(&self) -> bool {
        self.at_limit_mm >= MOST_AT_LIMIT_MM
    }

    /// Standard uncertainty of the boundary's position where it is nearest to `p`, mm.
    pub fn deviation_near(&self, p: Point<Joint>) -> f64 {
        self.points
            .iter()
            .zip(&self.deviation_mm)
            .min_by(|a, b| a.0.distance(p).total_cmp(&b.0.distance(p)))
            .map_or(0.0, |(_, d)| *d)
    }

    /// How far behind the joint root it passes the line where the members meet, mm.
    pub fn behind_root_mm(&self) -> f64 {
        -measurands::faying(&self.points).1.x
    }

    /// Whether the picture shows the boundary well enough to state it.
    pub fn is_clear(&self) -> bool {
        self.clarity + CONTRAST_WEIGHT * self.contrast >= LEAST_MERIT
    }
}

/// Weight of colour evidence per mm and unit of log-likelihood ratio.
const COLOUR_WEIGHT: f32 = 0.8;
/// Cost of lying 1 mm deeper: of two equally clear borders the inner one is
/// the fusion boundary, the outer one that of the heat-affected band.
const DEPTH_COST: f32 = 0.05;
/// The heat-affected band used for the second look: this far outside the first path, mm.
const BAND_MM: (f64, f64) = (0.15, 1.2);
/// Rounds of path → colours of the band outside it → path.
const BAND_ROUNDS: usize = 2;
/// The fine look stays this close to the coarse one, mm.
const NEAR_MM: f64 = 0.25;
/// Crests are evened along the boundary, standard deviation in mm: a sample's own noise
/// moves them by some hundredths, and the boundary does not turn so fast.
const EVENED_MM: f64 = 0.12;
/// Clarity plus weighted contrast below which the boundary is not stated:
/// nothing in the picture tells it from any other line.
const LEAST_MERIT: f64 = 0.6;
const CONTRAST_WEIGHT: f64 = 0.4;
/// Colours are compared this far on either side of the boundary, mm.
const CONTRAST_MM: f64 = 0.4;
/// Lightness from which on nothing is seen any more, grey levels; white that hides
/// a ray, mm; hidden boundary from which on it is not stated, mm.
const WHITE: f32 = 250.0;
const HIDES_MM: f64 = 0.3;
const MOST_HIDDEN_MM: f64 = 0.8;

/// A boundary this near to the depth looked at may lie beyond it, mm; so much of it is too
/// much, mm.
const NEAR_LIMIT_MM: f64 = 0.15;
const MOST_AT_LIMIT_MM: f64 = 0.5;

/// Finds the boundary. `deepest` = largest penetration considered, mm. `quick`: well
/// enough to tell a weld from none; its deviations are left at 0.
pub fn trace(
    photo: &Photo,
    map: &PlaneMap,
    frame: &JointFrame,
    toes: &Toes,
    deepest: f64,
    quick: bool,
) -> Option<Fusion> {
    let sight = Sight::new(photo, map, frame, toes, Rays::new(frame, toes)?, deepest);
    let coarse = coarse::look(&sight, quick)?;
    let [weld, beside, parent] = &sight.certain;
    let mut path = finer(&sight, &coarse, &Palette::learn(weld, &[parent, beside]))?;
    let mut palette = learned_outside(&sight, &path);
    for _ in 0..BAND_ROUNDS {
        path = finer(&sight, &coarse, &palette)?;
        palette = learned_outside(&sight, &path);
    }
    let mut points: Vec<Point<Joint>> = etched_line::centred(&sight, evened(&sight, &path))
        .into_iter()
        .enumerate()
        .map(|(c, row)| frame.to_joint(sight.smooth.place(c, row)))
        .collect();
    // It ends in the toes.
    let last = points.len() - 1;
    (points[0], points[last]) = (toes.nonbutting, toes.butting);
    Some(Fusion {
        hidden_mm: length_where(&points, |c| is_hidden(&sight, c, path[c])),
        at_limit_mm: length_where(&points, |c| sight.is_deepest(c, path[c], NEAR_LIMIT_MM)),
        deviation_mm: path
            .iter()
            .enumerate()
            .map(|(c, r)| coarse.deviation_mm(c, *r))
            .collect(),
        clarity: mean(&path, |c, r| f64::from(sight.edge(c, r))),
        contrast: contrast(&sight, &path, &palette),
        points,
    })
}

/// The best single path near the coarse look, row by row of the sight.
fn finer(sight: &Sight, coarse: &Coarse, palette: &Palette) -> Option<Vec<usize>> {
    let step = sight.step_mm();
    let near = (NEAR_MM / step) as usize;
    let rows = sight.smooth.rows;
    let mut grid = Grid::filled(sight.columns(), rows, f32::INFINITY);
    for (c, middle) in coarse.rows.iter().enumerate() {
        let mut inside = 0.0f32;
        for r in 0..rows - 1 {
            inside -= COLOUR_WEIGHT * step as f32 * palette.ratio(sight.raw.column(c)[r]);
            if sight.allowed(c, r) && r.abs_diff(*middle) <= near {
                let depth = DEPTH_COST * (sight.smooth.offset_mm(r as f64) as f32);
                grid.column_mut(c)[r] = 1.0 - sight.edge(c, r) + inside + depth;
            }
        }
    }
    let bend = coarse::BEND.0 * ((step / COLUMN_MM).powi(2)) as f32;
    optimal_path(&grid, coarse.steepest, bend).map(|(path, _)| path)
}

/// Colours of weld metal against all else: what lies just outside a path is parent metal
/// too, whatever heat did to its colour.
fn learned_outside(sight: &Sight, path: &[usize]) -> Palette {
    let [weld, beside, parent] = &sight.certain;
    let rows = |mm: f64| (mm / sight.step_mm()) as usize;
    let mut near = parent.clone();
    for (c, r) in path.iter().enumerate() {
        let to = (r + rows(BAND_MM.1)).min(sight.raw.rows);
        let column = sight.raw.column(c);
        near.extend(column.get(r + rows(BAND_MM.0)..to).unwrap_or(&[]));
    }
    Palette::learn(weld, &[&near, beside])
}

/// Rows with fractions: crests near the path, evened along it.
fn evened(sight: &Sight, path: &[usize]) -> Vec<f64> {
    let crests: Vec<f64> = path
        .iter()
        .enumerate()
        .map(|(c, r)| crest(&sight.smooth, c, *r))
        .collect();
    let sigma = EVENED_MM / COLUMN_MM;
    let half = (4.0 * sigma) as usize;
    (0..crests.len())
        .map(|c| {
            let range = c.saturating_sub(half)..(c + half + 1).min(crests.len());
            let weight = |k: usize| (-0.5 * (k.abs_diff(c) as f64 / sigma).powi(2)).exp();
            let all: f64 = range.clone().map(weight).sum();
            range.map(|k| weight(k) * crests[k]).sum::<f64>() / all
        })
        .collect()
}

/// Mean of a figure over the columns.
fn mean(path: &[usize], figure: impl Fn(usize, usize) -> f64) -> f64 {
    let sum: f64 = path.iter().enumerate().map(|(c, r)| figure(c, *r)).sum();
    sum / path.len() as f64
}

/// Mean colour evidence for weld metal inside against other metal outside.
fn contrast(sight: &Sight, path: &[usize], palette: &Palette) -> f64 {
    let d = (CONTRAST_MM / sight.step_mm()) as usize;
    mean(path, |c, r| {
        let at = |r: usize| palette.ratio(sight.smooth.column(c)[r]);
        let outside = (r + d).min(sight.raw.rows - 1);
        f64::from(at(r.saturating_sub(d)) - at(outside)) / 2.0
    })
}

/// Length of the boundary where something holds of both neighbouring columns, mm.
fn length_where(points: &[Point<Joint>], holds: impl Fn(usize) -> bool) -> f64 {
    let holds: Vec<bool> = (0..points.len()).map(holds).collect();
    points
        .windows(2)
        .zip(holds.windows(2))
        .filter(|(_, holds)| holds[0] && holds[1])
        .map(|(w, _)| w[0].distance(w[1]))
        .sum()
}

/// Whether a column's boundary lies under or behind glare.
fn is_hidden(sight: &Sight, c: usize, row: usize) -> bool {
    let reach = (BAND_MM.1 / sight.step_mm()) as usize;
    let to = (row + reach).min(sight.raw.rows);
    let white = sight.raw.column(c)[..to].iter();
    white.filter(|v| v[0] >= WHITE).count() as f64 * sight.step_mm() >= HIDES_MM
}
