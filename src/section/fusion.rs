//! The fusion boundary: one path from toe to toe below the original surfaces.
//!
//! Rays leave a point of the deposit and enter the members. Along each ray the
//! weld metal gives way to parent metal; where it does is decided for all rays
//! at once, by edge strength and by colours learned on this picture: certain
//! weld metal (the deposit's inside) against certain parent metal (the plates
//! far off, and the heat-affected band once a first path is known).

use super::members::JointFrame;
use super::palette::Palette;
use super::strip::Strip;
use super::surface::crest;
use super::toes::Toes;
use crate::base::geometry::{Joint, Mm, Point, Vector, centroid, contains};
use crate::base::numeric::{Grid, optimal_path, quantile};
use crate::photo::Photo;
use crate::scale::PlaneMap;

/// The fusion boundary from the nonbutting toe to the butting toe.
#[derive(Clone, Debug)]
pub struct Fusion {
    /// Points in order.
    pub points: Vec<Point<Joint>>,
    /// Mean edge evidence, 0 … 1.
    pub clarity: f64,
    /// Mean colour evidence for weld metal inside against parent metal
    /// outside, in units of log-likelihood ratio; 0 = the colours are alike.
    pub contrast: f64,
}

impl Fusion {
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
/// Clarity plus weighted contrast below which the boundary is not stated:
/// nothing in the picture tells it from any other line.
const LEAST_MERIT: f64 = 0.6;
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
    let raw = Strip::new(photo, map, spine, across, -0.3, deepest, step);
    // Grain and grinding marks average out along the boundary; across it the
    // boundary itself is sharp.
    let smooth = raw.smoothed(0.35 / COLUMN_MM, (0.05 / step).max(1.0));

    let weld = weld_samples(photo, map, frame, toes);
    let parent = parent_samples(photo, map, frame, toes, deepest, psi);
    let slopes: Vec<f64> = (0..columns)
        .flat_map(|c| (0..smooth.rows).step_by(3).map(move |r| (c, r)))
        .map(|(c, r)| f64::from(smooth.slope(c, r)))
        .collect();
    let noise = (quantile(&slopes, 0.6) as f32).max(0.02);
    let least = smooth.row_at(0.0);
    let solve = |palette: &Palette| {
        let mut grid = Grid::filled(columns, smooth.rows, f32::INFINITY);
        for c in 0..columns {
            let mut inside = 0.0f32;
            for r in 0..smooth.rows - 1 {
                inside -= COLOUR_WEIGHT * step as f32 * palette.ratio(raw.column(c)[r]);
                if r >= least.max(1) {
                    let relative = smooth.slope(c, r) / (2.5 * noise);
                    grid.column_mut(c)[r] = 1.0 / (1.0 + relative * relative)
                        + inside
                        + DEPTH_COST * (smooth.offset_mm(r as f64) as f32);
                }
            }
        }
        for c in [0, columns - 1] {
            for (r, cost) in grid.column_mut(c).iter_mut().enumerate() {
                if r > least + (0.25 / step) as usize {
                    *cost = f32::INFINITY;
                }
            }
        }
        let steepest = ((2.0 * COLUMN_MM) / step).ceil().max(2.0) as usize;
        let bend = (0.15 * (step / COLUMN_MM).powi(2)) as f32;
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
        Palette::learn(&weld, &[&near])
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
    let mut path = solve(&Palette::learn(&weld, &[&parent]))?;
    let mut palette = with_band(&path);
    for _ in 0..BAND_ROUNDS {
        path = solve(&palette)?;
        palette = with_band(&path);
    }
    let (clarity, contrast) = (clarity_of(&path), contrast_of(&path, &palette));

    let mut points = Vec::with_capacity(columns + 2);
    points.push(toes.nonbutting);
    for (c, &r) in path.iter().enumerate() {
        if c > 0 && c + 1 < columns {
            points.push(frame.to_joint(smooth.place(c, crest(&smooth, c, r))));
        }
    }
    points.push(toes.butting);
    Some(Fusion {
        points,
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

/// Colours of certain weld metal: the deposit, clear of the face and of the
/// original surfaces.
fn weld_samples(photo: &Photo, map: &PlaneMap, frame: &JointFrame, toes: &Toes) -> Vec<[f32; 3]> {
    let mut polygon = vec![Point::<Joint>::new(0.0, 0.0), toes.nonbutting];
    polygon.extend(toes.face.iter().rev());
    let Some(centre) = centroid(&polygon) else {
        return Vec::new();
    };
    // Shrunk towards its centroid.
    let core: Vec<Point<Joint>> = polygon.iter().map(|p| centre.lerp(*p, 0.8)).collect();
    grid_colours(photo, map, frame, &|p| contains(&core, p), toes)
}

/// Colours of certain parent metal: inside the plates, beyond any heat-affected band.
fn parent_samples(
    photo: &Photo,
    map: &PlaneMap,
    frame: &JointFrame,
    toes: &Toes,
    deepest: f64,
    psi: f64,
) -> Vec<[f32; 3]> {
    let riser = Vector::<Joint>::from_angle(psi);
    let behind = Vector::<Joint>::new(psi.sin(), -psi.cos());
    let mut samples = Vec::new();
    let mut take = |start: Point<Joint>, along: Vector<Joint>, into: Vector<Joint>, length: f64| {
        let count = (length / 0.15) as usize;
        let spine: Vec<Point<Mm>> = (0..count)
            .map(|i| frame.to_plane(start + along * (i as f64 * 0.15)))
            .collect();
        let inward = frame.to_plane(start + into) - frame.to_plane(start);
        let strip = Strip::new(
            photo,
            map,
            spine,
            vec![inward; count],
            0.4,
            deepest.min(5.0),
            0.15,
        );
        for c in 0..count {
            samples.extend_from_slice(strip.column(c));
        }
    };
    let clear = 4.0;
    take(
        toes.nonbutting + Vector::new(clear, 0.0),
        Vector::new(1.0, 0.0),
        Vector::new(0.0, -1.0),
        8.0,
    );
    take(toes.butting + riser * clear, riser, -behind, 8.0);
    samples
}

fn grid_colours(
    photo: &Photo,
    map: &PlaneMap,
    frame: &JointFrame,
    wanted: &dyn Fn(Point<Joint>) -> bool,
    toes: &Toes,
) -> Vec<[f32; 3]> {
    let size = toes.nonbutting.x.max(toes.butting.y) + 2.0;
    let count = (size / 0.12) as usize;
    let left = toes.butting.x.min(0.0);
    let mut samples = Vec::new();
    for i in 0..count {
        let x = left + i as f64 * 0.12;
        let foot = Point::<Joint>::new(x, 0.0);
        let up = frame.to_plane(Point::new(x, 1.0)) - frame.to_plane(foot);
        let strip = Strip::new(
            photo,
            map,
            vec![frame.to_plane(foot)],
            vec![up],
            0.0,
            size,
            0.12,
        );
        for (r, colour) in strip.column(0).iter().enumerate() {
            if wanted(Point::new(x, strip.offset_mm(r as f64))) {
                samples.push(*colour);
            }
        }
    }
    samples
}
