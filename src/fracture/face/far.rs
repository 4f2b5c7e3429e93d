//! The far edge: where the break left the weld, with cap or groove outside.
//!
//! Torn metal ends there, or a side wall that was never fused: smooth metal that
//! lies between the torn metal and the edge. Roughness alone would cut the side
//! walls off; the strongest change of tone alone would run to the weld's toe.
//! Three readings, each from the one before:
//!
//! 1. Where torn metal ends ([`Surface::path`] with nothing known outside).
//! 2. What lies close outside that has a tone; smooth surface of another tone
//!    belongs to the face ([`Surface::unlike_strip`]).
//! 3. The edge as a whole is gently bowed ([`Baseline`]): smooth surface inside
//!    that line is more likely a side wall, and so is what differs from the
//!    strip beyond the line in the same place; beyond the line less is.
//!
//! The terms were chosen on the 24 readable pictures of one set and 27 of
//! another painter's: the mean distance to the true edge, in widths of the face,
//! fell from 0.057 to 0.036 and from 0.064 to 0.029 against one reading with
//! roughness and tone together. None of them is critical: half or twice as much
//! changes the distances by less than a tenth.

use super::band::Band;
use super::baseline::{Baseline, KNOTS};
use super::edges::{Changes, Clear, Edge};
use super::roughness::DARK;
use super::torn::Torn;
use crate::base::numeric::{Grid, median_of, optimal_path, quantile};

/// How far beyond the torn metal the edge may lie, and how far inside it
/// (ripples of the cap look a little torn), in torn widths.
const BEYOND: f64 = 0.3;
const WITHIN: f64 = 0.4;

/// Quantile of the changes of tone nearby that counts as clear, and how many
/// clear ones are worth no more.
const CLEAR: f64 = 0.95;
const ENOUGH: f64 = 1.5;
/// What a clear change of tone is worth, in torn widths.
const TONE: f64 = 0.3;

/// The cap's relief is taken from this strip beyond the torn metal, in torn
/// widths, but for no more than this share of the torn metal's.
const CAP: (f64, f64) = (0.05, 0.25);
const MOST_CAP: f64 = 0.8;

/// Roughness, −1 … 1, below which a row inside is smooth.
const SMOOTH: f64 = 0.6;
/// What a row of smooth surface inside costs when it is unlike what lies
/// outside; when it is alike; and alike with the baseline known, inside that
/// and beyond.
const UNLIKE: f64 = 0.15;
const ALIKE: f64 = 1.0;
const ALIKE_INSIDE: f64 = 0.4;
const ALIKE_BEYOND: f64 = 1.5;

/// Strip outside the edge whose tone is learned, and the one that must have
/// that tone, in torn widths.
const STRIP: (f64, f64) = (0.03, 0.15);
const OUTSIDE: f64 = 0.12;
/// Length along which the tone outside is taken for one, as a share of the face.
const WINDOW: f64 = 0.5;
/// The tone is learned anew every so many columns.
const EVERY: usize = 8;
/// Least scatter of ln(luma) of a surface of one tone.
const LEAST_SCATTER: f64 = 0.04;
/// Standard deviations from which a tone begins to be another one.
const OFF: f64 = 2.0;

/// Strip beyond the baseline that is compared in the same column, torn widths,
/// and its least scatter: a few samples tell less than a long strip.
const PAST: (f64, f64) = (0.05, 0.17);
const LEAST_SCATTER_PAST: f64 = 0.08;

/// Resistance to bending, and the most rows a column: a torn edge may be steep,
/// but does not jump to a line that runs beside it.
const BEND: f32 = 4.0;
const STEP: usize = 1;

/// Columns and rows over which tones are averaged, to either side.
const ALONG: usize = 3;
const ACROSS: usize = 1;

/// The far edge above (`up`) or below the torn metal.
pub(super) fn find(band: &Band, torn: &Torn, changes: &Changes, up: bool) -> Option<Edge> {
    let surface = Surface::new(band, torn, up)?;
    let clear = surface.clear(changes);
    let nothing = vec![0.0; surface.tone.len()];
    let first = surface.path(&clear, &nothing, None)?;
    let mut unlike = surface.unlike_strip(&first);
    let second = surface.path(&clear, &unlike.shares, None)?;
    let baseline = Baseline::fit(&second)?;
    surface.unlike_past(&baseline, &mut unlike);
    let third = surface.path(&clear, &unlike.shares, Some(&baseline))?;
    let at = |c: usize| third[c.clamp(surface.first, surface.last - 1) - surface.first];
    Some(Edge {
        rows: (0..band.size().0).map(|c| surface.row(at(c))).collect(),
    })
}

/// The band seen from the torn metal outwards: border i is i rows beyond the
/// innermost place of the edge, sample i lies between borders i and i + 1.
struct Surface {
    /// Columns of the face: from `first`, before `last`.
    first: usize,
    last: usize,
    /// Samples across, the last beyond the outermost border.
    across: usize,
    /// Torn width, rows.
    width: f64,
    /// Row of border 0, and rows for a step outwards (1 or −1).
    innermost: f64,
    sign: f64,
    /// ln(luma) of each sample, column by column, `across` a column.
    tone: Vec<f64>,
    /// What its roughness speaks for: 1 torn metal, −1 what lies outside.
    speak: Vec<f64>,
}

/// How surely samples differ from what lies outside, 0 … 1, and the scatter of
/// that at each column.
struct Unlike {
    shares: Vec<f64>,
    scatter: Vec<f64>,
}

impl Surface {
    fn new(band: &Band, torn: &Torn, up: bool) -> Option<Self> {
        let columns = band.size().0;
        let line = if up { &torn.top } else { &torn.bottom };
        let (first, last) = (torn.ends.0 as usize, (torn.ends.1 as usize).min(columns));
        if last <= first + 2 * KNOTS {
            return None;
        }
        let width = torn.width();
        let sign = if up { -1.0 } else { 1.0 };
        let middles: Vec<f64> = (first..last)
            .map(|c| 0.5 * (torn.top[c] + torn.bottom[c]))
            .collect();
        let centre = quantile(&middles, 0.5);
        let reach: Vec<f64> = (first..last).map(|c| sign * (line[c] - centre)).collect();
        let from = (quantile(&reach, 0.1) - WITHIN * width).max(0.1 * width);
        let to = quantile(&reach, 0.9) + BEYOND * width;
        let across = (to - from).max(4.0) as usize + 1;
        let innermost = centre + sign * from;
        let row = |i: usize| innermost + sign * (i as f64 + 0.5);
        let places = || (first..last).flat_map(|c| (0..across).map(move |i| (c, i)));
        let rough =
            |c: usize, row: f64| f64::from(band.rough.sample(0.5 * c as f64 + 0.25, 0.5 * row));
        // A cap's ripples are rougher than the plate farther out.
        let mut cap: Vec<f64> = (first..last)
            .flat_map(|c| {
                let (a, b) = ((CAP.0 * width) as usize, (CAP.1 * width) as usize);
                (a..b).map(move |t| (c, line[c] + sign * t as f64))
            })
            .map(|(c, row)| rough(c, row))
            .collect();
        let beside = if up { torn.beside.0 } else { torn.beside.1 };
        let beside = beside.max(median_of(&mut cap).min(MOST_CAP * torn.inside));
        let half = (0.5 * (torn.inside - beside)).max(1e-9);
        let speak = places()
            .map(|(c, i)| ((rough(c, row(i)) - beside) / half - 1.0).clamp(-1.0, 1.0))
            .collect();
        let mean = mean_tones(band, first..last);
        let tone = places()
            .map(|(c, i)| {
                let column = &mean[c - first];
                let at = (row(i) - 0.5).clamp(0.0, (column.len() - 1) as f64);
                let below = (at as usize).min(column.len().saturating_sub(2));
                column[below] + (column[below + 1] - column[below]) * (at - below as f64)
            })
            .collect();
        Some(Self {
            first,
            last,
            across,
            width,
            innermost,
            sign,
            tone,
            speak,
        })
    }

    fn row(&self, border: usize) -> f64 {
        self.innermost + self.sign * border as f64
    }

    fn columns(&self) -> usize {
        self.last - self.first
    }

    /// Index of sample `i` of the `k`-th column.
    fn index(&self, k: usize, i: usize) -> usize {
        k * self.across + i
    }

    fn clear<'a>(&self, changes: &'a Changes) -> Clear<'a> {
        let places = (self.first..self.last)
            .step_by(3)
            .flat_map(|c| (0..self.across).map(move |i| (c, self.row(i))));
        changes.clear(places, CLEAR, ENOUGH)
    }

    /// Border of the edge at each column of the face. `unlike` says how surely
    /// each sample differs from what lies outside, 0 … 1.
    fn path(
        &self,
        clear: &Clear,
        unlike: &[f64],
        baseline: Option<&Baseline>,
    ) -> Option<Vec<usize>> {
        let n = self.across;
        let near = ((OUTSIDE * self.width) as usize).max(2);
        let mut grid = Grid::filled(self.columns(), n, 0.0);
        for k in 0..self.columns() {
            let samples = self.index(k, 0)..self.index(k, n);
            let (speak, unlike) = (&self.speak[samples.clone()], &unlike[samples]);
            let alike = |i: usize| match baseline {
                None => ALIKE,
                Some(b) if (i as f64) < b.at(k) + PAST.0 * self.width => ALIKE_INSIDE,
                Some(_) => ALIKE_BEYOND,
            };
            let mut outside: f64 = speak.iter().map(|s| s.max(0.0)).sum();
            let mut strip: f64 = unlike.iter().take(near).sum();
            let mut inside = 0.0;
            for (i, cost) in grid.column_mut(k).iter_mut().enumerate() {
                let change = clear.at(self.first + k, self.row(i));
                *cost = (outside + strip + inside - TONE * self.width * change) as f32;
                outside -= speak[i].max(0.0);
                strip += unlike.get(i + near).unwrap_or(&0.0) - unlike[i];
                let smooth = (SMOOTH - speak[i]).max(0.0);
                inside += smooth * (UNLIKE + (alike(i) - UNLIKE) * (1.0 - unlike[i]));
            }
        }
        Some(optimal_path(&grid, STEP, BEND)?.0)
    }

    /// How surely each sample differs from the strip close outside `path`.
    fn unlike_strip(&self, path: &[usize]) -> Unlike {
        let columns = self.columns();
        let from = (STRIP.0 * self.width) as usize;
        let to = ((STRIP.1 * self.width) as usize).max(from + 2);
        let path = running_median(path, PATH_MEDIAN);
        let strip: Vec<Vec<f64>> = (0..columns)
            .map(|k| {
                let sample = |t: usize| (path[k] + t).min(self.across - 1);
                (from..to)
                    .map(|t| self.tone[self.index(k, sample(t))])
                    .collect()
            })
            .collect();
        let medians: Vec<f64> = strip.iter().map(|s| quantile(s, 0.5)).collect();
        let reach = (0.5 * WINDOW * columns as f64) as usize;
        let mut unlike = Unlike {
            shares: vec![0.0; self.tone.len()],
            scatter: vec![0.0; columns],
        };
        for start in (0..columns).step_by(EVERY) {
            let window = start.saturating_sub(reach)..(start + reach + 1).min(columns);
            let middle = quantile(&medians[window.clone()], 0.5);
            let mut off: Vec<f64> = strip[window]
                .iter()
                .flatten()
                .map(|v| (v - middle).abs())
                .collect();
            let scatter = (1.4826 * median_of(&mut off)).max(LEAST_SCATTER);
            for k in start..(start + EVERY).min(columns) {
                unlike.scatter[k] = scatter;
                for i in self.index(k, 0)..self.index(k, self.across) {
                    unlike.shares[i] = another(self.tone[i] - middle, scatter);
                }
            }
        }
        unlike
    }

    /// Adds how surely each sample inside the baseline differs from the strip
    /// beyond it in the same column.
    fn unlike_past(&self, baseline: &Baseline, unlike: &mut Unlike) {
        let (from, to) = (
            (PAST.0 * self.width) as usize,
            (PAST.1 * self.width) as usize,
        );
        let beyond: Vec<f64> = (0..self.columns())
            .map(|k| {
                let mut tones: Vec<f64> = (from..=to)
                    .map(|t| {
                        let i = (baseline.at(k) + t as f64).clamp(0.0, (self.across - 1) as f64);
                        self.tone[self.index(k, i as usize)]
                    })
                    .collect();
                median_of(&mut tones)
            })
            .collect();
        for k in 0..self.columns() {
            let near = k.saturating_sub(ALONG + 1)..(k + ALONG + 2).min(beyond.len());
            let middle = quantile(&beyond[near], 0.5);
            let scatter = (0.5 * unlike.scatter[k]).max(LEAST_SCATTER_PAST);
            let inside = (baseline.at(k).ceil().max(0.0) as usize).min(self.across);
            for i in self.index(k, 0)..self.index(k, inside) {
                let share = another(self.tone[i] - middle, scatter);
                unlike.shares[i] = unlike.shares[i].max(share);
            }
        }
    }
}

/// How surely a tone off by `off` from one of this scatter is another, 0 … 1.
fn another(off: f64, scatter: f64) -> f64 {
    (off.abs() / scatter - OFF).clamp(0.0, 1.0)
}

/// Columns whose median a path is smoothed by before its strip is read.
const PATH_MEDIAN: usize = 7;

/// Running median over 2 · `reach` + 1 values.
fn running_median(path: &[usize], reach: usize) -> Vec<usize> {
    (0..path.len())
        .map(|k| {
            let near = k.saturating_sub(reach)..(k + reach + 1).min(path.len());
            let mut near = path[near].to_vec();
            let middle = near.len() / 2;
            *near.select_nth_unstable(middle).1
        })
        .collect()
}

/// Mean of ln(luma) around each sample of the band's `columns`, a list of rows
/// for each.
fn mean_tones(band: &Band, columns: std::ops::Range<usize>) -> Vec<Vec<f64>> {
    let (w, h) = band.size();
    let rows: Vec<Vec<f64>> = (0..h)
        .map(|r| {
            let mut sums = vec![0.0; w + 1];
            for (c, v) in band.luma.row(r).iter().enumerate() {
                sums[c + 1] = sums[c] + f64::from((v + DARK).ln());
            }
            let mean = |c: usize| {
                let (a, b) = (c.saturating_sub(ALONG), (c + ALONG + 1).min(w));
                (sums[b] - sums[a]) / (b - a) as f64
            };
            columns.clone().map(mean).collect()
        })
        .collect();
    (0..columns.len())
        .map(|k| {
            let mean = |r: usize| {
                let near = r.saturating_sub(ACROSS)..(r + ACROSS + 1).min(h);
                let n = near.len() as f64;
                near.map(|q| rows[q][k]).sum::<f64>() / n
            };
            (0..h).map(mean).collect()
        })
        .collect()
}
