//! One reading of the face at one level of strictness.

use super::Kind;
use super::band::{Reluctance, band};
use super::features::Cells;
use super::patches;
use crate::base::numeric::quantile;
use crate::fracture::strip::Strip;
use std::ops::Range;

/// A zone goes on at most this far along the weld beyond what a stricter
/// reading sees of it, mm: the windows of the evidence are that long.
const REACH_MM: f64 = 1.5;

/// What a band must gain in a column beyond its cost, log-odds: a row or two of
/// weak evidence at the corner is no band.
const PRESENCE: f32 = 4.0;

/// A gap of torn metal this high ends a band …
const GAP_MM: f64 = 0.4;
/// … when the evidence, averaged over this stretch along the weld, mm …
const GAP_ALONG_MM: f64 = 2.0;
/// … stays below this: rust or a scratch on the surface is shorter.
const GAP: f32 = -1.0;

/// Most that one cell may say, log-odds: its neighbours share its windows.
const LOUDEST: f32 = 3.0;

/// Cost of a patch's border, log-odds a cell side.
const BORDER: f32 = 3.0;

/// What lies at the root line is more often unfused than what lies anywhere else: log-odds
/// added there, and the height over which that falls to a third, mm.
const AT_ROOT: f32 = 1.0;
const AT_ROOT_MM: f64 = 0.8;

/// Added to the evidence for a patch, log-odds: a rippled bead speaks for itself less
/// than a plate, and what comes out is judged as a whole ([`super::verdict`]).
const PATCH: f32 = 0.7;

/// Costs of a band's changes, log-odds.
const RELUCTANCE: Reluctance = Reluctance {
    step: 1.5,
    switch: 25.0,
};

/// Of the unbiased evidence in a zone, this quantile …
const CORE_QUANTILE: f64 = 0.8;
/// … must reach this: somewhere the surface must speak for itself.
const CORE: f64 = 0.6;

/// Least length along the weld of a band, mm (the definition of a root run).
const SHORTEST_MM: f64 = 1.0;

/// A band must rise to this height above its edge of the face somewhere, mm …
const PEAK_MM: f64 = 0.5;
/// … and be this high in the mean, mm: the edges are known to a few tenths of
/// a millimetre, and what lies beyond them is smooth as well.
const MEAN_MM: f64 = 0.3;

/// Smallest patch between runs, mm²: below it a facet looks the same.
const SMALLEST_MM2: f64 = 0.5;

/// Below this height the corner's own line may hide the surface, mm …
const CORNER_MM: f64 = 0.2;
/// … and what speaks against a band there counts for no more than this.
const FAINT: f32 = -0.5;

/// What all levels of strictness share.
pub struct Reading<'a> {
    cells: &'a Cells,
    evidence: &'a [f32],
    /// Evidence averaged along the weld.
    along: Vec<f32>,
    /// Cells of each column from the root line up.
    columns: Vec<Vec<usize>>,
}

/// The kind of every cell, `None` where the metal is torn.
pub type Kinds = Vec<Option<Kind>>;

/// What one reading says.
pub struct Read {
    /// The kind of every cell.
    pub kinds: Kinds,
    /// Bands that were too low, too short or too faint to count.
    pub dropped: Vec<(Kind, Vec<usize>)>,
}

impl<'a> Reading<'a> {
    /// Prepares for reading.
    pub fn new(strip: &Strip, cells: &'a Cells, evidence: &'a [f32]) -> Self {
        let columns = (0..cells.columns)
            .map(|c| {
                let far = strip.far_at(cells.s(c));
                (0..cells.rows)
                    .filter(|r| (0.0..far).contains(&cells.height(*r)))
                    .map(|r| r * cells.columns + c)
                    .collect()
            })
            .collect();
        let half = (0.5 * GAP_ALONG_MM / cells.side_mm) as usize;
        Self {
            cells,
            evidence,
            along: averaged(evidence, &cells.inside, cells.columns, half),
            columns,
        }
    }

    /// The kind of every cell at one level. With `support`, a zone keeps only
    /// what lies near cells that the supporting reading calls unfused too.
    pub fn at(&self, level: f32, support: Option<&Kinds>) -> Read {
        let gain: Vec<f32> = self
            .evidence
            .iter()
            .zip(&self.cells.inside)
            .map(|(e, inside)| {
                if *inside {
                    (e + level).clamp(-LOUDEST, LOUDEST)
                } else {
                    0.0
                }
            })
            .collect();
        let mut kinds: Kinds = vec![None; gain.len()];
        let mut gain = gain;
        let mut dropped = Vec::new();
        for kind in [Kind::Root, Kind::Sidewall] {
            // What was too low or too short for a band at an edge is no patch
            // inside the face either.
            for band in self.bands(kind, &gain, level, support, &mut kinds) {
                band.iter().for_each(|i| gain[*i] = -LOUDEST);
                dropped.push((kind, band));
            }
        }
        self.patches(&gain, support, &mut kinds);
        Read { kinds, dropped }
    }

    /// Marks the bands of one kind; returns what was not enough for one.
    fn bands(
        &self,
        kind: Kind,
        gain: &[f32],
        level: f32,
        support: Option<&Kinds>,
        kinds: &mut Kinds,
    ) -> Vec<Vec<usize>> {
        let side = self.cells.side_mm;
        let mut dropped = Vec::new();
        let corner = (CORNER_MM / side).round() as usize;
        let columns: Vec<Vec<usize>> = self
            .columns
            .iter()
            .map(|column| {
                let mut column = column.clone();
                if kind == Kind::Sidewall {
                    column.reverse();
                }
                self.before_gap(column, corner, level)
            })
            .collect();
        let at_edge = |row: usize| match kind {
            Kind::Root => AT_ROOT * (-(row as f64) * side / AT_ROOT_MM).exp() as f32,
            _ => 0.0,
        };
        let gains: Vec<Vec<f32>> = columns
            .iter()
            .map(|column| {
                let gain = |(k, i): (usize, &usize)| {
                    let own = match kinds[*i] {
                        Some(_) => -LOUDEST,
                        None if k < corner => gain[*i].max(FAINT),
                        None => gain[*i],
                    };
                    let own = own + at_edge(k);
                    if k == 0 { own - PRESENCE } else { own }
                };
                column.iter().enumerate().map(gain).collect()
            })
            .collect();
        let path = band(&gains, RELUCTANCE);
        for run in runs(&path) {
            for run in self.supported(run, support, |c| &columns[c][..path[c]]) {
                let covered: Vec<usize> = run
                    .clone()
                    .flat_map(|c| columns[c][..path[c]].iter().copied())
                    .collect();
                let long = run.len() as f64 * side >= SHORTEST_MM;
                let tall = |c: usize| path[c] as f64 * side;
                let peak = run.clone().map(tall).fold(0.0, f64::max);
                let mean = run.clone().map(tall).sum::<f64>() / run.len().max(1) as f64;
                let high = peak >= PEAK_MM && mean >= MEAN_MM;
                if long && high && (support.is_some() || self.has_core(&covered)) {
                    covered.iter().for_each(|i| kinds[*i] = Some(kind));
                } else {
                    dropped.push(covered);
                }
            }
        }
        dropped
    }

    /// The cells of a column up to where torn metal begins for good.
    fn before_gap(&self, mut column: Vec<usize>, corner: usize, level: f32) -> Vec<usize> {
        let gap = (GAP_MM / self.cells.side_mm).round() as usize;
        let mut torn = 0;
        for k in corner..column.len() {
            torn = if self.along[column[k]] + level < GAP {
                torn + 1
            } else {
                0
            };
            if torn >= gap {
                column.truncate(k + 1 - gap);
                break;
            }
        }
        column
    }

    fn patches(&self, gain: &[f32], support: Option<&Kinds>, kinds: &mut Kinds) {
        let (w, side) = (self.cells.columns, self.cells.side_mm);
        // Cells beside a band count against a patch, so that none grows out of
        // a band's border.
        let gain: Vec<f32> = (0..gain.len())
            .map(|i| {
                if kinds[i].is_some() {
                    -LOUDEST
                } else {
                    (gain[i] + PATCH).min(LOUDEST)
                }
            })
            .collect();
        let region = patches::region(&gain, w, BORDER);
        let region: Vec<bool> = (0..gain.len())
            .map(|i| region[i] && self.cells.inside[i] && kinds[i].is_none())
            .collect();
        for mut part in patches::parts(&region, w) {
            part.sort_unstable_by_key(|i| i % w);
            let (first, last) = (part[0] % w, part[part.len() - 1] % w);
            let of = |c: usize| {
                let from = part.partition_point(|i| i % w < c);
                let to = part.partition_point(|i| i % w <= c);
                &part[from..to]
            };
            for run in self.supported(first..last + 1, support, of) {
                let covered: Vec<usize> = run.flat_map(|c| of(c).iter().copied()).collect();
                let large = covered.len() as f64 * side * side >= SMALLEST_MM2;
                if large && (support.is_some() || self.has_core(&covered)) {
                    covered
                        .iter()
                        .for_each(|i| kinds[*i] = Some(Kind::InterRun));
                }
            }
        }
    }

    /// The parts of a run of columns that lie within reach of support.
    fn supported<'b>(
        &self,
        run: Range<usize>,
        support: Option<&Kinds>,
        cells_of: impl Fn(usize) -> &'b [usize],
    ) -> Vec<Range<usize>> {
        let Some(support) = support else {
            return vec![run];
        };
        let reach = (REACH_MM / self.cells.side_mm).round() as usize;
        let mut kept = vec![0usize; run.len()];
        for c in run.clone() {
            if cells_of(c).iter().any(|i| support[*i].is_some()) {
                let from = c.saturating_sub(reach).max(run.start) - run.start;
                let to = (c + reach + 1).min(run.end) - run.start;
                kept[from..to].fill(1);
            }
        }
        runs(&kept)
            .into_iter()
            .map(|r| r.start + run.start..r.end + run.start)
            .collect()
    }

    /// Whether a zone's own evidence holds somewhere without help.
    fn has_core(&self, part: &[usize]) -> bool {
        let values: Vec<f64> = part.iter().map(|i| f64::from(self.evidence[*i])).collect();
        quantile(&values, CORE_QUANTILE) >= CORE
    }
}

/// Means along the rows of a `columns`-wide grid over `half` cells either way,
/// of cells that count.
fn averaged(values: &[f32], counts: &[bool], columns: usize, half: usize) -> Vec<f32> {
    let mut out = vec![0.0; values.len()];
    for (row, start) in (0..values.len()).step_by(columns.max(1)).enumerate() {
        debug_assert_eq!(row * columns, start);
        let mut sums = vec![(0.0f32, 0.0f32)];
        let mut sum = (0.0, 0.0);
        for i in start..start + columns {
            if counts[i] {
                sum = (sum.0 + values[i], sum.1 + 1.0);
            }
            sums.push(sum);
        }
        for c in 0..columns {
            let (a, b) = (
                sums[c.saturating_sub(half)],
                sums[(c + half + 1).min(columns)],
            );
            out[start + c] = (b.0 - a.0) / (b.1 - a.1).max(1.0);
        }
    }
    out
}

/// Stretches of columns that have something.
fn runs(path: &[usize]) -> Vec<Range<usize>> {
    let mut runs = Vec::new();
    let mut start = None;
    for (c, height) in path.iter().chain(&[0]).enumerate() {
        match (start, *height > 0) {
            (None, true) => start = Some(c),
            (Some(s), false) => {
                runs.push(s..c);
                start = None;
            }
            _ => {}
        }
    }
    runs
}
