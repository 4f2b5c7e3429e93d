//! How strongly each cell speaks for a surface that never fused, as natural
//! log-odds against torn metal.
//!
//! Everything is taken relative to this picture's own torn metal, found in two
//! rounds: first all of the face stands for it, then what the first round did
//! not call smooth. Seven weights carry the evidence; they are the same for every
//! picture and were fitted by logistic regression to rendered faces, each
//! picture judged by weights fitted to the others (see `docs/method.md`).

use super::features::{Cells, Look};
use crate::base::numeric::{mad, median};
use crate::fracture::light::Light;

/// Half-length of the stretch along s over which light is taken to be even, mm.
const LIGHT_MM: f64 = 8.0;

/// Spacing of the places at which the light is estimated, mm.
const LIGHT_STEP_MM: f64 = 2.0;

/// Fewest cells of torn metal that an estimate of its look may rest on.
const FEWEST: usize = 200;

/// Weights of the evidence, log-odds per unit of a feature.
struct Weights {
    /// Rough along the weld: torn.
    streak: f32,
    /// Rough any way: torn.
    fine: f32,
    /// Tone that varies slowly in spite of little fine gradient: a bent or
    /// tinted skin rather than facets.
    spread: f32,
    /// Brighter than the torn metal around, in units of its scatter: a bead's
    /// shining skin.
    bright: f32,
    /// Darker, likewise: oxide, scale, slag.
    dark: f32,
    /// Bluer than the torn metal: temper colour. Rust is not held against or
    /// for anything, since it grows after breaking as well.
    blue: f32,
    /// Gradients that run one way: machining lines, rolled surface.
    coherence: f32,
    /// Torn metal is the rule.
    constant: f32,
}

const WEIGHTS: Weights = Weights {
    streak: -5.15,
    fine: -1.4,
    spread: 3.3,
    bright: 0.51,
    dark: 0.61,
    blue: 13.1,
    coherence: 1.9,
    constant: -5.6,
};

/// Bounds of a gradient against the torn metal's, in units of its logarithm. Half
/// of torn metal is rougher than its median, so that being rougher still says
/// hardly more: a shining rippled bead is rougher, too.
const GRADIENT: (f32, f32) = (-2.0, 0.3);
/// Most that a tone away from the torn metal's counts, in units of its scatter:
/// facets shine one by one, so that a window of a millimetre that is brighter by
/// this much is no torn metal however rough it looks.
const FARTHEST: f32 = 12.0;
/// Least scatter of tone taken for real, ln luma.
const EVENEST: f32 = 0.02;
/// Most that blueness counts, in units of ln(yellow / blue).
const BLUEST: f32 = 0.5;

/// Log-odds of "never fused" against "torn", one a cell; 0 outside the face.
pub fn evidence(cells: &Cells) -> Vec<f32> {
    let mut torn = cells.inside.clone();
    let mut odds = vec![0.0; torn.len()];
    for _ in 0..2 {
        let reference = Reference::new(cells, &torn);
        odds = (0..torn.len())
            .map(|i| {
                if cells.inside[i] {
                    reference.odds(&cells.looks[i], i % cells.columns)
                } else {
                    0.0
                }
            })
            .collect();
        let rest: Vec<bool> = odds
            .iter()
            .zip(&cells.inside)
            .map(|(e, inside)| *inside && *e < 0.0)
            .collect();
        if rest.iter().filter(|t| **t).count() < FEWEST {
            break;
        }
        torn = rest;
    }
    odds
}

/// The look of this picture's torn metal.
struct Reference {
    look: Look,
    /// Median tone around each column.
    light: Vec<f32>,
    /// Scatter of tone about it.
    scatter: f32,
}

impl Reference {
    fn new(cells: &Cells, torn: &[bool]) -> Self {
        let of = |f: fn(&Look) -> f32| {
            let values: Vec<f64> = (0..torn.len())
                .filter(|i| torn[*i])
                .map(|i| f64::from(f(&cells.looks[i])))
                .collect();
            median(&values) as f32
        };
        let light = light(cells, torn);
        let tones: Vec<f64> = (0..torn.len())
            .filter(|i| torn[*i])
            .map(|i| f64::from(cells.looks[i].tone - light[i % cells.columns]))
            .collect();
        Self {
            scatter: (mad(&tones) as f32).max(EVENEST),
            look: Look {
                streak: of(|l| l.streak),
                fine: of(|l| l.fine),
                spread: of(|l| l.spread),
                tone: of(|l| l.tone),
                yellow_blue: of(|l| l.yellow_blue),
                coherence: of(|l| l.coherence),
            },
            light,
        }
    }

    fn odds(&self, look: &Look, column: usize) -> f32 {
        let against =
            |value: f32, reference: f32| (value - reference).clamp(GRADIENT.0, GRADIENT.1);
        let tone = (look.tone - self.light[column]) / self.scatter;
        let blue = (self.look.yellow_blue - look.yellow_blue).clamp(0.0, BLUEST);
        let w = &WEIGHTS;
        w.constant
            + w.streak * against(look.streak, self.look.streak)
            + w.fine * against(look.fine, self.look.fine)
            + w.spread * against(look.spread, self.look.spread)
            + w.bright * tone.clamp(0.0, FARTHEST)
            + w.dark * (-tone).clamp(0.0, FARTHEST)
            + w.blue * blue
            + w.coherence * (look.coherence - self.look.coherence)
    }
}

/// Median tone of the torn metal around each column.
fn light(cells: &Cells, torn: &[bool]) -> Vec<f32> {
    let cells_in = |mm: f64| (mm / cells.side_mm) as usize;
    let light = Light {
        half: cells_in(LIGHT_MM),
        step: cells_in(LIGHT_STEP_MM),
        fewest: FEWEST,
    };
    light.along(cells.columns, |stretch| {
        (0..cells.rows)
            .flat_map(|r| r * cells.columns + stretch.start..r * cells.columns + stretch.end)
            .filter(|i| torn[*i])
            .map(|i| f64::from(cells.looks[i].tone))
            .collect()
    })
}
