//! Toes that leave no leg to be stated.
//!
//! A face that comes down to its plate at an acute angle: either weld metal lies over
//! the plate unfused (overlap, ISO 6520-1 no. 506) or the face's edge was lost before it
//! reached the plate. Where the gap under the overlap was found ([`super::flaws`]) it is
//! the first, and the toe is where it seems to be. Or a face that runs out nearly flat:
//! where it ends, a surface line that is off by a degree moves the toe by millimetres.

use super::Weld;
use super::toes::FLAT_DEG;
use crate::record::{Code, Measurement, Reason};

/// Angle in the air between face and plate under which no sound toe is known,
/// degrees. A flat fillet has 135°, a convex one down to some 90°.
const LEAST_DEG: f64 = 75.0;

/// Takes back what rests on a toe that is none, and says so.
pub fn withhold(weld: &mut Weld) {
    for member in ["nonbutting", "butting"] {
        let angle = weld
            .measurements
            .get(&format!("toe_angle_{member}_deg"))
            .and_then(|m| m.value);
        let flat = angle.is_some_and(|a| a > FLAT_DEG);
        let overlap = weld
            .measurements
            .get(&format!("overlap_{member}_mm"))
            .and_then(|m| m.value);
        let acute = |a: f64| a < LEAST_DEG && overlap.is_none_or(|mm| mm <= 0.0);
        let Some(angle) = angle.filter(|a| acute(*a) || flat) else {
            continue;
        };
        let what = if flat {
            format!(
                "the weld face runs out onto the {member} member at {angle:.0}°, so flat that where it ends cannot be told"
            )
        } else {
            format!(
                "the weld face seems to meet the {member} member at {angle:.0}°: weld metal lies over the plate there, or its edge does not show"
            )
        };
        for name in [
            format!("leg_{member}_mm"),
            format!("toe_angle_{member}_deg"),
            format!("undercut_{member}_mm"),
            "leg_difference_mm".to_owned(),
            "inscribed_throat_mm".to_owned(),
            "face_width_mm".to_owned(),
            "convexity_mm".to_owned(),
        ] {
            // How far a flat face runs out does not touch the triangle under it.
            if flat && name == "inscribed_throat_mm" {
                continue;
            }
            if let Some(measurement) = weld.measurements.get_mut(&name) {
                *measurement = Measurement::not_assessed(what.clone());
            }
        }
        weld.reasons.push(Reason::new(
            Code::BoundaryUnclear,
            what,
            if flat {
                "look at the toe in the annotated picture and measure the leg to where the etch shows \
                 weld metal to end"
            } else {
                "look at the toe in the annotated picture; for overlap the leg is measured where fusion \
                 ends; otherwise photograph against a ground that differs from the metal"
            },
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::geometry::Point;
    use crate::record::Outlines;

    fn weld(angle_deg: f64) -> Weld {
        let measured = |value| Measurement::measured(value, 0.1, Vec::new());
        Weld {
            centre: Point::new(0.0, 0.0),
            measurements: [
                ("toe_angle_nonbutting_deg", angle_deg),
                ("toe_angle_butting_deg", 130.0),
                ("leg_nonbutting_mm", 6.0),
                ("leg_butting_mm", 6.0),
            ]
            .map(|(name, value)| (name.to_owned(), measured(value)))
            .into(),
            outlines_px: Outlines::default(),
            findings: Vec::new(),
            searched: Vec::new(),
            reasons: Vec::new(),
            scale_checks: Vec::new(),
            note: None,
        }
    }

    #[test]
    fn only_the_leg_of_an_acute_toe_is_taken_back() {
        let mut acute = weld(60.0);
        withhold(&mut acute);
        assert_eq!(acute.measurements["leg_nonbutting_mm"].value, None);
        assert_eq!(acute.measurements["leg_butting_mm"].value, Some(6.0));
        assert_eq!(acute.reasons.len(), 1);
        // Overlap that was found explains the angle.
        let mut lies_over = weld(60.0);
        let overlap = Measurement::measured(0.8, 0.05, Vec::new());
        lies_over
            .measurements
            .insert("overlap_nonbutting_mm".to_owned(), overlap);
        withhold(&mut lies_over);
        assert_eq!(lies_over.measurements["leg_nonbutting_mm"].value, Some(6.0));
        let mut steep = weld(85.0);
        withhold(&mut steep);
        assert_eq!(steep.measurements["leg_nonbutting_mm"].value, Some(6.0));
        assert!(steep.reasons.is_empty());
    }

    #[test]
    fn a_face_that_runs_out_flat_has_no_leg_and_keeps_its_throat() {
        let mut flat = weld(166.0);
        let throat = Measurement::measured(4.0, 0.1, Vec::new());
        flat.measurements
            .insert("inscribed_throat_mm".to_owned(), throat);
        withhold(&mut flat);
        assert_eq!(flat.measurements["leg_nonbutting_mm"].value, None);
        assert_eq!(flat.measurements["leg_butting_mm"].value, Some(6.0));
        assert_eq!(flat.measurements["inscribed_throat_mm"].value, Some(4.0));
        let mut sound = weld(158.0);
        withhold(&mut sound);
        assert!(sound.reasons.is_empty());
    }
}
