//! Flaws inside the weld: lines where metal did not fuse, pores, inclusions; at the toes
//! cracks that run into the plate ([`crack`]) and metal that lies on it unfused
//! ([`overlap`]).
//!
//! The weld's outlines are taken as found. Its surroundings are sampled once
//! in the joint's own frame; dark spots and dark lines are found there, each
//! judged by what it looks like and where it lies.
//!
//! Guaranteed: every other finding lies inside the weld metal or on an original
//! surface under it. Not guaranteed: a crack inside the weld metal looks like
//! a line between two runs and is called one; a scratch as black as a void
//! that ends inside the weld cannot be told from it.

mod at_toe;
mod blob;
mod blur;
mod chain;
mod crack;
mod finding;
mod geometry;
mod line;
mod overlap;
mod patch;
mod profile;
mod ridge;
mod root;
mod spot;

use super::Weld;
use crate::base::geometry::{Joint, Point, Px, contains};
use crate::base::numeric::quantile_of;
use crate::photo::Photo;
use crate::record::{Finding, Searched};
use crate::scale::Scale;
use blob::Blob;
use crack::Crack;
use finding::Book;
use geometry::WeldShape;
use line::{Conditions, LEAST_LENGTH_MM, Place, Unfused};
use overlap::Overlap;
use patch::Patch;
use root::Void;
use spot::Kind;

/// Depth at which a crest may belong to a line, and at which a line must begin.
const CREST: (f32, f32) = (0.08, 0.2);
/// Lines shorter than this are not followed, mm.
const FOLLOWED_MM: f64 = 0.4;
/// Around a spot with an area its rim is no line, mm.
const RIM_MM: f64 = 0.12;
/// Share of a line on spots from which on it is their rim.
const ON_SPOT: f64 = 0.4;
/// A sharp edge drawn wider than this hides fine lines, mm: nothing was
/// searched for then.
const MOST_BLUR_MM: f64 = 0.3;
/// Lightness that is white, grey levels, and the share of the weld that may be.
const WHITE: f32 = 250.0;
const MOST_WHITE: f64 = 0.1;
/// Merit of a line that may be an inclusion: short of even odds.
const UNSURE: f64 = 0.93;
/// Samples across the smallest spot.
const LEAST_SPOT_SAMPLES: f64 = 4.0;

/// Searches the weld for flaws, adds them to it with what was searched for, and
/// corrects the measurements that a lack of root fusion changes
/// (`root_penetration_mm`, `effective_throat_mm`). `passes`: as declared of this weld.
pub fn search(photo: &Photo, scale: &Scale, passes: Option<u32>, weld: &mut Weld) {
    let Some(shape) = WeldShape::of(weld, &scale.map) else {
        return;
    };
    let Some(patch) = Patch::new(photo, &scale.map, &shape) else {
        return;
    };
    // How black a fine line must be depends on how sharp the picture is.
    let Some(edge_mm) = blur::edge_width_mm(&patch, &shape) else {
        return;
    };
    if edge_mm > MOST_BLUR_MM || white_share(&patch) > MOST_WHITE {
        return;
    }
    let mut found = look(&patch, &shape, edge_mm);
    found.cracks = crack::find(photo, &scale.map, &shape, edge_mm);
    found.overlaps = overlap::find(photo, &scale.map, &shape, edge_mm);
    let Found {
        lines, overlaps, ..
    } = &mut found;
    lines.retain(|line| !overlaps.iter().any(|o| o.holds(&shape, line)));
    let book = Book {
        scale,
        shape: &shape,
        end_mm: (0.5 * edge_mm).hypot(patch.step_mm),
        passes: &weld.outlines_px.passes,
        single_pass: passes == Some(1),
    };
    let findings: Vec<Finding> = book
        .findings(&found)
        .into_iter()
        .filter(|finding| !on_reference(scale, finding))
        .collect();
    let (sure, unsure) = match &found.void {
        Some(open) if open.merit >= root::SURE => (Some(&open.void), None),
        Some(open) => (None, Some(open.void.reach_mm.0.max(open.void.reach_mm.1))),
        None => (None, None),
    };
    if let Some(short) = root::shortfall(&shape, sure, &found.lines) {
        book.correct(&short, &mut weld.measurements);
    } else if let Some(length_mm) = unsure.or(root::doubtful_mm(&found.lines)) {
        finding::withhold_root(length_mm, &mut weld.measurements);
    }
    overlap::state(&book, &found.overlaps, &mut weld.measurements);
    weld.findings.extend(findings);
    weld.searched = searched(&patch);
}

/// Kinds searched for, and the size from which on.
fn searched(patch: &Patch) -> Vec<Searched> {
    let line = LEAST_LENGTH_MM;
    let spot = spot::LEAST_MM.max(LEAST_SPOT_SAMPLES * patch.step_mm);
    [
        (finding::ROOT.0, line),
        (finding::SIDE_WALL.0, line),
        (finding::INTER_RUN.0, line),
        (finding::OVERLAP.0, overlap::LEAST_LENGTH_MM),
        (finding::PORE.0, spot),
        (finding::INCLUSION.0, spot),
    ]
    .map(|(kind, from)| Searched {
        kind: kind.to_owned(),
        from_mm: Some(from),
    })
    .into()
}

/// What was found, in the joint's frame.
#[derive(Default)]
struct Found {
    /// Lines where metal did not fuse.
    lines: Vec<Unfused>,
    /// Pores and inclusions, with their merit.
    spots: Vec<(Blob, Kind, f64)>,
    /// Cracks that begin at a toe.
    cracks: Vec<Crack>,
    /// Weld metal that lies unfused on a plate.
    overlaps: Vec<Overlap>,
    /// An open void at the joint root.
    void: Option<OpenRoot>,
}

/// A void with the spot that shows it.
struct OpenRoot {
    void: Void,
    merit: f64,
}

fn look(patch: &Patch, shape: &WeldShape, edge_mm: f64) -> Found {
    let mut found = Found::default();
    let darkness = blob::darkness(patch);
    let in_weld = |values: &[f32]| -> Vec<f64> {
        values
            .iter()
            .zip(&patch.open)
            .filter(|(_, open)| **open)
            .map(|(v, _)| f64::from(*v))
            .collect()
    };
    let dark_tenth = quantile_of(&mut in_weld(&darkness), 0.9);
    let red: Vec<f32> = patch.chroma.iter().map(|c| c[0]).collect();
    let tint = quantile_of(&mut in_weld(&red), 0.5);
    let blobs = blob::find(patch, &darkness, &patch.solid(shape), spot::LEAST_MM / 2.0);
    let sizes: Vec<_> = blobs.iter().map(|b| (b.centre, b.greatest_mm)).collect();
    let rowed = spot::in_rows(&sizes);
    let mut taken = vec![false; darkness.len()];
    let mut perhaps = taken.clone();
    for (blob, rowed) in blobs.into_iter().zip(rowed) {
        if let Some(void) = root::void(patch, shape, &blob) {
            claim(patch, shape, &blob, &mut taken);
            let merit = spot::merit(&blob, dark_tenth);
            if found.void.as_ref().is_none_or(|known| known.merit < merit) {
                found.void = Some(OpenRoot { void, merit });
            }
            continue;
        }
        let (kind, merit) = spot::judge(
            &blob,
            shape,
            patch.step_mm.powi(2),
            (dark_tenth, tint),
            rowed,
        );
        match kind {
            Kind::Line => {}
            Kind::PerhapsLine => claim(patch, shape, &blob, &mut perhaps),
            _ => claim(patch, shape, &blob, &mut taken),
        }
        if matches!(kind, Kind::Pore | Kind::Inclusion) {
            found.spots.push((blob, kind, merit));
        }
    }
    let ridges = ridge::find(patch);
    let seen = Conditions {
        texture: quantile_of(&mut in_weld(ridges.depth.samples()), 0.5),
        edge_mm,
    };
    for centre_line in chain::centre_lines(patch, &ridges, CREST.0, CREST.1, FOLLOWED_MM) {
        if share_on(patch, &centre_line, &taken) >= ON_SPOT {
            continue;
        }
        for mut line in line::judge(patch, shape, &seen, &centre_line) {
            if line.place == Place::Inside && share_on(patch, &line.points, &perhaps) >= ON_SPOT {
                line.merit = line.merit.min(UNSURE);
            }
            found.lines.push(line);
        }
    }
    found
}

/// Marks a spot and its rim. A gap that goes on under the weld as a line leaves
/// that line free.
fn claim(patch: &Patch, shape: &WeldShape, blob: &Blob, taken: &mut [bool]) {
    let (w, h) = (patch.width(), patch.height());
    let rim = (RIM_MM / patch.step_mm).ceil() as usize;
    for &i in &blob.cells {
        let (x, y) = (i % w, i / w);
        let mostly_outside = blob.share_open < spot::LEAST_OPEN;
        if mostly_outside && shape.in_front_of_root(patch.place(x as f64, y as f64)) {
            continue;
        }
        for r in y.saturating_sub(rim)..(y + rim + 1).min(h) {
            taken[r * w + x.saturating_sub(rim)..r * w + (x + rim + 1).min(w)].fill(true);
        }
    }
}

/// Share of a line's points on marked samples.
fn share_on(patch: &Patch, line: &[Point<Joint>], marked: &[bool]) -> f64 {
    let on = line
        .iter()
        .filter(|p| patch.index(**p).is_some_and(|i| marked[i]))
        .count();
    on as f64 / line.len().max(1) as f64
}

/// Share of the searched area that is white.
fn white_share(patch: &Patch) -> f64 {
    let (mut white, mut all) = (0.0, 0.0);
    for (luma, open) in patch.luma.samples().iter().zip(&patch.open) {
        if *open {
            all += 1.0;
            white += f64::from(u8::from(*luma >= WHITE));
        }
    }
    white / f64::max(all, 1.0)
}

/// Whether a finding lies on the scale reference: letters and marks are dark too.
fn on_reference(scale: &Scale, finding: &Finding) -> bool {
    finding
        .polyline_px
        .iter()
        .chain(&finding.centre_px)
        .any(|p| {
            let p = Point::<Px>::new(p[0], p[1]);
            scale.occupied.iter().any(|outline| contains(outline, p))
        })
}

#[cfg(test)]
mod tests;
