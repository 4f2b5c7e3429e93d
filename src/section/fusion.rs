//! The fusion boundary: one path from toe to toe below the original surfaces.
//!
//! Rays leave a point of the deposit and enter the members. Along each ray the
//! weld metal gives way to heat-affected metal and that to unaffected metal;
//! where is decided for all rays and both borders at once, by edge strength and
//! by colours learned on this picture in places whose metal is certain. A
//! second, fine look places the inner border, the fusion boundary, near where
//! the first found it.

mod pair;
mod samples;

use super::measurands;
use super::members::JointFrame;
use super::palette::Palette;
use super::strip::Strip;
use super::surface::crest;
use super::toes::Toes;
use crate::base::geometry::{Joint, Mm, Point, Vector, centroid};
use crate::base::numeric::{Grid, optimal_path, quantile};
use crate::photo::Photo;
use crate::scale::PlaneMap;
use pair::{Lattice, Motion};
use samples::{band_beside_toes, parent_samples, weld_samples};

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
}

impl Fusion {
    /// Whether so much of it is hidden by glare that its course there is a guess.
    pub fn is_hidden(&self) -> bool {
        self.hidden_mm >= MOST_HIDDEN_MM
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

/// Width of a column at the original surface, mm.
const COLUMN_MM: f64 = 0.12;
/// Weight of colour evidence per mm and unit of log-likelihood ratio.
const COLOUR_WEIGHT: f32 = 0.8;
/// Cost of lying 1 mm deeper: of two equally clear borders the inner one is
/// the fusion boundary, the outer one that of the heat-affected band.
const DEPTH_COST: f32 = 0.05;
/// The heat-affected band used for the second look: this far outside the first path, mm.
const BAND_MM: (f64, f64) = (0.15, 1.2);
/// Rounds of path → colours of the band outside it → path.
const BAND_ROUNDS: usize = 2;
/// Row of the coarse lattice both borders are found in, mm.
const COARSE_MM: f64 = 0.1;
/// Widest heat-affected band, mm, and the depth looked at beyond the deepest
/// penetration to see its outer edge.
const WIDEST_BAND_MM: f64 = 4.0;
const BEYOND_MM: f64 = 2.5;
/// Weight of the edge at the band's outer border against that at the fusion
/// boundary: the band fades out where the fusion boundary breaks off.
const OUTER_EDGE: f32 = 0.5;
/// Cost of a step of one column's width, fusion boundary and outer border.
const BEND: (f32, f32) = (0.15, 0.3);
/// The fine look stays this close to the coarse one, mm.
const NEAR_MM: f64 = 0.25;
/// Cost that makes a path e times less likely.
const TEMPERATURE: f32 = 1.0;
/// Clarity plus weighted contrast below which the boundary is not stated:
/// nothing in the picture tells it from any other line.
const LEAST_MERIT: f64 = 0.6;
/// Lightness from which on nothing is seen any more, grey levels; white that hides
/// a ray, mm; hidden boundary from which on it is not stated, mm.
const WHITE: f32 = 250.0;
const HIDES_MM: f64 = 0.3;
const MOST_HIDDEN_MM: f64 = 0.8;
const CONTRAST_WEIGHT: f64 = 0.4;

/// Finds the boundary. `deepest` = largest penetration considered, mm.
pub fn trace(
    photo: &Photo,
    map: &PlaneMap,
    frame: &JointFrame,
    toes: &Toes,
    deepest: f64,
) -> Option<Fusion> {
    let root = Point::<Joint>::new(0.0, 0.0);
    let psi = frame.dihedral();
    let centre = centroid(&[root, toes.nonbutting, toes.butting])?;
    let riser = frame.butting_direction();
    let columns_on = |leg: f64| (leg / COLUMN_MM).ceil() as usize;
    let (leg_n, leg_b) = (toes.nonbutting.x, toes.butting.distance(root));
    // Entry points run down the nonbutting surface to the root and up the butting surface.
    let mut entries: Vec<Point<Joint>> = Vec::new();
    let n = columns_on(leg_n);
    entries.extend((0..n).map(|i| Point::new(leg_n * (1.0 - i as f64 / n as f64), 0.0)));
    let n_root = entries.len();
    let b = columns_on(leg_b);
    entries.extend((0..=b).map(|i| root + riser * (leg_b * i as f64 / b as f64)));
    // Around the root the rays fan out fast: add rays between, so that columns
    // stay close together at depth.
    let entries = fan(entries, n_root, centre);
    let columns = entries.len();
    let spine: Vec<Point<Mm>> = entries.iter().map(|p| frame.to_plane(*p)).collect();
    let across: Vec<Vector<Mm>> = entries
        .iter()
        .zip(&spine)
        .map(|(p, s)| frame.to_plane(*p + (*p - centre).unit()) - *s)
        .collect();
    let px_mm = 1.0 / map.px_per_mm_at(frame.root);
    let step = (0.7 * px_mm).clamp(0.02, 0.06);
    let raw = Strip::new(photo, map, spine, across, -0.3, deepest + BEYOND_MM, step);
    // Grain and grinding marks average out along the boundary; across it the
    // boundary itself is sharp.
    let smooth = raw.smoothed(0.35 / COLUMN_MM, (0.05 / step).max(1.0));

    let weld = weld_samples(photo, map, frame, toes);
    let parent = parent_samples(photo, map, frame, toes, deepest, psi);
    let beside = band_beside_toes(photo, map, frame, toes);
    let slopes: Vec<f64> = (0..columns)
        .flat_map(|c| (0..smooth.rows).step_by(3).map(move |r| (c, r)))
        .map(|(c, r)| f64::from(smooth.slope(c, r)))
        .collect();
    let noise = (quantile(&slopes, 0.6) as f32).max(0.02);
    let least = smooth.row_at(0.0);
    let edge = |c: usize, r: usize| {
        let relative = smooth.slope(c, r) / (2.5 * noise);
        1.0 / (1.0 + relative * relative)
    };
    // At the ends the boundary has to run into the toes.
    let allowed = |c: usize, r: usize| {
        r >= least.max(1)
            && smooth.offset_mm(r as f64) <= deepest
            && (c > 0 && c + 1 < columns || r <= least + (0.25 / step) as usize)
    };
    let lattice = {
        let by_weld = Palette::learn(&weld, &[&parent]);
        let by_band = Palette::learn(&beside, &[&parent]);
        let fold = (COARSE_MM / step).round().max(1.0) as usize;
        let rows = raw.rows / fold;
        let mut lattice = Lattice {
            columns,
            rows,
            inner: vec![f32::INFINITY; columns * rows],
            outer: vec![1.0; columns * rows],
            weld: vec![0.0; columns * rows],
            band: vec![0.0; columns * rows],
        };
        for c in 0..columns {
            for r in 0..rows * fold {
                let i = c * rows + r / fold;
                let colour = raw.column(c)[r];
                lattice.weld[i] -= COLOUR_WEIGHT * step as f32 * by_weld.ratio(colour);
                lattice.band[i] -= COLOUR_WEIGHT * step as f32 * by_band.ratio(colour);
                let cost = edge(c, r);
                lattice.outer[i] = lattice.outer[i].min(OUTER_EDGE * cost);
                if allowed(c, r) {
                    let depth = DEPTH_COST * smooth.offset_mm(r as f64) as f32;
                    lattice.inner[i] = lattice.inner[i].min(cost + depth);
                }
            }
        }
        (lattice, fold)
    };
    let (lattice, fold) = lattice;
    let coarse_mm = fold as f64 * step;
    let per_row = (coarse_mm / COLUMN_MM).powi(2) as f32;
    let motion = Motion {
        steepest: ((2.0 * COLUMN_MM) / coarse_mm).ceil() as usize,
        bend: (BEND.0 * per_row, BEND.1 * per_row),
        widest: (WIDEST_BAND_MM / coarse_mm) as usize,
    };
    let (coarse, _) = pair::cheapest(&lattice, motion)?;
    let middle = |c: usize| coarse[c] * fold + fold / 2;
    let solve = |palette: &Palette| {
        let near = (NEAR_MM / step) as usize;
        let mut grid = Grid::filled(columns, smooth.rows, f32::INFINITY);
        for c in 0..columns {
            let mut inside = 0.0f32;
            for r in 0..smooth.rows - 1 {
                inside -= COLOUR_WEIGHT * step as f32 * palette.ratio(raw.column(c)[r]);
                if allowed(c, r) && r.abs_diff(middle(c)) <= near {
                    grid.column_mut(c)[r] =
                        edge(c, r) + inside + DEPTH_COST * (smooth.offset_mm(r as f64) as f32);
                }
            }
        }
        let steepest = ((2.0 * COLUMN_MM) / step).ceil().max(2.0) as usize;
        let bend = BEND.0 * ((step / COLUMN_MM).powi(2)) as f32;
        optimal_path(&grid, steepest, bend).map(|(path, _)| path)
    };
    // What lies just outside a path is parent metal too, whatever heat did to
    // its colour.
    let with_band = |path: &[usize]| {
        let mut near = parent.clone();
        for (c, &r) in path.iter().enumerate() {
            let from = r + (BAND_MM.0 / step) as usize;
            let to = (r + (BAND_MM.1 / step) as usize).min(raw.rows);
            near.extend(raw.column(c).get(from..to).unwrap_or(&[]));
        }
        Palette::learn(&weld, &[&near, &beside])
    };
    let clarity_of = |path: &[usize]| {
        let sum: f32 = path
            .iter()
            .enumerate()
            .map(|(c, &r)| {
                let relative = smooth.slope(c, r) / (2.5 * noise);
                relative * relative / (1.0 + relative * relative)
            })
            .sum();
        f64::from(sum) / columns as f64
    };
    let contrast_of = |path: &[usize], palette: &Palette| {
        let d = (0.4 / step) as usize;
        let sum: f32 = path
            .iter()
            .enumerate()
            .map(|(c, &r)| {
                let (inner, outer) = (r.saturating_sub(d), (r + d).min(raw.rows - 1));
                palette.ratio(smooth.column(c)[inner]) - palette.ratio(smooth.column(c)[outer])
            })
            .sum();
        f64::from(sum) / (2.0 * columns as f64)
    };
    let mut path = solve(&Palette::learn(&weld, &[&parent, &beside]))?;
    let mut palette = with_band(&path);
    for _ in 0..BAND_ROUNDS {
        path = solve(&palette)?;
        palette = with_band(&path);
    }
    let (clarity, contrast) = (clarity_of(&path), contrast_of(&path, &palette));

    let chances = pair::chances(&lattice, motion, TEMPERATURE);
    let mut points = Vec::with_capacity(columns);
    let mut deviation_mm = Vec::with_capacity(columns);
    for (c, &r) in path.iter().enumerate() {
        let place = if c == 0 {
            toes.nonbutting
        } else if c + 1 == columns {
            toes.butting
        } else {
            frame.to_joint(smooth.place(c, crest(&smooth, c, r)))
        };
        points.push(place);
        let variance: f64 = chances[c * lattice.rows..(c + 1) * lattice.rows]
            .iter()
            .enumerate()
            .map(|(k, p)| {
                let off = (k * fold + fold / 2) as f64 - r as f64;
                f64::from(*p) * (off * step).powi(2)
            })
            .sum();
        deviation_mm.push(variance.sqrt());
    }
    let hidden: Vec<bool> = path
        .iter()
        .enumerate()
        .map(|(c, &r)| {
            let to = (r + (BAND_MM.1 / step) as usize).min(raw.rows);
            let white = raw.column(c)[..to].iter().filter(|v| v[0] >= WHITE).count();
            white as f64 * step >= HIDES_MM
        })
        .collect();
    let hidden_mm = points
        .windows(2)
        .zip(hidden.windows(2))
        .filter(|(_, hidden)| hidden[0] && hidden[1])
        .map(|(w, _)| w[0].distance(w[1]))
        .sum();
    Some(Fusion {
        hidden_mm,
        points,
        deviation_mm,
        clarity,
        contrast,
    })
}

/// Adds entry points near the root so that neighbouring rays stay within a
/// column's width at some depth.
fn fan(entries: Vec<Point<Joint>>, at_root: usize, centre: Point<Joint>) -> Vec<Point<Joint>> {
    let depth = 1.5;
    let mut out = Vec::new();
    for (i, p) in entries.iter().enumerate() {
        out.push(*p);
        let Some(next) = entries.get(i + 1) else {
            break;
        };
        if i.abs_diff(at_root) > 12 {
            continue;
        }
        let spread = ((*p - centre).unit() - (*next - centre).unit()).length()
            * (centre.distance(*p) + depth);
        let extra = (spread / COLUMN_MM).round() as usize;
        for k in 1..extra {
            out.push(p.lerp(*next, k as f64 / extra as f64));
        }
    }
    out
}
