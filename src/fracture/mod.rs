//! Stage 3b: a fillet weld broken open.
//!
//! Photograph and scale → the fracture face of each half ([`face`]) → the face
//! straightened into a strip ([`strip`]: s along the weld, h from the root
//! line), the other half laid onto it ([`halves`]) → where its ends are marked to be discarded ([`marks`]) → zones on the strip ([`zones`]: unfused at the root, between runs, at
//! a side wall, unsure; the rest is torn metal) and flaws ([`flaws`]: pores,
//! wormholes, inclusions) → measurements ([`measurands`]) and [`findings`] of
//! the part that is to be evaluated ([`evaluated`]).

mod beside;
mod doubt;
pub mod evaluated;
pub mod face;
pub mod figures;
pub mod findings;
pub mod flaws;
mod halves;
mod light;
mod marks;
pub mod measurands;
mod outline;
mod spread;
pub mod strip;
mod withheld;
pub mod zones;

use crate::base::geometry::{Point, Px, centroid, contains};
use crate::photo::Photo;
use crate::record::{Code, Coupon, Finding, Measurement, Outlines, Reason, Zone as ZonePx};
use crate::scale::Scale;
use evaluated::Evaluated;
use face::Face;
use flaws::{FlawKind, Flaws};
use std::collections::BTreeMap;
pub use strip::Strip;
use withheld::{LEAST_PX_PER_MM, Spoilt};
use zones::{Kind, Zones};

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
    /// The straightened face, for the report.
    pub strip: Strip,
    /// What became of the other half, where there is one, in words.
    pub other_half: Option<&'static str>,
}

/// The other half belongs to the face and was read with it …
const READ_TOGETHER: &str = "both halves of the break lie in the picture and mirror each other; \
    what never fused was judged by both, and the sizes are those of the half that is drawn in";
/// … or not.
const NOT_MATCHED: &str = "a second torn face lies in the picture; what it shows does not clearly \
    mirror the one that is drawn in, and it was not used";

/// Measures the first of the given fracture faces. `seed` makes the trials behind
/// the uncertainties the same every time.
///
/// # Errors
/// The reasons why nothing can be measured: no fracture face, nothing left
/// between discarded ends.
pub fn measure(
    photo: &Photo,
    scale: &Scale,
    faces: &[Face],
    declared: &Coupon,
    seed: u64,
) -> Result<Fracture, Vec<Reason>> {
    let (face, strip) = faces
        .iter()
        .find_map(|face| Some((face, Strip::new(photo, scale, face)?)))
        .ok_or_else(|| vec![no_face()])?;
    let marks = marks::find(photo, &strip);
    let range = Evaluated::new(strip.length_mm(), declared.discard_mm, marks)
        .map_err(|reason| vec![reason])?;
    let contradiction = evaluated::contradiction(strip.length_mm(), declared.discard_mm, marks);
    // Of two halves both show every place that never fused.
    let other = faces
        .iter()
        .filter(|other| !std::ptr::eq(*other, face) && other.whole)
        .find_map(|other| Strip::new(photo, scale, other));
    let mut zones = Zones::new(&strip, other.as_ref());
    let flaws = Flaws::find(&strip, &zones);
    zones.give_up_flaws(|p| flaws.found.iter().any(|f| contains(&f.outline, p)));
    let outline: Vec<Point<Px>> = face
        .root_px
        .iter()
        .chain(face.far_px.iter().rev())
        .copied()
        .collect();
    let mut measurements = measurands::measure(&strip, &zones, &flaws, &range, seed);
    measurements.extend(measurands::discarded(&strip, marks));
    let mut findings = findings::findings(&strip, &zones, &flaws.found, &range);
    if !face.side_is_sure() {
        withheld::withhold(&mut measurements, &mut findings);
    }
    let washed_out = withheld::hidden(&zones, &range, &mut measurements);
    let px_per_mm = strip.photo_px_per_mm;
    if px_per_mm < LEAST_PX_PER_MM {
        withheld::spoilt(Spoilt::Coarse(px_per_mm), &mut measurements, &mut findings);
    }
    if !face.whole {
        withheld::spoilt(Spoilt::NotWhole, &mut measurements, &mut findings);
    }
    Ok(Fracture {
        centre: centroid(&outline).unwrap_or(face.root_px[0]),
        measurements,
        findings,
        outlines_px: Outlines {
            face_strip: outline.iter().map(|p| p.to_array()).collect(),
            root_side: face.root_px.iter().map(|p| p.to_array()).collect(),
            zones: drawn_zones(&strip, &zones, &flaws),
            ..Outlines::default()
        },
        reasons: washed_out.into_iter().chain(contradiction).collect(),
        other_half: other.map(|_| match zones.pairing {
            Some(_) => READ_TOGETHER,
            None => NOT_MATCHED,
        }),
        strip,
    })
}

fn drawn_zones(strip: &Strip, zones: &Zones, flaws: &Flaws) -> Vec<ZonePx> {
    let zone = |class: &str, outline: &[Point<strip::Straight>]| ZonePx {
        class: class.to_owned(),
        outline: findings::drawn(strip, outline),
    };
    let surfaces = zones.zones.iter().map(|z| {
        let class = match z.kind {
            Kind::Root => "root-unfused",
            Kind::InterRun => "inter-run-unfused",
            Kind::Sidewall => "sidewall-unfused",
        };
        zone(class, &z.outline)
    });
    let flaws = flaws.found.iter().map(|f| {
        let class = match f.kind {
            FlawKind::Pore => "pore",
            FlawKind::Wormhole => "wormhole",
            FlawKind::Inclusion => "inclusion",
        };
        zone(class, &f.outline)
    });
    let unsure = zones.unsure_outlines();
    let unsure = unsure.iter().map(|outline| zone("unsure", outline));
    surfaces.chain(flaws).chain(unsure).collect()
}

fn no_face() -> Reason {
    Reason::new(
        Code::NotAFracture,
        "no fracture face of a broken fillet weld was found in this picture",
        "photograph the broken coupon with the torn face towards the camera, whole, in focus and evenly lit",
    )
}

#[cfg(test)]
mod tests;
