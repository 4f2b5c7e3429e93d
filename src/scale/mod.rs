//! Stage 2: from the photograph to millimetres.

mod plane;

pub use plane::PlaneMap;

use crate::base::geometry::{Point, Px};
use crate::record::ScaleFacts;

/// A scale: the one map between the measured plane and the photograph that
/// everything later goes through, and how far to trust it.
#[derive(Clone, Debug)]
pub struct Scale {
    /// Plane millimetres to photograph pixels and back.
    pub map: PlaneMap,
    /// Relative standard uncertainty of lengths in the plane.
    pub standard_uncertainty_rel: f64,
    /// Outlines of the reference objects (rule, strip), px: no specimen there.
    pub occupied: Vec<Vec<Point<Px>>>,
    /// What the record keeps of it; `px_per_mm` is filled in for the weld's
    /// centre once that is known.
    pub facts: ScaleFacts,
}
