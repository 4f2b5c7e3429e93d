//! The passes a weld was laid in: how many, and where they meet at its outline.

mod count;
mod notches;
mod proposed;

use super::fusion::Fusion;
use super::toes::Toes;
use crate::base::geometry::{Joint, Point, centroid};
use count::Belief;
use notches::Notch;

/// What is known of the passes.
pub struct Passes {
    belief: Belief,
    /// Notches of the face, deepest first.
    face: Vec<Notch>,
    /// Notches of the fusion boundary, deepest first.
    fusion: Vec<Notch>,
}

/// Half length a notch is looked at over, share of the face width.
const REACH_OF_WIDTH: f64 = 0.08;
/// The ends of face and fusion boundary kept clear of, in reaches: the toe's
/// own corner bends either line.
const CLEAR: (f64, f64) = (0.8, 0.5);
/// Chance below which the number of passes is not stated. Set after seeing the
/// pictures the notch depths were chosen on; not checked on others.
const LEAST_CHANCE: f64 = 0.6;

/// Looks for passes; `declared` counts as a prior only. `None` where the
/// outline is too small to show any.
pub fn find(toes: &Toes, fusion: &Fusion, declared: Option<u32>) -> Option<Passes> {
    let mut all = toes.face.clone();
    all.extend(&fusion.points);
    let inside = centroid(&all)?;
    let reach = REACH_OF_WIDTH * toes.nonbutting.distance(toes.butting);
    let face = notches::find(&toes.face, inside, reach, CLEAR.0);
    let boundary = notches::find(&fusion.points, inside, reach, CLEAR.1);
    let depths = |n: &[Notch]| n.iter().map(|n| n.depth).collect::<Vec<_>>();
    Some(Passes {
        belief: count::weigh(&depths(&face), &depths(&boundary), declared),
        face,
        fusion: boundary,
    })
}

impl Passes {
    /// The number of passes with its standard uncertainty, or why it is not stated.
    ///
    /// # Errors
    /// What leaves the number open, as a sentence without its full stop.
    pub fn count(&self) -> Result<(usize, f64), String> {
        let (passes, chance) = self.belief.likeliest();
        if chance >= LEAST_CHANCE {
            return Ok((passes, self.belief.deviation()));
        }
        let mut open: Vec<usize> = (1..=self.belief.chances.len()).collect();
        open.sort_by(|a, b| self.belief.chances[b - 1].total_cmp(&self.belief.chances[a - 1]));
        Err(format!(
            "the notches between beads in the face and the fusion boundary fit {} as well as {} passes",
            open[0].min(open[1]),
            open[0].max(open[1])
        ))
    }

    /// Proposed outlines in the order of laying, closed; empty when the number
    /// of passes is not stated or the places they meet at leave the division open.
    pub fn outlines(&self, toes: &Toes, fusion: &Fusion) -> Vec<Vec<Point<Joint>>> {
        let Ok((passes, _)) = self.count() else {
            return Vec::new();
        };
        let on_face = self.belief.on_face[passes - 1];
        let junctions = |list: &[Notch], count: usize| {
            list.iter().take(count).map(|n| n.at).collect::<Vec<_>>()
        };
        let on_fusion = if passes == 1 { 0 } else { passes - on_face };
        if self.face.len() < on_face || self.fusion.len() < on_fusion {
            return Vec::new();
        }
        proposed::divide(
            &toes.face,
            &fusion.points,
            &junctions(&self.face, on_face),
            &junctions(&self.fusion, on_fusion),
        )
    }
}
