//! Measurands of ideal fillets against handbook figures.

use super::*;
use crate::base::geometry::Mm;
use crate::record::{ScaleEvidence, ScaleFacts};
use crate::scale::PlaneMap;

/// A flat-faced fillet with the given legs along the plates, mm, at the
/// dihedral angle `psi_deg`, bulging by `bulge` mm at the middle of its face.
fn measured(
    leg_nonbutting: f64,
    leg_butting: f64,
    psi_deg: f64,
    bulge: f64,
) -> BTreeMap<String, Measurement> {
    let psi = psi_deg.to_radians();
    let frame = JointFrame {
        root: Point::<Mm>::new(10.0, 20.0),
        along_nonbutting: Vector::new(1.0, 0.0),
        along_butting: Vector::new(psi.cos(), -psi.sin()),
    };
    let (n, b) = (
        Point::<Joint>::new(leg_nonbutting, 0.0),
        ROOT + Vector::from_angle(psi) * leg_butting,
    );
    let out = -(n - b).unit().turned();
    let out = if out.dot(ROOT - b) < 0.0 { out } else { -out };
    let face: Vec<Point<Joint>> = (0..=200)
        .map(|i| {
            let t = f64::from(i) / 200.0;
            b.lerp(n, t) + out * (bulge * 4.0 * t * (1.0 - t))
        })
        .collect();
    let toes = Toes {
        nonbutting: n,
        butting: b,
        face,
        bare_nonbutting: Vec::new(),
        bare_butting: Vec::new(),
        clarity: 1.0,
        corner_is_air: 0.0,
    };
    let facts = ScaleFacts {
        source: "declared".into(),
        px_per_mm: 40.0,
        standard_uncertainty_rel: 0.0,
        tilt_deg: None,
        at_px: None,
        evidence: ScaleEvidence::default(),
    };
    let scale = Scale {
        map: PlaneMap::uniform(40.0).expect("a scale"),
        standard_uncertainty_rel: 0.0,
        occupied: Vec::new(),
        coupon_id: None,
        facts,
    };
    let traced = Traced {
        frame: &frame,
        toes: &toes,
        gap_mm: 0.0,
        passes: None,
        fusion: Err("not traced"),
        outline_mm: 0.03,
        root_mm: 0.02,
        fusion_mm: 0.06,
    };
    measure(&traced, &scale)
}

fn value(of: &BTreeMap<String, Measurement>, name: &str) -> f64 {
    of[name].value.expect("a number")
}

/// Handbook throats of equal-leg fillets (teaching tables: 5 → 3.54,
/// 6 → 4.24, 8 → 5.66, 10 → 7.07, 12 → 8.49 mm; areas z²/2).
#[test]
fn equal_legs_give_the_handbook_throat() {
    for (leg, throat) in [
        (5.0, 3.54),
        (6.0, 4.24),
        (8.0, 5.66),
        (10.0, 7.07),
        (12.0, 8.49),
    ] {
        let all = measured(leg, leg, 90.0, 0.0);
        assert!(
            (value(&all, "inscribed_throat_mm") - throat).abs() < 0.006,
            "{leg}"
        );
        assert!(
            (value(&all, "actual_throat_mm") - throat).abs() < 0.006,
            "{leg}"
        );
        assert!(
            (value(&all, "deposit_area_mm2") - leg * leg / 2.0).abs() < 1e-6,
            "{leg}"
        );
        assert!((value(&all, "toe_angle_butting_deg") - 135.0).abs() < 1e-6);
        assert!(value(&all, "convexity_mm").abs() < 1e-9);
    }
}

/// Unequal legs: 6 and 8 give a nearest face distance of 4.8 and an
/// isosceles throat of 6/√2; 5 and 10 give 4.472 and 5/√2 (geometry).
#[test]
fn unequal_legs_tell_the_two_throats_apart() {
    for (n, b, actual, isosceles) in [(8.0, 6.0, 4.8, 4.243), (10.0, 5.0, 4.472, 3.536)] {
        let all = measured(n, b, 90.0, 0.0);
        assert!((value(&all, "actual_throat_mm") - actual).abs() < 1e-3);
        assert!((value(&all, "inscribed_throat_mm") - isosceles).abs() < 1e-3);
        assert!((value(&all, "leg_difference_mm") - (n - b)).abs() < 1e-9);
    }
}

/// Skewed tees: throat over leg along the plate is cos(ψ/2), to three
/// digits (0.866 at 60°, 0.643 at 100°, 0.5 at 120°; from the geometry
/// behind the equivalent-leg table for skewed fillets, itself from memory).
#[test]
fn skewed_joints_follow_the_half_angle() {
    for (psi, ratio) in [(60.0, 0.866), (75.0, 0.7934), (100.0, 0.6428), (120.0, 0.5)] {
        let all = measured(8.0, 8.0, psi, 0.0);
        let got = value(&all, "inscribed_throat_mm") / 8.0;
        assert!((got - ratio).abs() < 1e-3, "{psi}: {got}");
    }
}

/// Actual throat = effective throat of the flat weld + convexity (Holdren,
/// 2010, on the definition of convexity), legs equal.
#[test]
fn a_bulge_counts_as_convexity_and_not_as_throat() {
    let flat = measured(8.0, 8.0, 90.0, 0.0);
    let convex = measured(8.0, 8.0, 90.0, 0.7);
    assert!((value(&convex, "convexity_mm") - 0.7).abs() < 1e-6);
    let gain = value(&convex, "inscribed_throat_mm") - value(&flat, "inscribed_throat_mm");
    assert!(gain.abs() < 1e-9);
    let hollow = measured(8.0, 8.0, 90.0, -0.7);
    assert!((value(&hollow, "convexity_mm") + 0.7).abs() < 1e-6);
    assert!(value(&hollow, "inscribed_throat_mm") < value(&flat, "inscribed_throat_mm") - 0.5);
}

#[test]
fn without_a_fusion_boundary_its_numbers_are_missing_with_the_reason() {
    let all = measured(8.0, 8.0, 90.0, 0.0);
    for name in FUSION_NAMES {
        assert!(all[name].value.is_none());
        assert!(all[name].why.is_some());
    }
}
