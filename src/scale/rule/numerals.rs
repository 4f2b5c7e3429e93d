//! What the numerals beside the ticks say of a reading in fractions of an inch.
//!
//! Inch fractions repeat by doubling: an edge in 1/32 inch whose half-inch and
//! inch ticks are equally long looks like one in 1/16 inch. Only the numerals
//! tell them apart: they stand at every whole inch and nowhere else.

use super::graduation::Reading;
use super::ticks::{Edge, Tick};
use super::tone::tone;
use crate::base::geometry::{Point, Px, Vector};
use crate::base::numeric::median;
use crate::base::numeric::{median_of, quantile_of};
use crate::base::raster::Gray;
use crate::photo::Photo;
use rayon::prelude::*;

/// What the numerals say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Numerals stand at whole inches, and none half way.
    Confirmed,
    /// Numerals stand half way too, or are missing at whole inches.
    Refuted,
    /// Too little is seen.
    Silent,
}

/// Height of a numeral, at least, as a share of a long tick's length: numerals in
/// use are 0.35 to 1.1 high (common practice, no source).
const LEAST_HEIGHT: f64 = 0.2;
/// All numerals of a rule are equally high: at least this share of the highest.
const LOWEST: f64 = 0.5;
/// Darkness of ink as a share of the ticks' own.
const DARK: f64 = 0.45;
/// Strokes are narrower than this share of a long tick; rust stains are not.
const STROKE: f64 = 0.14;
/// Largest difference in tint (red less blue) between numerals and ticks, as a
/// share of the ticks' darkness.
const TINT: f64 = 0.2;
/// A row through a numeral has at least this much ink, as a share of a long
/// tick's length; a speck has less.
const THINNEST: f64 = 0.03;
/// A tick shorter than an inch tick by this factor is none itself.
const SHORTER: f64 = 0.89;

/// What numerals say of `reading`, an inch graduation.
pub fn verdict(photo: &Photo, edge: &Edge, reading: &Reading) -> Verdict {
    let cycle = reading.graduation.cycle();
    let at = |offset: i32| -> Vec<usize> {
        (0..edge.ticks.len())
            .filter(|k| (edge.ticks[*k].index - reading.phase - offset).rem_euclid(cycle) == 0)
            .collect()
    };
    let (whole, half) = (at(0), at(cycle / 2));
    if whole.is_empty() {
        return Verdict::Silent;
    }
    let lengths: Vec<f64> = whole
        .iter()
        .chain(&half)
        .map(|k| edge.ticks[*k].length_px())
        .collect();
    let field = Field {
        photo,
        gray: &photo.luma,
        edge,
        long: median(&lengths),
        reach: 0.16 * f64::from(cycle) * edge.pitch_px,
    };
    let heights = |ticks: &[usize]| -> Vec<(usize, f64)> {
        ticks
            .par_iter()
            .filter_map(|k| field.height(*k).map(|v| (*k, v)))
            .collect()
    };
    let (whole, half) = (heights(&whole), heights(&half));
    let most = whole.iter().chain(&half).map(|w| w.1).fold(0.0, f64::max);
    let inked = |v: f64| v > LEAST_HEIGHT && v > LOWEST * most;
    type Heights = Vec<(usize, f64)>;
    let (written, missing): (Heights, Heights) = whole.iter().partition(|w| inked(w.1));
    let between = half.iter().filter(|h| inked(h.1)).count();
    if 2 * between >= half.len().max(1) && between > 0 {
        return Verdict::Refuted;
    }
    // On many rules only one of the two edges has numerals.
    if written.is_empty() {
        return Verdict::Silent;
    }
    // One missing numeral may be worn off. Where that tick is shorter, too, than
    // those with numerals, it is no whole inch.
    let long = |k: usize| edge.ticks[k].relative_length();
    let usual = median(&written.iter().map(|w| long(w.0)).collect::<Vec<_>>());
    let against: usize = missing
        .iter()
        .map(|m| if long(m.0) < SHORTER * usual { 2 } else { 1 })
        .sum();
    if against >= 2 && 5 * missing.len() >= 2 * whole.len() {
        return Verdict::Refuted;
    }
    let few = 4 * between <= half.len();
    if 4 * written.len() >= 3 * whole.len() && !half.is_empty() && few {
        Verdict::Confirmed
    } else {
        Verdict::Silent
    }
}

/// Where numerals of an edge stand.
struct Field<'a> {
    photo: &'a Photo,
    gray: &'a Gray,
    edge: &'a Edge,
    /// Length of long ticks, px.
    long: f64,
    /// Half the field's width, px.
    reach: f64,
}

impl Field<'_> {
    /// Height of what is inked beside and beyond the free end of tick `k`, in
    /// units of a long tick's length: the rows with ink in them. `None` where
    /// that leaves the picture.
    fn height(&self, k: usize) -> Option<f64> {
        let tick = &self.edge.ticks[k];
        let (contrast, tick_tint) = self.contrast(k);
        if contrast < 6.0 {
            return None;
        }
        let step = (0.0125 * self.long).max(1.0);
        let along = self.edge.baseline.direction;
        let up = (tick.tip - tick.foot) * (1.0 / tick.length_px().max(1e-9));
        let (columns, rows) = (
            (self.reach / step) as i32,
            (1.45 * self.long / step) as usize,
        );
        let mut places: Vec<(usize, Point<Px>)> = Vec::new();
        let mut tones: Vec<f64> = Vec::new();
        let mut whole = 0;
        for i in -columns..=columns {
            let u = f64::from(i) * step;
            let stroke = self.stroke(k, u);
            for j in 0..rows {
                let v = 0.75 * self.long + j as f64 * step;
                let p = tick.foot + along * u + up * v;
                whole += 1;
                if v < stroke || !self.gray.covers(p.x, p.y) {
                    continue;
                }
                places.push((j, p));
                tones.push(tone(self.gray, p.x, p.y));
            }
        }
        if places.len() * 4 < whole * 3 {
            return None;
        }
        let ground = quantile_of(&mut tones.clone(), 0.6);
        let tint = median_of(&mut places.iter().map(|p| self.tint(p.1)).collect::<Vec<_>>());
        let mut inked = vec![0usize; rows];
        for ((j, p), v) in places.iter().zip(&tones) {
            let dark = self.edge.sign * (ground - v) / contrast;
            // Rust is brown; numerals are filled with what the ticks are.
            let like_ticks = tint + dark.min(1.0) * tick_tint;
            let ink = dark > DARK
                && (self.tint(*p) - like_ticks).abs() < TINT * contrast
                && self.thin(*p, *v, contrast, along, up);
            inked[*j] += usize::from(ink);
        }
        let least = (THINNEST * self.long / step).ceil() as usize;
        let height = inked.iter().filter(|n| **n >= least).count();
        Some(height as f64 * step / self.long)
    }

    /// Whether the tone at `p` is a stroke's: lighter on both sides nearby.
    fn thin(
        &self,
        p: Point<Px>,
        own: f64,
        contrast: f64,
        along: Vector<Px>,
        up: Vector<Px>,
    ) -> bool {
        let away = STROKE * self.long;
        let lighter = |d: Vector<Px>| {
            let q = p + d * away;
            self.edge.sign * (tone(self.gray, q.x, q.y) - own) > 0.6 * DARK * contrast
        };
        [along, up, (along + up) * 0.7, (along - up) * 0.7]
            .into_iter()
            .any(|d| lighter(d) && lighter(-d))
    }

    /// How far from the edge the ticks' own strokes reach `u` px beside tick `k`,
    /// px; 0 between the ticks.
    fn stroke(&self, k: usize, u: f64) -> f64 {
        let ticks = &self.edge.ticks;
        let own = &ticks[k];
        let reach = |t: &Tick| {
            let off = f64::from(t.index - own.index) * own.pitch_px;
            if (u - off).abs() < 0.3 * own.pitch_px {
                t.length_px() + 0.25 * own.pitch_px
            } else {
                0.0
            }
        };
        let number = own.index + (u / own.pitch_px).round() as i32;
        ticks
            .binary_search_by_key(&number, |t| t.index)
            .map_or(0.0, |j| reach(&ticks[j]))
            .max(reach(own))
    }

    /// How much darker the ticks around tick `k` are than the gaps, and how much
    /// redder.
    fn contrast(&self, k: usize) -> (f64, f64) {
        let ticks = &self.edge.ticks;
        let (dark, red): (Vec<f64>, Vec<f64>) = ticks
            [k.saturating_sub(3)..(k + 4).min(ticks.len())]
            .iter()
            .map(|t| {
                let p = t.centres[t.centres.len() / 3];
                let side = self.edge.baseline.direction * (0.5 * t.pitch_px);
                let tone = |p: Point<Px>| tone(self.gray, p.x, p.y);
                (
                    self.edge.sign * (0.5 * (tone(p + side) + tone(p - side)) - tone(p)),
                    self.tint(p) - 0.5 * (self.tint(p + side) + self.tint(p - side)),
                )
            })
            .unzip();
        (median(&dark), median(&red))
    }

    /// Red less blue at a place, 0 outside the picture.
    fn tint(&self, p: Point<Px>) -> f64 {
        if !self.gray.covers(p.x, p.y) {
            return 0.0;
        }
        let i = 3 * (p.y as usize * self.photo.width + p.x as usize);
        f64::from(self.photo.rgb[i]) - f64::from(self.photo.rgb[i + 2])
    }
}
