//! Stage 3b: a fillet weld broken open.
//!
//! Photograph and scale → the fracture face of each half ([`face`]) → the face
//! straightened into a strip ([`strip`]: s along the weld, h from the root
//! line) → zones on the strip (fractured, unfused at the root, between runs, at
//! a side wall, pores, inclusions, unsure) → measurements and findings.

pub mod face;
pub mod strip;
pub mod zones;

use crate::base::geometry::{Point, Px};
use crate::photo::Photo;
use crate::record::{Coupon, Finding, Measurement, Outlines, Reason};
use crate::scale::Scale;
use std::collections::BTreeMap;

/// The fracture face of a coupon, measured.
#[derive(Clone, Debug)]
pub struct Fracture {
    /// Centre of the face in the photograph.
    pub centre: Point<Px>,
    /// Every measurement by its record name.
    pub measurements: BTreeMap<String, Measurement>,
    /// What was found, px.
    pub outlines_px: Outlines,
    /// Flaws found, in order along the weld.
    pub findings: Vec<Finding>,
    /// What speaks against some numbers (e.g. cropped, glare on the face).
    pub reasons: Vec<Reason>,
}

/// Finds and measures the fracture face.
///
/// # Errors
/// The reasons why nothing can be measured: no fracture face, blurred …
pub fn measure(photo: &Photo, scale: &Scale, declared: &Coupon) -> Result<Fracture, Vec<Reason>> {
    let _ = (photo, scale, declared);
    Err(Vec::new())
}
