//! What the limits are reckoned from: nominal throat a, nominal leg z,
//! thinner plate t, measured face width b.

use super::profile::{LegSense, LengthUnit};
use crate::record::{Coupon, Measurement};
use std::collections::BTreeMap;

/// The letters of the formulas, in the profile's unit, or what to do to know them.
#[derive(Clone, Debug)]
pub struct Nominal {
    /// Nominal throat.
    pub a: Result<f64, String>,
    /// Nominal leg.
    pub z: Result<f64, String>,
    /// Thickness of the thinner declared plate.
    pub t: Result<f64, String>,
    /// Face width, measured.
    pub b: Result<Uncertain, String>,
    /// What a measured leg is multiplied with before it is compared with z.
    pub leg_factor: Result<f64, String>,
    /// Whether a was reckoned from the leg, with the dihedral angle.
    pub a_is_reckoned: bool,
    /// Whether z was reckoned from the throat, with the dihedral angle.
    pub z_is_reckoned: bool,
    /// What was assumed of the dihedral angle, in words: that it is 90°
    /// because none was declared, or that it counts as 90°.
    pub assumed: Option<String>,
}

/// A value and its standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Uncertain {
    /// The value.
    pub value: f64,
    /// Standard uncertainty, same unit, ≥ 0.
    pub u: f64,
}

const DECLARE_SIZE: &str = "the size the weld should have is not known: declare the throat \
(--throat) or the leg (--leg) the drawing asks for";
const DECLARE_THICKNESS: &str =
    "the plate thickness is not known: declare it (--thickness BUTTING,NONBUTTING)";

/// Skewed T-joint: how many times the perpendicular leg of a square joint a
/// joint with dihedral angle `dihedral_deg` needs for the same throat,
/// `F = sin(ψ/2) / sin 45°` (derived; agrees with the table in the annexes of AWS D1.1).
pub fn skew_factor(dihedral_deg: f64) -> f64 {
    (dihedral_deg.to_radians() / 2.0).sin() * std::f64::consts::SQRT_2
}

/// Throat over leg of an isosceles fillet with a flat face.
///
/// Along the plate surface: `a = z cos(ψ/2)`. Perpendicular to the other
/// plate: `a = z / (2 sin(ψ/2))`. Both are `1/√2` at 90°.
fn throat_per_leg(sense: LegSense, dihedral_deg: f64) -> f64 {
    match sense {
        LegSense::AlongSurface => (dihedral_deg.to_radians() / 2.0).cos(),
        LegSense::Perpendicular => std::f64::consts::FRAC_1_SQRT_2 / skew_factor(dihedral_deg),
    }
}

impl Nominal {
    /// From what was declared and measured.
    pub fn new(
        unit: LengthUnit,
        sense: LegSense,
        coupon: &Coupon,
        measurements: &BTreeMap<String, Measurement>,
    ) -> Self {
        let length = |mm: Option<f64>| {
            mm.filter(|mm| mm.is_finite() && *mm > 0.0)
                .map(|mm| unit.from_mm(mm))
        };
        let (dihedral, assumed) = dihedral(sense, coupon.dihedral_deg);
        let throat = length(coupon.throat_mm);
        let leg = length(coupon.leg_mm);
        let per_leg = dihedral
            .as_ref()
            .map(|deg| throat_per_leg(sense, *deg))
            .map_err(Clone::clone);
        let a = match (throat, leg) {
            (Some(throat), _) => Ok(throat),
            (None, Some(leg)) => per_leg.clone().map(|factor| leg * factor),
            (None, None) => Err(DECLARE_SIZE.to_owned()),
        };
        let z = match (leg, throat) {
            (Some(leg), _) => Ok(leg),
            (None, Some(throat)) => per_leg.map(|factor| throat / factor),
            (None, None) => Err(DECLARE_SIZE.to_owned()),
        };
        let t = match (
            length(coupon.thickness_butting_mm),
            length(coupon.thickness_nonbutting_mm),
        ) {
            (Some(one), Some(other)) => Ok(one.min(other)),
            // One plate alone could be the thicker one, and a limit reckoned
            // from it too generous.
            _ => Err(DECLARE_THICKNESS.to_owned()),
        };
        let leg_factor = match sense {
            LegSense::AlongSurface => Ok(1.0),
            LegSense::Perpendicular => dihedral.map(|deg| {
                if deg == 90.0 {
                    1.0
                } else {
                    deg.to_radians().sin()
                }
            }),
        };
        let b = measured(measurements, "face_width_mm")
            .map(|b| Uncertain {
                value: unit.from_mm(b.value),
                u: unit.from_mm(b.u),
            })
            .map_err(|why| format!("the face width was not measured: {why}"));
        Self {
            a,
            z,
            t,
            b,
            leg_factor,
            a_is_reckoned: throat.is_none(),
            z_is_reckoned: leg.is_none(),
            assumed,
        }
    }
}

/// The dihedral angle the leg rules work with, and what was assumed.
fn dihedral(sense: LegSense, declared: Option<f64>) -> (Result<f64, String>, Option<String>) {
    match (declared, sense) {
        (None, _) => (
            Ok(90.0),
            Some("plates taken as square to each other (declare --dihedral if not)".to_owned()),
        ),
        // AWS D1.1:2010 clause 2.4.2.6: 80° to 100° are reckoned as 90°.
        (Some(deg), LegSense::Perpendicular) if (80.0..=100.0).contains(&deg) => (
            Ok(90.0),
            (deg != 90.0).then(|| format!("{deg}° reckoned as 90°, as between 80° and 100°")),
        ),
        // Outside 60° to 135° the joint is not a fillet weld in AWS's sense;
        // the isosceles rules of this file lose their meaning there too.
        (Some(deg), _) if (60.0..=135.0).contains(&deg) => (Ok(deg), None),
        (Some(deg), _) => (
            Err(format!(
                "leg and throat are tied together only between 60° and 135°, not at {deg}°: \
                 declare both --leg and --throat"
            )),
            None,
        ),
    }
}

/// A measurement's value and standard uncertainty, mm or degrees.
///
/// # Errors
/// Why there is none, in words.
pub fn measured(
    measurements: &BTreeMap<String, Measurement>,
    name: &str,
) -> Result<Uncertain, String> {
    let Some(measurement) = measurements.get(name) else {
        return Err("this version did not measure it in this photograph".to_owned());
    };
    match (measurement.value, measurement.standard_uncertainty) {
        (Some(value), Some(u)) if value.is_finite() && u.is_finite() && u >= 0.0 => {
            Ok(Uncertain { value, u })
        }
        (Some(_), _) => Err("it has a value but no usable uncertainty".to_owned()),
        (None, _) => Err(measurement
            .why
            .clone()
            .unwrap_or_else(|| "no reason was recorded".to_owned())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// Annex table of AWS D1.1 for skewed T-joints as remembered (from
    /// memory; two of its entries are 0.01 off the formula, hence 0.015).
    #[test]
    fn skew_factors_as_tabulated() {
        for (psi, factor) in [
            (60.0, 0.71),
            (65.0, 0.76),
            (70.0, 0.81),
            (75.0, 0.86),
            (80.0, 0.91),
            (85.0, 0.96),
            (90.0, 1.00),
            (95.0, 1.03),
            (100.0, 1.08),
            (105.0, 1.12),
            (110.0, 1.16),
            (115.0, 1.19),
            (120.0, 1.23),
            (125.0, 1.25),
            (130.0, 1.28),
            (135.0, 1.31),
        ] {
            assert_abs_diff_eq!(skew_factor(psi), factor, epsilon = 0.015);
        }
    }

    /// Throat per leg in both senses, computed independently from the
    /// triangle (columns t/w and t/b of the same check table).
    #[test]
    fn throat_per_leg_in_both_senses() {
        for (psi, perpendicular, along) in [
            (60.0, 1.0000, 0.8660),
            (75.0, 0.8213, 0.7934),
            (85.0, 0.7401, 0.7373),
            (105.0, 0.6302, 0.6088),
            (135.0, 0.5412, 0.3827),
        ] {
            let per_leg = |sense| throat_per_leg(sense, psi);
            assert_abs_diff_eq!(
                per_leg(LegSense::Perpendicular),
                perpendicular,
                epsilon = 5e-5
            );
            assert_abs_diff_eq!(per_leg(LegSense::AlongSurface), along, epsilon = 5e-5);
        }
    }

    /// Leg to throat at 90°: z / √2 (published throat tables give 3.54, 4.24,
    /// 5.66, 7.07 and 8.49 for 5, 6, 8, 10 and 12 mm).
    #[test]
    fn legs_and_throats_at_a_right_angle() {
        for (z, a) in [
            (3.0, 2.121),
            (4.0, 2.828),
            (5.0, 3.536),
            (6.0, 4.243),
            (8.0, 5.657),
            (10.0, 7.071),
            (12.0, 8.485),
            (15.0, 10.607),
        ] {
            let coupon = Coupon {
                leg_mm: Some(z),
                dihedral_deg: Some(90.0),
                ..Coupon::default()
            };
            let nominal = Nominal::new(
                LengthUnit::Mm,
                LegSense::AlongSurface,
                &coupon,
                &BTreeMap::new(),
            );
            assert_abs_diff_eq!(nominal.a.unwrap(), a, epsilon = 5e-4);
            assert_eq!(nominal.z.unwrap(), z);
            assert!(nominal.t.is_err() && nominal.b.is_err());
        }
    }

    #[test]
    fn one_plate_alone_is_no_thinner_plate() {
        let coupon = Coupon {
            thickness_butting_mm: Some(10.0),
            ..Coupon::default()
        };
        let nominal = Nominal::new(
            LengthUnit::Mm,
            LegSense::AlongSurface,
            &coupon,
            &BTreeMap::new(),
        );
        assert!(nominal.t.unwrap_err().contains("--thickness"));
        assert!(nominal.a.unwrap_err().contains("--throat"));
    }
}
