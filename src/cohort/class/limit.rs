//! The limit on a size itself, from a check that may compare something derived of it.
//!
//! Of a throat the tables limit what it lacks or has too much: `value` is then the
//! size wanted less the one measured, or the other way round. To be drawn beside
//! the size such a limit is added to, or taken from, the size wanted.

use crate::record::{Check, Coupon, Sense};

/// Values nearer than this are the same number, mm: far below what is measured, and
/// above what rounding and inches do.
const SAME: f64 = 0.002;
const MM_PER_INCH: f64 = 25.4;

/// The limit in mm that a size measured as `measured_mm` is held to, and the side on
/// which it must lie; nothing where the check does not show that for sure.
pub(super) fn on_the_size(
    check: &Check,
    measured_mm: f64,
    coupon: &Coupon,
) -> Option<(f64, Sense)> {
    let per_unit = match check.unit.as_deref()? {
        "mm" => 1.0,
        "in" => MM_PER_INCH,
        _ => return None,
    };
    let (value, limit) = (check.value? * per_unit, check.limit_value? * per_unit);
    let sense = check.sense?;
    let same = |a: f64, b: f64| (a - b).abs() < SAME;
    if same(value, measured_mm) {
        return Some((limit, sense));
    }
    let name = check.measurement.as_deref()?;
    wanted_mm(name, coupon).into_iter().find_map(|wanted| {
        let excess = same(value, measured_mm - wanted);
        let shortfall = same(value, wanted - measured_mm);
        match (excess, shortfall) {
            (true, false) => Some((wanted + limit, sense)),
            (false, true) => Some((wanted - limit, other(sense))),
            _ => None,
        }
    })
}

fn other(sense: Sense) -> Sense {
    match sense {
        Sense::AtMost => Sense::AtLeast,
        Sense::AtLeast => Sense::AtMost,
    }
}

/// Sizes that may be wanted: the declared one, or reckoned from the other along the
/// plate and perpendicular to it (`throat = leg cos(ψ/2)`, `leg / (2 sin(ψ/2))`).
fn wanted_mm(name: &str, coupon: &Coupon) -> Vec<f64> {
    let half = (coupon.dihedral_deg.unwrap_or(90.0) / 2.0).to_radians();
    let per_leg = [half.cos(), 0.5 / half.sin()];
    let (own, reckoned) = match name {
        "leg_butting_mm" | "leg_nonbutting_mm" => (
            coupon.leg_mm,
            coupon.throat_mm.map(|a| per_leg.map(|f| a / f)),
        ),
        _ => (
            coupon.throat_mm,
            coupon.leg_mm.map(|z| per_leg.map(|f| z * f)),
        ),
    };
    own.into_iter()
        .chain(reckoned.into_iter().flatten())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::Outcome;

    fn check(value: f64, limit: f64, unit: &str) -> Check {
        Check {
            limit: "throat".into(),
            clause: String::new(),
            measured: String::new(),
            allowed: String::new(),
            outcome: Outcome::Within,
            probability_of_conformity: None,
            measurement: Some("inscribed_throat_mm".into()),
            verified: String::new(),
            note: None,
            row: None,
            value: Some(value),
            limit_value: Some(limit),
            unit: Some(unit.into()),
            sense: Some(Sense::AtMost),
        }
    }

    #[test]
    fn what_a_throat_lacks_or_has_too_much_becomes_a_limit_on_the_throat() {
        // A leg of 6 mm at 90° wants a throat of 6 cos 45° = 4.243 mm.
        let coupon = Coupon {
            leg_mm: Some(6.0),
            ..Coupon::default()
        };
        let wanted = 6.0 / 2f64.sqrt();
        let on = |value, limit, unit: &str| on_the_size(&check(value, limit, unit), 4.7, &coupon);
        let (limit, sense) = on(wanted - 4.7, 0.0, "mm").unwrap();
        assert!((limit - 4.243).abs() < 1e-3 && sense == Sense::AtLeast);
        let (limit, sense) = on(4.7 - wanted, 1.85, "mm").unwrap();
        assert!((limit - 6.093).abs() < 1e-3 && sense == Sense::AtMost);
        // Compared as it is, in inches.
        let (limit, _) = on(4.7 / 25.4, 0.25, "in").unwrap();
        assert!((limit - 6.35).abs() < 1e-9);
        // Something else derived, or nothing declared: not drawn.
        assert_eq!(on(0.9, 1.0, "mm"), None);
        let nothing = on_the_size(&check(0.457, 1.0, "mm"), 4.7, &Coupon::default());
        assert_eq!(nothing, None);
    }
}
