//! Stage 3a: an etched section through a fillet weld.
//!
//! View (a pyramid level) → straight edges → the reading of those edges as two
//! members → their surfaces to sub-pixel → the outline and its toes → the
//! fusion boundary → measurands. Detection uses the view; every position that
//! is measured comes from the original photograph through the plane map.

mod acute;
mod bare;
mod edges;
mod evidence;
mod flaws;
mod fusion;
mod gap;
mod groove;
mod measurands;
mod members;
mod outline;
mod palette;
mod passes;
mod strip;
mod surface;
mod thickness;
mod toes;
mod view;
mod weld;

use crate::base::geometry::{Point, Px, contains};
use crate::photo::Photo;
use crate::record::{Code, Coupon, Finding, Measurement, Outlines, Reason, Searched};
use crate::scale::Scale;
use outline::Guide;
use rayon::prelude::*;
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
}

/// Finds and measures the fillet welds of a section, the main one first.
///
/// # Errors
/// The reasons why nothing can be measured: no weld found, cropped, blurred …
pub fn measure(photo: &Photo, scale: &Scale, declared: &Coupon) -> Result<Vec<Weld>, Vec<Reason>> {
    let middle = scale.map.to_mm(Point::new(
        0.5 * photo.width as f64,
        0.5 * photo.height as f64,
    ));
    let view = view::View::new(photo, scale.map.px_per_mm_at(middle));
    let occupied = |p: Point<Px>| scale.occupied.iter().any(|o| contains(o, p));
    let edges = edges::straight_edges(&view, &occupied);
    let evidence = evidence::Evidence::new(&view, &scale.map);
    let readings = members::readings(&evidence, &edges, declared);
    // A reading is a guess until it has been traced: the best few are traced,
    // and the one that holds together best is the weld.
    let candidates: Vec<members::Reading> = members::distinct(readings, APART_MM)
        .into_iter()
        .take(CANDIDATES)
        .collect();
    let best = |guide: Guide, least: Least| {
        let traced: Vec<(f64, Weld, &members::Reading)> = candidates
            .par_iter()
            .filter_map(|r| {
                let (support, weld) = weld::trace(photo, scale, r, guide, declared.passes)?;
                Some((r.score * support, weld, r))
            })
            .collect();
        traced
            .into_iter()
            .max_by(|a, b| a.0.total_cmp(&b.0))
            .filter(|(merit, _, reading)| {
                *merit >= least.merit && *merit >= least.support * reading.score
            })
    };
    // Colours lead better than the sharpness of edges, unless shadow or glare
    // gives the surroundings the metal's own tone. Then the outline they lead to
    // holds together badly, and the other one is asked for.
    let by_colours = best(Guide::Colours, LED_BY_COLOURS);
    let sure = |(merit, _, reading): &(f64, Weld, &members::Reading)| {
        *merit >= SURE_SUPPORT * reading.score
    };
    let found = match by_colours.as_ref().is_some_and(sure) {
        true => by_colours,
        false => best(Guide::Sharpness, LED_BY_SHARPNESS)
            .into_iter()
            .chain(by_colours)
            .max_by(|a, b| a.0.total_cmp(&b.0)),
    };
    match found {
        Some((_, mut weld, reading)) => {
            for told in thickness::compare(&evidence, reading, declared) {
                match told {
                    Told::Agrees(sentence) => weld.scale_checks.push(sentence),
                    Told::Disagrees(reason) => weld.reasons.push(reason),
                }
            }
            flaws::search(photo, scale, declared, &mut weld);
            acute::withhold(&mut weld);
            Ok(vec![weld])
        }
        None => Err(vec![no_weld()]),
    }
}

/// Candidates nearer to each other than this are one, mm.
const APART_MM: f64 = 1.2;
/// Candidates traced at most.
const CANDIDATES: usize = 4;
/// What a traced reading has to show to be taken for the weld.
#[derive(Clone, Copy)]
struct Least {
    /// Score of the reading × support of its outline.
    merit: f64,
    /// Support of its outline, 0 … 1.
    support: f64,
}

/// Over pictures with known truth the right readings have a merit of 9.8 to 26 and
/// a support of 0.52 to 0.97; of pictures in which no right one is found the best
/// wrong ones have 8.2. A reading that only looks likely and whose outline hardly
/// holds is no weld.
const LED_BY_COLOURS: Least = Least {
    merit: 9.0,
    support: 0.5,
};
/// Without colours there is more to show: wrong readings reach a merit of 9.6, and
/// outlines with a support of 0.62 were wrong at a toe.
const LED_BY_SHARPNESS: Least = Least {
    merit: 12.0,
    support: 0.7,
};
/// Support of an outline from which on no other is looked for.
const SURE_SUPPORT: f64 = 0.8;

fn no_weld() -> Reason {
    Reason::new(
        Code::NoWeldFound,
        "no fillet weld was found: no two plate surfaces with a weld face between them stand out in this picture",
        "photograph the etched face straight on, in focus, with both members and the whole weld in the picture; \
         declare --joint, --dihedral and --thickness if the joint is unusual; check that --scale is right",
    )
}
