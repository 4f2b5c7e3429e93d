//! The relative standard uncertainty of a scale read from a reference.

/// Half-width of the unknown height of a reference that is said to lie in the
/// measured plane, mm (common practice, no source).
const UNKNOWN_HEIGHT_MM: f64 = 0.5;

/// Relative standard uncertainty with which the viewing distance is known from
/// the usual angle of view alone.
const DISTANCE_REL: f64 = 0.55;

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

/// A rule of class II over `length_mm` between the outermost marks used: the
/// permissible error ±(0.3 + 0.2 L) mm, L in metres rounded up (Measuring
/// Instruments Directive 2014/32/EU, annex X, material measures of length), as
/// a rectangular distribution.
pub fn rule_class_two(length_mm: f64) -> f64 {
    let metres = (length_mm / 1000.0).ceil().max(1.0);
    (0.3 + 0.2 * metres) / 3f64.sqrt() / length_mm
}

/// A strip printed on paper or card: ±0.3 % of stretch and ±0.05 mm of edge
/// (common practice, no source), rectangular.
pub fn printed(length_mm: f64) -> f64 {
    (0.003f64.powi(2) + (0.05 / length_mm).powi(2)).sqrt() / 3f64.sqrt()
}

/// Scale factor from the reference's plane to the measured plane, which lies
/// `offset_mm` further from the camera, and the relative standard uncertainty
/// that comes with the height. `distance_mm` is camera to reference, known only
/// from the usual angle of view.
pub fn height(offset_mm: Option<f64>, distance_mm: f64) -> (f64, f64) {
    let offset = offset_mm.unwrap_or(0.0);
    let factor = distance_mm / (distance_mm + offset).max(0.2 * distance_mm);
    let unknown = UNKNOWN_HEIGHT_MM / 3f64.sqrt() / distance_mm;
    let known = (1.0 - factor).abs() * DISTANCE_REL;
    (factor, unknown.hypot(known))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rule_below_a_metre_is_good_to_half_a_millimetre() {
        // Directive 2014/32/EU annex X: class II, L rounded up to 1 m.
        assert!((rule_class_two(100.0) - 0.5 / 3f64.sqrt() / 100.0).abs() < 1e-12);
        assert!((rule_class_two(1500.0) - 0.7 / 3f64.sqrt() / 1500.0).abs() < 1e-12);
    }

    #[test]
    fn five_millimetres_at_three_hundred_are_one_and_two_thirds_percent() {
        let (factor, u) = height(Some(5.0), 295.0);
        assert!((1.0 - factor - 5.0 / 300.0).abs() < 1e-12);
        assert!(u > 0.5 * (1.0 - factor));
    }
}
