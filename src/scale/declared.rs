//! The scale the user states, e.g. a microscope calibrated with a stage
//! micrometer.

use super::{PlaneMap, Scale};
use crate::record::{Code, Reason, ScaleEvidence, ScaleFacts};

/// Relative half-width a calibration stated by a person is trusted to; taken as
/// a rectangular distribution (common practice, no source).
const TRUST_REL: f64 = 0.005;

/// The same scale all over the picture; nothing in the picture is looked at.
///
/// # Errors
/// `scale-doubtful` when the figure is not a positive number.
pub fn scale(px_per_mm: f64) -> Result<Scale, Reason> {
    let map = PlaneMap::uniform(px_per_mm).ok_or_else(|| {
        Reason::new(
            Code::ScaleDoubtful,
            format!("the declared scale {px_per_mm} px/mm is not a positive number"),
            "declare the pixels per millimetre from a calibration, for example --scale declared:39.68",
        )
    })?;
    let standard_uncertainty_rel = TRUST_REL / 3f64.sqrt();
    Ok(Scale {
        map,
        standard_uncertainty_rel,
        occupied: Vec::new(),
        coupon_id: None,
        facts: ScaleFacts {
            source: format!("declared:{px_per_mm}"),
            px_per_mm,
            standard_uncertainty_rel,
            tilt_deg: None,
            at_px: None,
            evidence: ScaleEvidence {
                cross_checks: vec![
                    "The scale was declared; nothing in the picture was checked against it."
                        .to_owned(),
                ],
                ..ScaleEvidence::default()
            },
        },
    })
}
