//! Stage 3c: what the straightened face shows: torn metal, surfaces that never
//! fused, and what cannot be told.
//!
//! Evidence a cell ([`evidence`]) → bands along the root line and the far edge
//! as optimal paths ([`band`]) → patches between them as optimal regions
//! ([`patches`]). Everything is done at three levels of strictness: what only
//! the lenient one calls unfused is *unsure*.

mod band;
mod evidence;
pub mod features;
mod outline;
mod patches;

use super::strip::{Straight, Strip};
use crate::base::geometry::Point;
use crate::base::numeric::quantile;
use band::{Reluctance, band};
use features::Cells;

/// Which fusion is missing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// At the root: the plate's own surface.
    Root,
    /// Between two runs.
    InterRun,
    /// At a side wall: touches the far edge.
    Sidewall,
}

/// A surface that never fused.
#[derive(Clone, Debug)]
pub struct Zone {
    /// Which.
    pub kind: Kind,
    /// Its cells.
    pub cells: Vec<usize>,
    /// Closed outline.
    pub outline: Vec<Point<Straight>>,
    /// How sure it is, 0.5 … 1.
    pub confidence: f64,
}

/// The zones of one face.
#[derive(Clone, Debug)]
pub struct Zones {
    /// The cells everything is counted in.
    pub cells: Cells,
    /// Zones in order along the weld.
    pub zones: Vec<Zone>,
    /// Log-odds of "never fused" a cell.
    pub evidence: Vec<f32>,
    /// What only a strict, and what already a lenient reading calls unfused:
    /// the kind of each cell.
    pub strict: Vec<Option<Kind>>,
    /// See `strict`.
    pub lenient: Vec<Option<Kind>>,
    /// Cells that are neither surely torn nor surely unfused, or hidden.
    pub unsure: Vec<bool>,
}

/// Log-odds added to the evidence at the three levels: strict, best, lenient.
/// The evidence balances single cells; a band or patch is judged as a whole, so
/// a cell may be called smooth on less. One unit of log-odds either way is how
/// far the weights scatter between pictures.
const LEVELS: [f32; 3] = [0.5, 1.5, 2.5];

/// Most that one cell may say, log-odds: its neighbours share its windows.
const LOUDEST: f32 = 3.0;

/// Cost of a patch's border, log-odds a cell side.
const BORDER: f32 = 3.0;

/// Costs of a band's changes, log-odds.
const RELUCTANCE: Reluctance = Reluctance {
    step: 1.5,
    switch: 25.0,
};

/// Of the unbiased evidence in a zone, this quantile …
const CORE_QUANTILE: f64 = 0.8;
/// … must reach this: somewhere the surface must speak for itself.
const CORE: f64 = 1.1;

/// Least length along the weld of a band, mm (the definition of a root run).
const SHORTEST_MM: f64 = 1.0;

/// Smallest patch between runs, mm²: below it a facet looks the same.
const SMALLEST_MM2: f64 = 0.5;

/// Below this height the corner's own line may hide the surface, mm; what
/// speaks against a band there counts for little.
const CORNER_MM: f64 = 0.2;

impl Zones {
    /// Reads the face.
    pub fn new(strip: &Strip) -> Self {
        let cells = Cells::new(strip);
        let evidence = evidence::evidence(&cells);
        let [strict, best, lenient] = LEVELS.map(|level| read(strip, &cells, &evidence, level));
        let unsure = (0..evidence.len())
            .map(|i| {
                let on_face = {
                    let h = cells.height(i / cells.columns);
                    h > 0.0 && h < strip.far_at(cells.s(i % cells.columns))
                };
                on_face && (!cells.inside[i] || strict[i] != lenient[i])
            })
            .collect();
        let mut zones = Vec::new();
        for kind in [Kind::Root, Kind::InterRun, Kind::Sidewall] {
            let mask: Vec<bool> = best.iter().map(|k| *k == Some(kind)).collect();
            for part in patches::parts(&mask, cells.columns) {
                let values: Vec<f64> = part.iter().map(|i| f64::from(evidence[*i])).collect();
                let core = quantile(&values, CORE_QUANTILE);
                let outline = outline::outline(&cells, &part);
                zones.push(Zone {
                    kind,
                    cells: part,
                    outline,
                    confidence: 1.0 / (1.0 + (-core).exp()),
                });
            }
        }
        Self {
            cells,
            zones,
            evidence,
            strict,
            lenient,
            unsure,
        }
    }
}

/// The kind of every cell at one level of strictness.
fn read(strip: &Strip, cells: &Cells, evidence: &[f32], level: f32) -> Vec<Option<Kind>> {
    let (w, n) = (cells.columns, evidence.len());
    let mut kinds: Vec<Option<Kind>> = vec![None; n];
    let gain: Vec<f32> = (0..n)
        .map(|i| {
            if cells.inside[i] {
                (evidence[i] + level).clamp(-LOUDEST, LOUDEST)
            } else {
                0.0
            }
        })
        .collect();
    // Cells of each column from the root line up.
    let columns: Vec<Vec<usize>> = (0..w)
        .map(|c| {
            let far = strip.far_at(cells.s(c));
            (0..cells.rows)
                .filter(|r| (0.0..far).contains(&cells.height(*r)))
                .map(|r| r * w + c)
                .collect()
        })
        .collect();
    let corner = (CORNER_MM / cells.side_mm).round() as usize;
    for kind in [Kind::Root, Kind::Sidewall] {
        let order = |column: &Vec<usize>| -> Vec<usize> {
            let mut cells = column.clone();
            if kind == Kind::Sidewall {
                cells.reverse();
            }
            cells
        };
        let gains: Vec<Vec<f32>> = columns
            .iter()
            .map(|column| {
                let gain = |(k, i): (usize, &usize)| match kinds[*i] {
                    Some(_) => -LOUDEST,
                    None if k < corner => gain[*i].max(-0.5),
                    None => gain[*i],
                };
                order(column).iter().enumerate().map(gain).collect()
            })
            .collect();
        let path = band(&gains, RELUCTANCE);
        for run in runs(&path) {
            let covered: Vec<usize> = run
                .clone()
                .flat_map(|c| order(&columns[c]).into_iter().take(path[c]))
                .collect();
            if (run.len() as f64) * cells.side_mm >= SHORTEST_MM && has_core(evidence, &covered) {
                covered.iter().for_each(|i| kinds[*i] = Some(kind));
            }
        }
    }
    // Patches between the bands; cells beside a band count against a patch, so
    // that none grows out of a band's border.
    let gain: Vec<f32> = (0..n)
        .map(|i| if kinds[i].is_some() { -LOUDEST } else { gain[i] })
        .collect();
    let region = patches::region(&gain, w, BORDER);
    let region: Vec<bool> = (0..n)
        .map(|i| region[i] && cells.inside[i] && kinds[i].is_none())
        .collect();
    for part in patches::parts(&region, w) {
        if (part.len() as f64) * cells.side_mm.powi(2) >= SMALLEST_MM2 && has_core(evidence, &part) {
            part.iter().for_each(|i| kinds[*i] = Some(Kind::InterRun));
        }
    }
    kinds
}

/// Whether a zone's own evidence holds somewhere without help.
fn has_core(evidence: &[f32], part: &[usize]) -> bool {
    let values: Vec<f64> = part.iter().map(|i| f64::from(evidence[*i])).collect();
    quantile(&values, CORE_QUANTILE) >= CORE
}

/// Stretches of columns with a band.
fn runs(path: &[usize]) -> Vec<std::ops::Range<usize>> {
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
