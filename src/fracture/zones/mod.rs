//! Stage 3c: what the straightened face shows: torn metal, surfaces that never
//! fused, and what cannot be told.
//!
//! Evidence a cell ([`evidence`]) → bands along the root line and the far edge
//! as optimal paths ([`band`]) → patches between them as optimal regions
//! ([`patches`]). Everything is done at three levels of strictness: what only
//! the lenient one calls unfused is *unsure*.

mod band;
mod corner;
mod evidence;
pub mod features;
pub mod patches;
mod reading;
mod verdict;

use super::figures::Grid;
use super::halves::{self, Half, Pairing};
use super::strip::{Straight, Strip};
use crate::base::geometry::Point;
use crate::base::raster::Gray;
use features::Cells;
use reading::{Kinds, Read, Reading};

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
    /// How likely it is one, 0 … 1.
    pub confidence: f64,
}

/// The zones of one face.
#[derive(Clone, Debug)]
pub struct Zones {
    /// The cells everything is counted in.
    pub cells: Cells,
    /// Zones in order along the weld.
    pub zones: Vec<Zone>,
    /// What may be a zone and is more likely none.
    pub passed_over: Vec<Zone>,
    /// Log-odds of "never fused" a cell.
    pub evidence: Vec<f32>,
    /// How far the zones reach when read strictly, and when read leniently: the
    /// kind of each cell.
    pub strict: Vec<Option<Kind>>,
    /// See `strict`.
    pub lenient: Vec<Option<Kind>>,
    /// The kind of each cell in the reading between the two, which is stated.
    pub best: Vec<Option<Kind>>,
    /// Cells on the face that show nothing of the metal.
    pub hidden: Vec<bool>,
    /// Cells that are neither surely torn nor surely unfused, or hidden.
    pub unsure: Vec<bool>,
    /// How the other half lies on this one, where it was read with it.
    pub pairing: Option<Pairing>,
}

impl Zone {
    /// Where it begins along the weld, mm.
    pub fn start_mm(&self, grid: &Grid) -> f64 {
        let columns = self.cells.iter().map(|i| i % grid.columns);
        columns.min().unwrap_or(0) as f64 * grid.side_mm
    }

    /// Whether it is neither surely one nor surely none.
    pub fn in_doubt(&self) -> bool {
        self.confidence.min(1.0 - self.confidence) >= DOUBT
    }
}

/// Log-odds added to the evidence at the three levels: strict, best, lenient.
/// The evidence balances single cells; a band or patch is judged as a whole, so
/// a cell may be called smooth on less. One unit of log-odds either way is how
/// far the weights scatter between pictures.
const LEVELS: [f32; 3] = [0.5, 1.5, 2.5];

impl Zones {
    /// Reads the face, by the other half's evidence too where that one belongs to it.
    pub fn new(strip: &Strip, other: Option<&Strip>) -> Self {
        let cells = Cells::new(strip);
        let mut evidence = evidence::evidence(&cells);
        let mut pairing = None;
        if let Some(other) = other {
            let there = Cells::new(other);
            let odds = evidence::evidence(&there);
            let one = Half {
                cells: &cells,
                evidence: &evidence,
            };
            let other = Half {
                cells: &there,
                evidence: &odds,
            };
            pairing = halves::pair(one, other);
            if let Some(pairing) = &pairing {
                evidence = halves::joined(one, other, pairing);
            }
        }
        let reading = Reading::new(strip, &cells, &evidence);
        let strict = reading.at(LEVELS[0], None).kinds;
        let found = reading.at(LEVELS[1], Some(&strict));
        let lenient = reading.at(LEVELS[2], None);
        let judge = Judge {
            cells: &cells,
            evidence: &evidence,
            strip,
            log: features::log_luma(strip, &cells),
            taken: found.kinds.iter().map(Option::is_some).collect(),
        };
        let (zones, mut passed_over, judged) = judge.parts(&found.kinds);
        passed_over.extend(judge.faint(&found, &lenient));
        let (found, lenient) = (found.kinds, lenient.kinds);
        let best: Kinds = found
            .iter()
            .zip(&judged)
            .map(|(k, odds)| k.filter(|_| *odds >= 0.0))
            .collect();
        let strict: Kinds = (0..strict.len()).map(|i| strict[i].and(best[i])).collect();
        let lenient = reaching(&cells, &lenient, &best);
        let mut doubtful = vec![false; evidence.len()];
        for zone in zones.iter().chain(&passed_over) {
            let doubt = zone.in_doubt();
            zone.cells.iter().for_each(|i| doubtful[*i] |= doubt);
        }
        let hidden: Vec<bool> = (0..evidence.len())
            .map(|i| {
                let h = cells.height(i / cells.columns);
                h > 0.0 && h < strip.far_at(cells.s(i % cells.columns)) && !cells.inside[i]
            })
            .collect();
        let unsure = (0..evidence.len())
            .map(|i| hidden[i] || doubtful[i] || strict[i] != lenient[i])
            .collect();
        Self {
            cells,
            zones,
            passed_over,
            evidence,
            strict,
            lenient,
            best,
            hidden,
            unsure,
            pairing,
        }
    }

    /// Gives up zones between runs that are in truth flaws: the wall of a large
    /// pore is smooth as well. `flaw` tells whether a place lies in one.
    pub fn give_up_flaws(&mut self, flaw: impl Fn(Point<Straight>) -> bool) {
        let grid = self.cells.grid();
        let inside = |i: &&usize| {
            let (s, h) = grid.centre(**i);
            flaw(Point::new(s, h))
        };
        let is_flaw = |z: &Zone| {
            let covered = z.cells.iter().filter(inside).count() as f64;
            z.kind == Kind::InterRun && covered >= FLAW_SHARE * z.cells.len() as f64
        };
        let (given_up, kept): (Vec<Zone>, Vec<Zone>) = std::mem::take(&mut self.zones)
            .into_iter()
            .partition(is_flaw);
        self.zones = kept;
        self.passed_over.retain(|z| !is_flaw(z));
        let between: Vec<bool> = self
            .lenient
            .iter()
            .map(|k| *k == Some(Kind::InterRun))
            .collect();
        for part in patches::parts(&between, grid.columns) {
            if part
                .iter()
                .any(|i| given_up.iter().any(|z| z.cells.contains(i)))
            {
                for i in part {
                    (self.strict[i], self.best[i], self.lenient[i]) = (None, None, None);
                    self.unsure[i] = self.hidden[i];
                }
            }
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

/// Chance below which a zone is taken for none, or above one less this for
/// sure: an interval that holds nineteen times in twenty may leave it out.
const DOUBT: f64 = 0.05;

/// Judges zones as wholes.
struct Judge<'a> {
    cells: &'a Cells,
    evidence: &'a [f32],
    strip: &'a Strip,
    /// ln(luma) of the strip.
    log: Gray,
    /// Cells of all zones of the reading that is stated.
    taken: Vec<bool>,
}

impl Judge<'_> {
    fn zone(&self, kind: Kind, part: Vec<usize>) -> (Zone, f64) {
        let corner = (kind == Kind::Sidewall).then(|| {
            let columns = verdict::columns(self.cells, &part);
            corner::corner(self.strip, self.cells, &self.log, &columns)
        });
        let odds = verdict::odds(self.cells, self.evidence, &part, &self.taken, corner);
        let zone = Zone {
            kind,
            outline: self.cells.outline(&part),
            cells: part,
            confidence: 1.0 / (1.0 + (-odds).exp()),
        };
        (zone, odds)
    }

    /// The zones of a reading that are more likely unfused than not, in order
    /// along the weld within their kind, the others, and the log-odds of every
    /// cell's zone.
    fn parts(&self, found: &[Option<Kind>]) -> (Vec<Zone>, Vec<Zone>, Vec<f64>) {
        let mut judged = vec![f64::NEG_INFINITY; found.len()];
        let (mut zones, mut others) = (Vec::new(), Vec::new());
        for kind in [Kind::Root, Kind::InterRun, Kind::Sidewall] {
            let mask: Vec<bool> = found.iter().map(|k| *k == Some(kind)).collect();
            for part in patches::parts(&mask, self.cells.columns) {
                let (zone, odds) = self.zone(kind, part);
                zone.cells.iter().for_each(|i| judged[*i] = odds);
                if odds >= 0.0 {
                    zones.push(zone);
                } else {
                    others.push(zone);
                }
            }
        }
        (zones, others, judged)
    }

    /// Zones that only the lenient reading sees, and bands that were dropped.
    fn faint(&self, found: &Read, lenient: &Read) -> Vec<Zone> {
        let n = self.cells.inside.len();
        let mut faint = Vec::new();
        let mut seen = self.taken.clone();
        let bands = found.dropped.iter().chain(&lenient.dropped);
        let mut add = |kind: Kind, mask: &[bool]| {
            for part in patches::parts(mask, self.cells.columns) {
                if part.len() >= FEWEST_FAINT && !part.iter().any(|i| seen[*i]) {
                    part.iter().for_each(|i| seen[*i] = true);
                    faint.push(self.zone(kind, part).0);
                }
            }
        };
        for kind in [Kind::Root, Kind::InterRun, Kind::Sidewall] {
            let mut mask: Vec<bool> = lenient.kinds.iter().map(|k| *k == Some(kind)).collect();
            add(kind, &mask);
            mask = vec![false; n];
            for (_, band) in bands.clone().filter(|(k, _)| *k == kind) {
                band.iter().for_each(|i| mask[*i] = true);
            }
            add(kind, &mask);
        }
        faint
    }
}

/// Smallest faint place that may be a zone, cells: a band of the least length
/// and two cells high.
const FEWEST_FAINT: usize = 20;

/// The parts of a lenient reading that belong to a zone, and the zones.
fn reaching(cells: &Cells, lenient: &[Option<Kind>], zones: &[Option<Kind>]) -> Kinds {
    let mut out = zones.to_vec();
    let mask: Vec<bool> = lenient.iter().map(Option::is_some).collect();
    for part in patches::parts(&mask, cells.columns) {
        if part.iter().any(|i| zones[*i].is_some()) {
            part.iter()
                .for_each(|i| out[*i] = zones[*i].or(lenient[*i]));
        }
    }
    out
}

/// Share of a zone between runs that lies in flaws when it is taken for one.
const FLAW_SHARE: f64 = 0.4;

/// Smallest unsure place that is drawn, cells: a tenth of a square millimetre.
const FEWEST_UNSURE: usize = 10;
