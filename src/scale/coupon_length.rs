//! The coupon itself as the reference: its length along the weld was measured.

use super::{PlaneMap, Scale, budget};
use crate::base::geometry::{Point, Px};
use crate::record::{Code, NumberedMark, Reason, ScaleEvidence, ScaleFacts};

/// Standard uncertainty of the place of each end, mm: a cut is seldom square, its
/// edge is rounded, and the length was taken with a rule (common practice, no
/// source).
const END_MM: f64 = 0.5;

/// Scale from the two ends of the coupon's face along the weld, `length_mm`
/// apart; the same all over the picture.
///
/// # Errors
/// `scale-doubtful` when ends and length give no usable scale.
pub fn scale(ends: [Point<Px>; 2], length_mm: f64) -> Result<Scale, Reason> {
    let long_px = ends[0].distance(ends[1]);
    let px_per_mm = long_px / length_mm;
    let map = PlaneMap::uniform(px_per_mm).ok_or_else(|| {
        Reason::new(
            Code::ScaleDoubtful,
            format!("a coupon {length_mm} mm long, {long_px:.0} px in the picture, gives no usable scale"),
            "give the coupon's length along the weld in millimetres, for example --scale length:150",
        )
    })?;
    let ends_rel = END_MM * std::f64::consts::SQRT_2 / length_mm;
    let standard_uncertainty_rel = ends_rel.hypot(budget::unseen_tilt());
    Ok(Scale {
        map,
        standard_uncertainty_rel,
        occupied: Vec::new(),
        coupon_id: None,
        facts: ScaleFacts {
            source: format!("length:{length_mm}"),
            px_per_mm,
            standard_uncertainty_rel,
            tilt_deg: None,
            at_px: Some(ends[0].lerp(ends[1], 0.5).to_array()),
            evidence: ScaleEvidence {
                cross_checks: vec![
                    format!(
                        "the face's ends, {long_px:.1} px apart, were taken as the declared {length_mm} mm of coupon"
                    ),
                    format!(
                        "relative standard uncertainty: the two ends {:.2} %, a tilt that one length cannot show {:.2} %",
                        100.0 * ends_rel,
                        100.0 * budget::unseen_tilt()
                    ),
                ],
                marks_px: ends.map(Point::to_array).to_vec(),
                numbered: ends
                    .iter()
                    .zip([0.0, length_mm])
                    .map(|(end, mm)| NumberedMark {
                        at_px: end.to_array(),
                        place: format!("{mm} mm"),
                    })
                    .collect(),
                ..ScaleEvidence::default()
            },
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_coupon_s_length_is_the_scale() {
        let scale = scale([Point::new(100.0, 400.0), Point::new(1600.0, 800.0)], 150.0).unwrap();
        let expected = 1500f64.hypot(400.0) / 150.0;
        assert!((scale.facts.px_per_mm - expected).abs() < 1e-9);
        // Two ends of 0.5 mm over 150 mm: 0.47 %; 1 − cos 6° = 0.55 %, as a
        // rectangle 0.32 %; together 0.57 %.
        assert!((scale.standard_uncertainty_rel - 0.0057).abs() < 1e-4);
        assert_eq!(scale.facts.source, "length:150");
    }

    #[test]
    fn no_extent_is_no_scale() {
        let here = Point::new(5.0, 5.0);
        assert_eq!(
            super::scale([here, here], 150.0).unwrap_err().code,
            Code::ScaleDoubtful
        );
    }
}
