//! Stage 3a: an etched section through a fillet weld.
//!
//! View (a pyramid level) → straight edges → the reading of those edges as two
//! members → their surfaces to sub-pixel → the outline and its toes → the
//! fusion boundary → measurands. Detection uses the view; every position that
//! is measured comes from the original photograph through the plane map.

mod bare;
mod choice;
mod doubts;
mod edges;
mod evidence;
mod flaws;
mod fusion;
mod gap;
mod groove;
mod lap;
mod measurands;
mod members;
mod outline;
mod palette;
mod passes;
mod restate;
mod strip;
mod surface;
mod thickness;
mod toes;
mod tracing;
mod unsure_toes;
mod view;
mod weld;

use crate::base::geometry::{Point, Px, contains};
use crate::photo::Photo;
use crate::record::{Code, Coupon, Finding, JointType, Measurement, Outlines, Reason, Searched};
use crate::scale::Scale;
use std::collections::BTreeMap;
use thickness::Told;

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
    /// Kinds of flaw searched for, and from which size on; empty when the
    /// picture does not allow a search.
    pub searched: Vec<Searched>,
    /// What speaks against some numbers (e.g. cropped, glare on the weld).
    pub reasons: Vec<Reason>,
    /// What the plates say of the scale, a sentence each.
    pub scale_checks: Vec<String>,
    /// What has to be known of the numbers as a whole.
    pub note: Option<&'static str>,
}

/// Finds and measures the fillet welds of a section, the main one first.
///
/// # Errors
/// The reasons why nothing can be measured: no weld found, cropped, blurred …
///
/// `seed` makes the trials behind the uncertainties the same for the same photograph.
pub fn measure(
    photo: &Photo,
    scale: &Scale,
    declared: &Coupon,
    seed: u64,
) -> Result<Vec<Weld>, Vec<Reason>> {
    let middle = scale.map.to_mm(Point::new(
        0.5 * photo.width as f64,
        0.5 * photo.height as f64,
    ));
    let view = view::View::new(photo, scale.map.px_per_mm_at(middle));
    let occupied = |p: Point<Px>| scale.occupied.iter().any(|o| contains(o, p));
    let edges = edges::straight_edges(&view, &occupied);
    let evidence = evidence::Evidence::new(&view, &scale.map);
    let readings = members::readings(&evidence, &edges, declared);
    let readings = members::distinct(readings, APART_MM);
    let lap = declared.joint == Some(JointType::Lap);
    let main = choice::main(photo, scale, &readings, lap).ok_or_else(|| vec![no_weld()])?;
    let other = choice::second(photo, scale, &readings, &main.reading.frame, lap);
    let (main, other) = match other {
        None => (main, None),
        Some(other) => {
            let [main, other] = choice::in_order(photo, scale, main, other);
            (main, Some(other))
        }
    };
    let told = thickness::compare(&evidence, &main.reading, declared);
    // How many passes were declared is said of the main weld.
    let mut welds = vec![weld::measure(
        photo,
        scale,
        main.tracing,
        declared.passes,
        seed,
    )];
    welds.extend(other.map(|o| weld::measure(photo, scale, o.tracing, None, seed)));
    for told in told {
        match told {
            Told::Agrees(sentence) => welds[0].scale_checks.push(sentence),
            Told::Disagrees(reason) => welds[0].reasons.push(reason),
        }
    }
    for (weld, passes) in welds.iter_mut().zip([declared.passes, None]) {
        flaws::search(photo, scale, passes, weld);
        unsure_toes::withhold(weld);
    }
    Ok(welds)
}

/// Readings nearer to each other than this are one, mm.
const APART_MM: f64 = 1.2;

fn no_weld() -> Reason {
    Reason::new(
        Code::NoWeldFound,
        "no fillet weld was found: no two plate surfaces with a weld face between them stand out in this picture",
        "photograph the etched face straight on, in focus, on a dark or coloured ground, with both members and the whole weld in the picture; \
         declare --joint, --dihedral and --thickness if the joint is unusual; check that --scale is right",
    )
}
