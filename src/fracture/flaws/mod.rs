//! Stage 3d: pores, wormholes and inclusions on the straightened face.

use super::strip::{Straight, Strip};
use super::zones::Zones;
use crate::base::geometry::Point;

/// What a flaw is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FlawKind {
    /// A round cavity left by gas.
    Pore,
    /// A long cavity left by gas.
    Wormhole,
    /// Foreign matter, mostly slag: dark, matt, irregular.
    Inclusion,
}

/// A pore, a wormhole or an inclusion.
#[derive(Clone, Debug)]
pub struct Flaw {
    /// Which.
    pub kind: FlawKind,
    /// Its centre of area.
    pub at: Point<Straight>,
    /// Greatest distance between two points of the outline, mm.
    pub greatest_mm: f64,
    /// The two points.
    pub ends: [Point<Straight>; 2],
    /// Standard uncertainty of the greatest distance from the outline, mm.
    pub outline_mm: f64,
    /// Area, mm².
    pub area_mm2: f64,
    /// Closed outline.
    pub outline: Vec<Point<Straight>>,
    /// How sure it is that it is a flaw, 0 … 1.
    pub confidence: f64,
}

/// The flaws of a face.
#[derive(Clone, Debug, Default)]
pub struct Flaws {
    /// More likely a flaw than not.
    pub found: Vec<Flaw>,
    /// Less likely a flaw than not: they count towards the uncertainty only.
    pub passed_over: Vec<Flaw>,
}

impl Flaws {
    /// Looks for flaws on the face.
    pub fn find(strip: &Strip, zones: &Zones) -> Self {
        let _ = (strip, zones);
        Self::default()
    }
}
