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
pub mod patches;
mod reading;

use super::figures::Grid;
use super::strip::{Straight, Strip};
use crate::base::geometry::Point;
use crate::base::numeric::quantile;
use features::Cells;
use reading::{CORE_QUANTILE, Reading};

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
    /// The kind of each cell in the reading between the two, which is stated.
    pub best: Vec<Option<Kind>>,
    /// Cells on the face that show nothing of the metal.
    pub hidden: Vec<bool>,
    /// Cells that are neither surely torn nor surely unfused, or hidden.
    pub unsure: Vec<bool>,
}

impl Zone {
    /// Where it begins along the weld, mm.
    pub fn start_mm(&self, grid: &Grid) -> f64 {
        let columns = self.cells.iter().map(|i| i % grid.columns);
        columns.min().unwrap_or(0) as f64 * grid.side_mm
    }
}

/// Log-odds added to the evidence at the three levels: strict, best, lenient.
/// The evidence balances single cells; a band or patch is judged as a whole, so
/// a cell may be called smooth on less. One unit of log-odds either way is how
/// far the weights scatter between pictures.
const LEVELS: [f32; 3] = [0.5, 1.5, 2.5];

impl Zones {
    /// Reads the face.
    pub fn new(strip: &Strip) -> Self {
        let cells = Cells::new(strip);
        let evidence = evidence::evidence(&cells);
        let reading = Reading::new(strip, &cells, &evidence);
        let strict = reading.at(LEVELS[0], None);
        let best = reading.at(LEVELS[1], Some(&strict));
        let lenient = reading.at(LEVELS[2], None);
        let hidden: Vec<bool> = (0..evidence.len())
            .map(|i| {
                let h = cells.height(i / cells.columns);
                h > 0.0 && h < strip.far_at(cells.s(i % cells.columns)) && !cells.inside[i]
            })
            .collect();
        let unsure = (0..evidence.len())
            .map(|i| hidden[i] || strict[i] != lenient[i])
            .collect();
        let mut zones = Vec::new();
        for kind in [Kind::Root, Kind::InterRun, Kind::Sidewall] {
            let mask: Vec<bool> = best.iter().map(|k| *k == Some(kind)).collect();
            for part in patches::parts(&mask, cells.columns) {
                let values: Vec<f64> = part.iter().map(|i| f64::from(evidence[*i])).collect();
                let core = quantile(&values, CORE_QUANTILE);
                let outline = cells.outline(&part);
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
            best,
            hidden,
            unsure,
        }
    }

    /// Outlines of what cannot be told, without specks.
    pub fn unsure_outlines(&self) -> Vec<Vec<Point<Straight>>> {
        patches::parts(&self.unsure, self.cells.columns)
            .into_iter()
            .filter(|part| part.len() >= FEWEST_UNSURE)
            .map(|part| self.cells.outline(&part))
            .collect()
    }
}

/// Smallest unsure place that is drawn, cells: a tenth of a square millimetre.
const FEWEST_UNSURE: usize = 10;
