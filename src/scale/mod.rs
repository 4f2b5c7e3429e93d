//! Stage 2: from the photograph to millimetres.
//!
//! A reference is found in the picture (or its scale declared), its marks are
//! located to a fraction of a pixel, numbered, and fitted by one model of plane
//! and lens. A scale is only given when the marks agree among themselves and
//! their pattern names their unit; otherwise a reason says what to do.

mod bar;
mod budget;
mod card;
mod chequer;
mod choose;
mod coupon_length;
mod declared;
mod plane;
mod plane_fit;
mod request;
mod rule;
mod rule_class;
mod second;
mod sight;
mod viewing;

pub use card::Design as CardDesign;
pub use coupon_length::scale as from_coupon_length;
pub use plane::{Lens, PlaneMap};
pub use request::{Request, Source};
pub use rule_class::RuleClass;

use crate::base::geometry::{Point, Px};
use crate::photo::Photo;
use crate::record::{Reason, ScaleFacts};

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
    /// The coupon's name where the reference carries one that was read.
    pub coupon_id: Option<String>,
    /// What the record keeps of it; `px_per_mm` is filled in for the weld's
    /// centre once that is known.
    pub facts: ScaleFacts,
}

/// Finds the scale that `request` asks for.
///
/// # Errors
/// `no-scale` when no such reference is found, `scale-doubtful` when one is
/// found whose marks do not name one scale; both say what to do.
pub fn find(photo: &Photo, request: &Request) -> Result<Scale, Reason> {
    choose::find(photo, request)
}
