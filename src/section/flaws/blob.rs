//! Dark spots with an area: pores, inclusions, the void at an open root.
//!
//! A hole swallows light: seen against the sound metal around it is nearly
//! black, whatever the etch did to the metal.

use super::patch::Patch;
use crate::base::geometry::{Joint, Point, Vector, area};
use crate::base::numeric::quantile_of;
use crate::base::raster::gaussian_blur;
use std::f64::consts::TAU;

/// Share of light missing from which on a place belongs to a spot: about half
/// of what a hole shows.
const EDGE: f32 = 0.45;
/// Share of light missing in the middle of a spot, at least.
const LEAST_CORE: f64 = 0.6;
/// Points of an outline.
const RAYS: usize = 72;

/// One dark spot.
#[derive(Clone, Debug)]
pub struct Blob {
    /// Outline, closed, at half depth.
    pub outline: Vec<Point<Joint>>,
    /// Centre.
    pub centre: Point<Joint>,
    /// Greatest distance between two points of the outline, mm.
    pub greatest_mm: f64,
    /// Area, mm².
    pub area_mm2: f64,
    /// Share of light missing in its middle.
    pub depth: f64,
    /// Share of its samples that lie where flaws are searched for.
    pub share_open: f64,
    /// Red less green and yellow less blue there, grey levels.
    pub chroma: [f64; 2],
    /// Diameter of the largest circle inside, mm.
    pub widest_mm: f64,
    /// Its samples, as indices into the patch.
    pub cells: Vec<usize>,
}

impl Blob {
    /// Area by the square of the largest circle's diameter. A line has its
    /// length by its width, also where it bends; what tapers has far less: a
    /// spindle half of that.
    pub fn slimness(&self, sample_mm2: f64) -> f64 {
        self.cells.len() as f64 * sample_mm2 / self.widest_mm.powi(2).max(1e-12)
    }

    /// Area by that of the circle over the greatest dimension: 1 = round.
    pub fn roundness(&self) -> f64 {
        self.area_mm2 / (0.125 * TAU * self.greatest_mm.powi(2)).max(1e-9)
    }
}

/// How much of the light of sound metal is missing at every sample, 0 … 1.
pub fn darkness(patch: &Patch) -> Vec<f32> {
    let smooth = gaussian_blur(&patch.luma, 0.7);
    smooth
        .samples()
        .iter()
        .zip(patch.background.samples())
        .map(|(l, b)| 1.0 - l / b)
        .collect()
}

/// Every dark spot of at least `least_mm` across within `solid`.
pub fn find(patch: &Patch, darkness: &[f32], solid: &[bool], least_mm: f64) -> Vec<Blob> {
    let w = patch.width();
    let mut seen = vec![false; darkness.len()];
    let mut blobs = Vec::new();
    let cell_mm2 = patch.step_mm * patch.step_mm;
    for seed in 0..darkness.len() {
        if seen[seed] || !solid[seed] || darkness[seed] < EDGE {
            continue;
        }
        let cells = flood(darkness, solid, w, seed, &mut seen);
        if (cells.len() as f64) * cell_mm2 < 0.125 * TAU * least_mm * least_mm {
            continue;
        }
        let mut inside: Vec<f64> = cells.iter().map(|&i| f64::from(darkness[i])).collect();
        let depth = quantile_of(&mut inside, 0.8);
        if depth < LEAST_CORE {
            continue;
        }
        blobs.push(describe(patch, darkness, cells, depth));
    }
    blobs
}

fn flood(darkness: &[f32], solid: &[bool], w: usize, seed: usize, seen: &mut [bool]) -> Vec<usize> {
    let mut cells = vec![seed];
    seen[seed] = true;
    let mut next = 0;
    while next < cells.len() {
        let i = cells[next];
        next += 1;
        let x = i % w;
        let around = [
            (x > 0).then(|| i - 1),
            (x + 1 < w).then(|| i + 1),
            i.checked_sub(w),
            (i + w < darkness.len()).then(|| i + w),
        ];
        for j in around.into_iter().flatten() {
            if !seen[j] && solid[j] && darkness[j] >= EDGE {
                seen[j] = true;
                cells.push(j);
            }
        }
    }
    cells
}

fn describe(patch: &Patch, darkness: &[f32], cells: Vec<usize>, depth: f64) -> Blob {
    let w = patch.width();
    let n = cells.len() as f64;
    let (mut x, mut y, mut chroma, mut open) = (0.0, 0.0, [0.0; 2], 0.0);
    for &i in &cells {
        x += (i % w) as f64 / n;
        y += (i / w) as f64 / n;
        open += f64::from(u8::from(patch.open[i])) / n;
        for (sum, c) in chroma.iter_mut().zip(patch.chroma[i]) {
            *sum += f64::from(c) / n;
        }
    }
    let centre = patch.place(x, y);
    // Furthest sample of the spot in each direction, then out to half depth.
    let mut reach = vec![0.0f64; RAYS];
    for &i in &cells {
        let d = Vector::<Joint>::new((i % w) as f64 - x, (i / w) as f64 - y);
        let sector = (d.angle().rem_euclid(TAU) / TAU * RAYS as f64) as usize % RAYS;
        reach[sector] = reach[sector].max(d.length());
    }
    let half = 0.5 * depth;
    let at = |px: f64, py: f64| {
        let (c, r) = (px.round().max(0.0) as usize, py.round().max(0.0) as usize);
        f64::from(darkness[r.min(patch.height() - 1) * w + c.min(w - 1)])
    };
    let mut outline = Vec::with_capacity(RAYS);
    let mut corner = f64::MAX;
    for (k, &reach) in reach.iter().enumerate() {
        let u = Vector::<Joint>::from_angle(TAU * (k as f64 + 0.5) / RAYS as f64);
        let mut t = reach;
        while t < reach + 6.0 && at(x + u.x * (t + 0.25), y + u.y * (t + 0.25)) > half {
            t += 0.25;
        }
        corner = corner.min(t);
        outline.push(patch.place(x + u.x * t, y + u.y * t));
    }
    let greatest_mm = outline
        .iter()
        .enumerate()
        .flat_map(|(i, a)| outline[i + 1..].iter().map(move |b| a.distance(*b)))
        .fold(0.0, f64::max);
    Blob {
        area_mm2: area(&outline),
        outline,
        centre,
        greatest_mm,
        depth,
        share_open: open,
        widest_mm: patch.step_mm * widest(w, &cells),
        chroma,
        cells,
    }
}

/// Diameter of the largest circle inside, samples, by a chamfer distance
/// (3, 4; Borgefors, 1986).
fn widest(w: usize, cells: &[usize]) -> f64 {
    let (mut left, mut right, mut low, mut high) = (usize::MAX, 0, usize::MAX, 0);
    for &i in cells {
        (left, right) = (left.min(i % w), right.max(i % w));
        (low, high) = (low.min(i / w), high.max(i / w));
    }
    // A frame of empty samples around.
    let (columns, rows) = (right - left + 3, high - low + 3);
    let mut far = vec![0i32; columns * rows];
    for &i in cells {
        far[(i / w - low + 1) * columns + i % w - left + 1] = i32::MAX / 2;
    }
    let mut relax = |at: usize, neighbours: [(usize, i32); 4]| {
        if far[at] > 0 {
            far[at] = neighbours
                .iter()
                .fold(far[at], |d, (n, cost)| d.min(far[*n] + cost));
        }
        far[at]
    };
    let inner = || (1..rows - 1).flat_map(|r| (1..columns - 1).map(move |c| r * columns + c));
    for at in inner() {
        let up = at - columns;
        relax(at, [(at - 1, 3), (up, 3), (up - 1, 4), (up + 1, 4)]);
    }
    let mut most = 0;
    for at in inner().collect::<Vec<_>>().into_iter().rev() {
        let down = at + columns;
        most = most.max(relax(
            at,
            [(at + 1, 3), (down, 3), (down - 1, 4), (down + 1, 4)],
        ));
    }
    // To the border of the last sample, not to the centre of the next one.
    2.0 * f64::from(most) / 3.0 - 1.0
}
