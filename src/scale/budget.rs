//! The relative standard uncertainty of a scale read from a reference.

use super::RuleClass;
use super::viewing::Distance;

/// Half-width of the unknown height of a reference that is said to lie in the
/// measured plane, mm (common practice, no source).
const UNKNOWN_HEIGHT_MM: f64 = 0.5;

/// Tilt of the picture plane that a single length cannot show, degrees (common
/// practice, no source: photographed by eye from straight above).
const UNSEEN_TILT_DEG: f64 = 6.0;

/// Relative standard uncertainty that a tilt nobody sees adds to a scale from a
/// single length: its cosine, as a rectangle.
pub fn unseen_tilt() -> f64 {
    (1.0 - UNSEEN_TILT_DEG.to_radians().cos()) / 3f64.sqrt()
}

/// Parts of the budget, all relative standard uncertainties.
#[derive(Clone, Copy, Debug)]
pub struct Budget {
    /// Marks, tilt, lens and focal length at the picture's centre.
    pub fit: f64,
    /// The reference itself.
    pub reference: f64,
    /// Height of the reference against the measured plane.
    pub height: f64,
}

impl Budget {
    /// All parts combined.
    pub fn combined(&self) -> f64 {
        (self.fit.powi(2) + self.reference.powi(2) + self.height.powi(2)).sqrt()
    }
}

/// A rule of class `class` over `length_mm` between the outermost marks used:
/// its permissible error as a rectangular distribution.
pub fn rule(class: RuleClass, length_mm: f64) -> f64 {
    class.permissible_error_mm(length_mm) / 3f64.sqrt() / length_mm
}

/// A strip printed on paper or card: ±0.3 % of stretch and ±0.05 mm of edge
/// (common practice, no source), rectangular.
pub fn printed(length_mm: f64) -> f64 {
    (0.003f64.powi(2) + (0.05 / length_mm).powi(2)).sqrt() / 3f64.sqrt()
}

/// Scale factor from the reference's plane to the measured plane, which lies
/// `offset_mm` further from the camera, and the relative standard uncertainty
/// that comes with the height. `distance` is camera to reference.
pub fn height(offset_mm: Option<f64>, distance: &Distance) -> (f64, f64) {
    let offset = offset_mm.unwrap_or(0.0);
    let factor = distance.mm / (distance.mm + offset).max(0.2 * distance.mm);
    let unknown = UNKNOWN_HEIGHT_MM / 3f64.sqrt() / distance.mm;
    let known = (1.0 - factor).abs() * distance.rel;
    (factor, unknown.hypot(known))
}

/// What a difference in height does, for the report: lengths change by dz / Z,
/// dz the height of the reference against the measured plane, Z the viewing
/// distance (similar triangles). Says what was done about it: `factor` as
/// [`height`] gives it.
pub fn effect_of_height(offset_mm: Option<f64>, factor: f64, distance: &Distance) -> String {
    let effect = format!(
        "each millimetre that the reference lies above or below the measured face changes every \
         length by about {:.2} % (1 mm over a viewing distance of about {:.0} mm, known {} to \
         {:.0} %)",
        100.0 / distance.mm,
        10.0 * (distance.mm / 10.0).round(),
        distance.origin(),
        100.0 * distance.rel,
    );
    match offset_mm {
        Some(offset) => format!(
            "{effect}; for the declared height of {offset:+} mm lengths were multiplied by {:.4}",
            1.0 / factor
        ),
        None => format!(
            "{effect}; no height was declared: lay the reference level with the face, or declare --scale-offset"
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(mm: f64) -> Distance {
        Distance {
            mm,
            rel: 0.55,
            stated: false,
        }
    }

    #[test]
    fn a_rule_s_class_is_a_rectangle_over_the_marks_used() {
        let half_width = rule(RuleClass::II, 100.0) * 100.0 * 3f64.sqrt();
        assert!((half_width - 0.5).abs() < 1e-12);
        assert!(rule(RuleClass::I, 100.0) < rule(RuleClass::II, 100.0));
        assert!(rule(RuleClass::III, 100.0) > rule(RuleClass::II, 100.0));
    }

    #[test]
    fn the_effect_of_a_height_is_told_with_what_was_done_about_it() {
        let told = effect_of_height(None, 1.0, &at(250.0));
        assert!(told.contains("0.40 %") && told.contains("250 mm"), "{told}");
        assert!(told.contains("--scale-offset"), "{told}");
        // A reference 5 mm nearer than a face 305 mm away: lengths × 305 / 300.
        let (factor, _) = height(Some(5.0), &at(300.0));
        let told = effect_of_height(Some(5.0), factor, &at(300.0));
        assert!(told.contains("+5 mm") && told.contains("1.0167"), "{told}");
        assert!(!told.contains("--scale-offset"), "{told}");
    }

    #[test]
    fn five_millimetres_at_three_hundred_are_one_and_two_thirds_percent() {
        let (factor, u) = height(Some(5.0), &at(295.0));
        assert!((1.0 - factor - 5.0 / 300.0).abs() < 1e-12);
        assert!(u > 0.5 * (1.0 - factor));
    }

    #[test]
    fn a_stated_focal_length_narrows_the_declared_height_s_share() {
        let stated = Distance {
            rel: 0.1,
            stated: true,
            ..at(295.0)
        };
        let (factor, u) = height(Some(5.0), &stated);
        assert!((1.0 - factor - 5.0 / 300.0).abs() < 1e-12);
        // A tenth of 1.67 %, and half a millimetre of height never excluded.
        assert!((u - (0.1 * (1.0 - factor)).hypot(0.5 / 3f64.sqrt() / 295.0)).abs() < 1e-12);
        assert!(u < height(Some(5.0), &at(295.0)).1);
        assert!(effect_of_height(Some(5.0), factor, &stated).contains("metadata"));
    }
}
