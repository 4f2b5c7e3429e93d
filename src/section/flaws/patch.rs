//! The weld's surroundings as one raster in the joint's own frame, and which
//! of its places may hold a flaw.

use super::geometry::{Side, WeldShape};
use crate::base::geometry::{Joint, Point, resample};
use crate::base::numeric::quantile_of;
use crate::base::raster::Gray;
use crate::photo::Photo;
use crate::scale::PlaneMap;
use crate::section::strip::Strip;
use rayon::prelude::*;

/// Finest sampling, mm: a line of 0.03 mm still darkens such a sample by half.
const FINEST_MM: f64 = 0.02;
/// Samples at most; a larger weld is sampled more coarsely.
const MOST_SAMPLES: f64 = 360_000.0;
/// Room around the weld metal, mm.
const MARGIN_MM: f64 = 0.8;
/// Kept clear of the face, mm: the outline is known to a few hundredths, and
/// its edge is the strongest line of the picture.
const CLEAR_OF_FACE_MM: f64 = 0.15;
/// A flaw on an original surface lies within this distance of it, mm: the
/// surface line is known to a tenth at worst, the flaw itself has a width.
pub const ON_SURFACE_MM: f64 = 0.2;
/// Least area to search for lines, mm².
const LEAST_OPEN_MM2: f64 = 0.5;
/// The background is read in cells of this size, mm …
const CELL_MM: f64 = 0.5;
/// … from the metal within this distance, mm, wider than any pore.
const BACKGROUND_REACH_MM: f64 = 1.75;
/// Share of the metal around that may be darker than its background: pores,
/// lines and dark grains.
const BACKGROUND_QUANTILE: f64 = 0.6;

/// Lightness around a weld, sampled on a square grid in the joint's frame.
pub struct Patch {
    /// Place of the first sample.
    low: Point<Joint>,
    /// Distance between samples, mm.
    pub step_mm: f64,
    /// Lightness, grey levels; column = x, row = y of the joint's frame.
    pub luma: Gray,
    /// Red less green, and yellow less blue, grey levels, in the same order.
    pub chroma: Vec<[f32; 2]>,
    /// Whether the place may hold a flaw.
    pub open: Vec<bool>,
    /// Lightness of the sound metal around each place; one sample where only lines are
    /// searched for.
    pub background: Gray,
}

impl Patch {
    /// Samples the surroundings of a weld. `None` when there is no area to search.
    pub fn new(photo: &Photo, map: &PlaneMap, shape: &WeldShape) -> Option<Self> {
        let (low, high) = bounds(&shape.metal)?;
        let low = Point::new(low.x - MARGIN_MM, low.y - MARGIN_MM);
        let high = Point::new(high.x + MARGIN_MM, high.y + MARGIN_MM);
        let mut patch = Self::sampled(photo, map, shape, (low, high));
        patch.open = patch.searchable(shape);
        patch.background = patch.sound_lightness()?;
        Some(patch)
    }

    /// Samples a stretch of metal, of which only what `open` says is searched, for lines
    /// alone: what spots are compared with, its background, is left out. `None` when there
    /// is no area to search.
    pub fn of_metal(
        photo: &Photo,
        map: &PlaneMap,
        shape: &WeldShape,
        corners: &[Point<Joint>],
        open: impl Fn(Point<Joint>) -> bool,
    ) -> Option<Self> {
        let mut patch = Self::sampled(photo, map, shape, bounds(corners)?);
        let w = patch.width();
        patch.open = (0..patch.luma.samples().len())
            .map(|i| open(patch.place((i % w) as f64, (i / w) as f64)))
            .collect();
        let open = patch.open.iter().filter(|open| **open).count();
        (open as f64 * patch.step_mm.powi(2) >= LEAST_OPEN_MM2).then_some(patch)
    }

    /// The picture between two corners of the joint's frame.
    fn sampled(
        photo: &Photo,
        map: &PlaneMap,
        shape: &WeldShape,
        (low, high): (Point<Joint>, Point<Joint>),
    ) -> Self {
        let (wide, tall) = (high.x - low.x, high.y - low.y);
        let px_mm = 1.0 / map.px_per_mm_at(shape.frame.root);
        let step_mm = px_mm
            .max(FINEST_MM)
            .max((wide * tall / MOST_SAMPLES).sqrt());
        let columns = (wide / step_mm) as usize + 1;
        let origin = shape.frame.to_plane(low);
        let up = shape.frame.to_plane(Point::new(low.x, low.y + 1.0)) - origin;
        let spine = (0..columns)
            .map(|i| {
                shape
                    .frame
                    .to_plane(Point::new(low.x + i as f64 * step_mm, low.y))
            })
            .collect();
        let strip = Strip::new(photo, map, spine, vec![up; columns], 0.0, tall, step_mm);
        let rows = strip.rows;
        let mut luma = vec![0.0f32; columns * rows];
        let mut chroma = vec![[0.0f32; 2]; columns * rows];
        for c in 0..columns {
            for (r, [l, a, b]) in strip.column(c).iter().enumerate() {
                luma[r * columns + c] = *l;
                chroma[r * columns + c] = [*a, *b];
            }
        }
        Self {
            low,
            step_mm,
            luma: Gray::new(columns, rows, luma),
            chroma,
            open: Vec::new(),
            background: Gray::new(1, 1, vec![0.0]),
        }
    }

    /// Columns.
    pub fn width(&self) -> usize {
        self.luma.width()
    }

    /// Rows.
    pub fn height(&self) -> usize {
        self.luma.height()
    }

    /// The place of a sample; fractions allowed, whole numbers are its centre.
    pub fn place(&self, column: f64, row: f64) -> Point<Joint> {
        Point::new(
            self.low.x + column * self.step_mm,
            self.low.y + row * self.step_mm,
        )
    }

    /// Column and row of a place, with fractions.
    pub fn cell(&self, p: Point<Joint>) -> (f64, f64) {
        (
            (p.x - self.low.x) / self.step_mm,
            (p.y - self.low.y) / self.step_mm,
        )
    }

    /// Lightness at a place, bilinear.
    pub fn lightness(&self, p: Point<Joint>) -> f32 {
        let (c, r) = self.cell(p);
        self.luma.sample(c + 0.5, r + 0.5)
    }

    /// Index of the sample nearest to a place; `None` outside the patch.
    pub fn index(&self, p: Point<Joint>) -> Option<usize> {
        let (c, r) = self.cell(p);
        let (c, r) = (c.round(), r.round());
        let inside = c >= 0.0 && r >= 0.0 && c < self.width() as f64 && r < self.height() as f64;
        inside.then(|| r as usize * self.width() + c as usize)
    }

    /// Whether a place may hold a flaw; none outside the patch.
    pub fn is_open(&self, p: Point<Joint>) -> bool {
        self.index(p).is_some_and(|i| self.open[i])
    }

    /// Weld metal and the bands of the original surfaces under the weld, less
    /// a seam along the face.
    fn searchable(&self, shape: &WeldShape) -> Vec<bool> {
        let (w, h) = (self.width(), self.height());
        let mut open = vec![false; w * h];
        let under_face = fill(self, &shape.deposit);
        let metal = fill(self, &shape.metal);
        for r in 0..h {
            for c in 0..w {
                let i = r * w + c;
                let p = self.place(c as f64, r as f64);
                open[i] = metal[i] || under_face[i] || shape.on_surface(p, ON_SURFACE_MM);
            }
        }
        let seam = (CLEAR_OF_FACE_MM / self.step_mm).ceil() as i64;
        for p in resample(&shape.face, self.step_mm) {
            let (c, r) = self.cell(p);
            let (c, r) = (c.round() as i64, r.round() as i64);
            for y in (r - seam).max(0)..=(r + seam).min(h as i64 - 1) {
                for x in (c - seam).max(0)..=(c + seam).min(w as i64 - 1) {
                    if (x - c).pow(2) + (y - r).pow(2) <= seam * seam {
                        open[y as usize * w + x as usize] = false;
                    }
                }
            }
        }
        open
    }

    /// Metal of the weld and of both members: everything but the air.
    pub fn solid(&self, shape: &WeldShape) -> Vec<bool> {
        let w = self.width();
        (0..self.open.len())
            .map(|i| {
                let p = self.place((i % w) as f64, (i / w) as f64);
                self.open[i]
                    || [Side::Nonbutting, Side::Butting]
                        .iter()
                        .any(|side| shape.beside(*side, p).1 < 0.0)
            })
            .collect()
    }

    /// Lightness of the sound metal: a quantile over the open places around.
    fn sound_lightness(&self) -> Option<Gray> {
        let (w, h) = (self.width(), self.height());
        let cell = ((CELL_MM / self.step_mm).round() as usize).max(1);
        let reach = (BACKGROUND_REACH_MM / self.step_mm).ceil() as usize;
        let stride = (0.1 / self.step_mm).ceil() as usize;
        let (columns, rows) = (w.div_ceil(cell), h.div_ceil(cell));
        let mut all: Vec<f64> = (0..w * h)
            .step_by(7)
            .filter(|&i| self.open[i])
            .map(|i| f64::from(self.luma.samples()[i]))
            .collect();
        if all.len() < 50 {
            return None;
        }
        let everywhere = quantile_of(&mut all, BACKGROUND_QUANTILE) as f32;
        let cells: Vec<f32> = (0..columns * rows)
            .into_par_iter()
            .map(|i| {
                let (x, y) = (
                    cell * (i % columns) + cell / 2,
                    cell * (i / columns) + cell / 2,
                );
                let mut around: Vec<f64> = Vec::new();
                for r in (y.saturating_sub(reach)..(y + reach).min(h)).step_by(stride) {
                    for c in (x.saturating_sub(reach)..(x + reach).min(w)).step_by(stride) {
                        if self.open[r * w + c] {
                            around.push(f64::from(self.luma.at(c, r)));
                        }
                    }
                }
                if around.len() < 30 {
                    everywhere
                } else {
                    quantile_of(&mut around, BACKGROUND_QUANTILE) as f32
                }
            })
            .collect();
        let coarse = Gray::new(columns, rows, cells);
        let size = cell as f64;
        Some(Gray::from_fn(w, h, |c, r| {
            coarse
                .sample((c as f64 + 0.5) / size, (r as f64 + 0.5) / size)
                .max(1.0)
        }))
    }
}

/// Lowest and highest corner of a box around some places.
fn bounds(places: &[Point<Joint>]) -> Option<(Point<Joint>, Point<Joint>)> {
    let first = *places.first()?;
    Some(places.iter().fold((first, first), |(low, high), p| {
        (
            Point::new(low.x.min(p.x), low.y.min(p.y)),
            Point::new(high.x.max(p.x), high.y.max(p.y)),
        )
    }))
}

/// The samples inside a closed outline (even-odd rule).
fn fill(patch: &Patch, ring: &[Point<Joint>]) -> Vec<bool> {
    let (w, h) = (patch.width(), patch.height());
    let mut filled = vec![false; w * h];
    let corners: Vec<(f64, f64)> = ring.iter().map(|p| patch.cell(*p)).collect();
    for (r, line) in filled.chunks_exact_mut(w).enumerate() {
        let y = r as f64;
        let mut crossings: Vec<f64> = corners
            .iter()
            .zip(corners.iter().cycle().skip(1))
            .filter(|(a, b)| (a.1 > y) != (b.1 > y))
            .map(|(a, b)| a.0 + (y - a.1) * (b.0 - a.0) / (b.1 - a.1))
            .collect();
        crossings.sort_by(f64::total_cmp);
        for pair in crossings.chunks_exact(2) {
            let from = pair[0].ceil().max(0.0) as usize;
            let to = (pair[1].floor().max(-1.0) + 1.0) as usize;
            if from < to.min(w) {
                line[from..to.min(w)].fill(true);
            }
        }
    }
    filled
}
