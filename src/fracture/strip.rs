//! The fracture face straightened: s along the weld, h from the root line.
//!
//! Every sample is a mean of the original photograph over about one sample's
//! area, taken through the plane map. The strip goes on a little beyond the
//! root line and beyond the far edge, because both are only known to a few
//! tenths of a millimetre.

use super::face::Face;
use crate::base::geometry::{Mm, Point, Px, Vector};
use crate::base::raster::{Gray, gaussian_blur};
use crate::photo::Photo;
use crate::scale::Scale;
use rayon::prelude::*;

/// The straightened face in mm: x = s, along the weld from the face's left end
/// with the root side at the bottom; y = h, across the weld from the root line
/// towards the far edge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Straight {}

/// Finest sampling, px/mm: 0.05 mm resolves a pore of 0.3 mm, and more only
/// costs time.
const FINEST_PX_PER_MM: f64 = 20.0;

/// How far the strip goes on beyond the root line and the far edge, mm.
const MARGIN_MM: f64 = 1.0;

/// Largest strip, samples; a face that needs more is sampled more coarsely.
const MOST_SAMPLES: f64 = 1.5e6;

/// Steps between nodes at which the plane map is evaluated across the weld;
/// between them places are interpolated. Over a few millimetres perspective
/// and lens bend a line by far less than a hundredth of a pixel.
const MAP_NODES: usize = 4;

/// The photograph along the fracture face.
#[derive(Clone, Debug)]
pub struct Strip {
    /// Luma (Rec. 601 weights), 0 … 255.
    pub luma: Gray,
    /// ln(red / green): no change with brightness.
    pub red_green: Gray,
    /// ln(yellow / blue), yellow = mean of red and green.
    pub yellow_blue: Gray,
    /// Samples a millimetre, the same along s and h.
    pub px_per_mm: f64,
    /// Pixels a millimetre of the photograph in the face's middle.
    pub photo_px_per_mm: f64,
    /// Height of the far edge above the root line, mm, one a column.
    pub far_mm: Vec<f64>,
    /// Mean distance between two ways of finding the far edge, mm.
    pub far_doubt_mm: f64,
    /// Samples that show nothing of the metal: washed out.
    pub hidden: Vec<bool>,
    origin: Point<Mm>,
    along: Vector<Mm>,
    across: Vector<Mm>,
    /// Root line, mm across the weld from `origin`, one a column.
    root: Vec<f64>,
    scale: Scale,
}

impl Strip {
    /// Straightens the face; `None` when the root line or the far edge has no
    /// extent.
    ///
    /// # Allocations
    /// 13 bytes a sample, at most 1.5 million samples.
    pub fn new(photo: &Photo, scale: &Scale, face: &Face) -> Option<Self> {
        let mm = |line: &[Point<Px>]| -> Vec<Point<Mm>> {
            line.iter().map(|p| scale.map.to_mm(*p)).collect()
        };
        let (root, far) = (mm(&face.root_px), mm(&face.far_px));
        let (origin, along) = axis(&root)?;
        let across = -along.turned();
        let flat = |line: &[Point<Mm>]| -> Vec<(f64, f64)> {
            let mut flat: Vec<_> = line
                .iter()
                .map(|p| ((*p - origin).dot(along), (*p - origin).dot(across)))
                .collect();
            flat.sort_by(|a, b| a.0.total_cmp(&b.0));
            flat
        };
        let (root, far) = (flat(&root), flat(&far));
        let (first, last) = (root.first()?.0, root.last()?.0);
        let length = last - first;
        let heights: Vec<f64> = far.iter().map(|f| f.1 - level(&root, f.0)).collect();
        let height = heights.iter().copied().fold(0.0, f64::max) + 2.0 * MARGIN_MM;
        if far.len() < 2 || !(length.is_finite() && length > 1.0 && height.is_finite()) {
            return None;
        }
        let origin = origin + along * first;
        let middle = origin + along * (0.5 * length) + across * (0.5 * height);
        let in_photo = scale.map.px_per_mm_at(middle);
        let k = in_photo
            .min(FINEST_PX_PER_MM)
            .min((MOST_SAMPLES / (length * height)).sqrt());
        let columns = (length * k).round() as usize;
        let rows = (height * k).ceil() as usize;
        if columns < 8 || rows < 8 {
            return None;
        }
        let at = |line: &[(f64, f64)], c: usize| level(line, first + (c as f64 + 0.5) / k);
        let base: Vec<f64> = (0..columns).map(|c| at(&root, c)).collect();
        let far_mm = (0..columns)
            .map(|c| (at(&far, c) - base[c]).max(0.0))
            .collect();
        let mut strip = Self {
            luma: Gray::from_fn(columns, rows, |_, _| 0.0),
            red_green: Gray::from_fn(columns, rows, |_, _| 0.0),
            yellow_blue: Gray::from_fn(columns, rows, |_, _| 0.0),
            px_per_mm: k,
            photo_px_per_mm: in_photo,
            far_mm,
            far_doubt_mm: 0.0,
            hidden: Vec::new(),
            origin,
            along,
            across,
            root: base,
            scale: scale.clone(),
        };
        strip.sample(photo, in_photo / k);
        strip.hidden = washed_out(&strip.luma, k);
        strip.far_doubt_mm = face.far_doubt_px / in_photo;
        Some(strip)
    }

    /// Columns, along s.
    pub fn columns(&self) -> usize {
        self.luma.width()
    }

    /// Rows, along h.
    pub fn rows(&self) -> usize {
        self.luma.height()
    }

    /// Length along the weld, mm.
    pub fn length_mm(&self) -> f64 {
        self.columns() as f64 / self.px_per_mm
    }

    /// h at row coordinate `row`, mm; the first row begins at `row` = 0.
    pub fn height_at(&self, row: f64) -> f64 {
        row / self.px_per_mm - MARGIN_MM
    }

    /// Row coordinate of a height in mm.
    pub fn row_at(&self, height_mm: f64) -> f64 {
        (height_mm + MARGIN_MM) * self.px_per_mm
    }

    /// Height of the far edge at s, mm.
    pub fn far_at(&self, s_mm: f64) -> f64 {
        along_columns(&self.far_mm, s_mm * self.px_per_mm)
    }

    /// Area of the face between two places along the weld, mm².
    pub fn area_mm2(&self, start_mm: f64, end_mm: f64) -> f64 {
        let k = self.px_per_mm;
        let share = |c: usize| {
            let (from, to) = (c as f64 / k, (c + 1) as f64 / k);
            (to.min(end_mm) - from.max(start_mm)).max(0.0)
        };
        self.far_mm
            .iter()
            .enumerate()
            .map(|(c, far)| far * share(c))
            .sum()
    }

    /// Where a place of the straightened face lies in the photograph.
    pub fn to_px(&self, p: Point<Straight>) -> Point<Px> {
        let base = along_columns(&self.root, p.x * self.px_per_mm);
        let plane = self.origin + self.along * p.x + self.across * (base + p.y);
        self.scale.map.to_px(plane)
    }

    /// Where a place of the photograph lies on the straightened face.
    pub fn to_straight(&self, p: Point<Px>) -> Point<Straight> {
        let d = self.scale.map.to_mm(p) - self.origin;
        let s = d.dot(self.along);
        let base = along_columns(&self.root, s * self.px_per_mm);
        Point::new(s, d.dot(self.across) - base)
    }

    /// Relative standard uncertainty of lengths.
    pub fn scale_rel(&self) -> f64 {
        self.scale.standard_uncertainty_rel
    }

    fn sample(&mut self, photo: &Photo, ratio: f64) {
        let (columns, rows, k) = (self.columns(), self.rows(), self.px_per_mm);
        // One probe a photograph pixel, so that nothing aliases.
        let probes = (ratio.ceil() as usize).clamp(1, 6);
        let nodes: Vec<[Point<Px>; MAP_NODES + 1]> = (0..columns)
            .into_par_iter()
            .map(|c| {
                std::array::from_fn(|n| {
                    let row = rows as f64 * n as f64 / MAP_NODES as f64;
                    let s = (c as f64 + 0.5) / k;
                    self.to_px(Point::new(s, self.height_at(row)))
                })
            })
            .collect();
        let place = |c: usize, row: f64| {
            let t = row / rows as f64 * MAP_NODES as f64;
            let n = (t as usize).min(MAP_NODES - 1);
            nodes[c][n].lerp(nodes[c][n + 1], t - n as f64)
        };
        let colours: Vec<[f32; 3]> = (0..rows * columns)
            .into_par_iter()
            .map(|i| {
                let (r, c) = (i / columns, i % columns);
                let beside = if c + 1 < columns { c + 1 } else { c - 1 };
                let turn = if beside > c { 1.0 } else { -1.0 };
                let mut sum = [0.0f32; 3];
                for a in 0..probes {
                    let row = r as f64 + (a as f64 + 0.5) / probes as f64;
                    let (here, next) = (place(c, row), place(beside, row));
                    for b in 0..probes {
                        let t = turn * ((b as f64 + 0.5) / probes as f64 - 0.5);
                        let colour = colour_at(photo, here.lerp(next, t));
                        (0..3).for_each(|i| sum[i] += colour[i]);
                    }
                }
                let n = (probes * probes) as f32;
                sum.map(|v| v / n)
            })
            .collect();
        let each =
            |f: fn(&[f32; 3]) -> f32| Gray::new(columns, rows, colours.par_iter().map(f).collect());
        self.luma = each(|c| 0.299 * c[0] + 0.587 * c[1] + 0.114 * c[2]);
        // Some grey levels are added so that dark noise does not become colour.
        self.red_green = each(|c| ((c[0] + DARK) / (c[1] + DARK)).ln());
        self.yellow_blue = each(|c| ((0.5 * (c[0] + c[1]) + DARK) / (c[2] + DARK)).ln());
    }
}

/// Luma from which a sample is washed out: a camera's tone curve flattens in the
/// uppermost twentieth, and what differs there is squeezed into a few levels.
const WASHED_OUT: f32 = 242.0;
/// Facets of torn metal shine too; what hides the metal is washed out over a
/// window of this standard deviation, mm, in most of its samples.
const GLARE_MM: f64 = 0.4;
const MOST: f32 = 0.8;
/// Share of washed-out samples below which there is no such place.
const NONE: f64 = 0.002;

/// Which samples lie in places that are washed out.
fn washed_out(luma: &Gray, px_per_mm: f64) -> Vec<bool> {
    let white: Vec<f32> = luma
        .samples()
        .iter()
        .map(|v| f32::from(u8::from(*v >= WASHED_OUT)))
        .collect();
    if white.iter().map(|v| f64::from(*v)).sum::<f64>() < NONE * white.len() as f64 {
        return vec![false; white.len()];
    }
    let white = Gray::new(luma.width(), luma.height(), white);
    let share = gaussian_blur(&white, GLARE_MM * px_per_mm);
    share.samples().iter().map(|v| *v > MOST).collect()
}

/// Grey levels added before a ratio of colours is taken.
const DARK: f32 = 8.0;

/// Centre and direction of a polyline by total least squares, pointing the way
/// the polyline runs. `None` without extent.
fn axis(line: &[Point<Mm>]) -> Option<(Point<Mm>, Vector<Mm>)> {
    // Even steps, so that a densely drawn part does not weigh more.
    let points = crate::base::geometry::resample(line, 0.5);
    let n = points.len() as f64;
    let (first, last) = (*points.first()?, *points.last()?);
    if first.distance(last) <= 0.0 {
        return None;
    }
    let mean = points
        .iter()
        .fold(Vector::new(0.0, 0.0), |m, p| m + (*p - first) * (1.0 / n));
    let centre = first + mean;
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for p in &points {
        let d = *p - centre;
        (xx, xy, yy) = (xx + d.x * d.x, xy + d.x * d.y, yy + d.y * d.y);
    }
    let direction = Vector::from_angle(0.5 * (2.0 * xy).atan2(xx - yy));
    let sign = direction.dot(last - first).signum();
    Some((centre, direction * sign))
}

/// Height of a polyline sorted by its first coordinate.
fn level(line: &[(f64, f64)], s: f64) -> f64 {
    let i = line.partition_point(|p| p.0 < s);
    if i == 0 {
        return line[0].1;
    }
    if i == line.len() {
        return line[i - 1].1;
    }
    let (a, b) = (line[i - 1], line[i]);
    let t = if b.0 > a.0 {
        (s - a.0) / (b.0 - a.0)
    } else {
        0.0
    };
    a.1 + (b.1 - a.1) * t
}

/// Value of a series given at column centres.
fn along_columns(values: &[f64], column: f64) -> f64 {
    let t = (column - 0.5).clamp(0.0, (values.len() - 1) as f64);
    let i = (t as usize).min(values.len().saturating_sub(2));
    let next = (i + 1).min(values.len() - 1);
    values[i] + (values[next] - values[i]) * (t - i as f64)
}

/// Bilinear colour at a place of the photograph; outside, the border's.
fn colour_at(photo: &Photo, p: Point<Px>) -> [f32; 3] {
    let place = |v: f64, n: usize| {
        let v = (v - 0.5).clamp(0.0, (n - 1) as f64);
        let low = (v as usize).min(n.saturating_sub(2));
        (low, (low + 1).min(n - 1), (v - low as f64) as f32)
    };
    let (x0, x1, fx) = place(p.x, photo.width);
    let (y0, y1, fy) = place(p.y, photo.height);
    let texel = |x: usize, y: usize, i: usize| f32::from(photo.rgb[3 * (y * photo.width + x) + i]);
    std::array::from_fn(|i| {
        let top = texel(x0, y0, i) * (1.0 - fx) + texel(x1, y0, i) * fx;
        let bottom = texel(x0, y1, i) * (1.0 - fx) + texel(x1, y1, i) * fx;
        top * (1.0 - fy) + bottom * fy
    })
}
