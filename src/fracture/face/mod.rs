//! The fracture face of a coupon, found in the photograph.
//!
//! Photograph → map of relief ([`roughness`]) → ribbons of torn metal
//! ([`search`]) → each laid straight ([`band`]) and its torn metal outlined
//! ([`torn`]) → the best one's long edges ([`edges`]) and which is the root line
//! ([`side`]) → a [`Face`] and what speaks against it ([`flags`]).
//!
//! Sizes are judged against the coupon's own, so that it works without a scale.

mod band;
mod bow;
mod edges;
mod ends;
mod flags;
mod roughness;
mod search;
mod side;
mod torn;

use crate::base::geometry::{Point, Px};
use crate::photo::Photo;
use crate::record::{Reason, RootSide};

/// One half's fracture face.
///
/// Seen with the root side at the bottom, `root_px` and `far_px` both run from
/// left to right, so that s grows along them; the closed outline is `root_px`
/// followed by `far_px` backwards. A mirrored photograph cannot be told from an
/// unmirrored one and is measured as it is.
#[derive(Clone, Debug)]
pub struct Face {
    /// Root line: the corner of the plate at which the face begins, px.
    pub root_px: Vec<Point<Px>>,
    /// Far edge: where the break left the weld (cap or groove), px.
    pub far_px: Vec<Point<Px>>,
    /// Parts of the face that show nothing of the metal (paint strokes,
    /// washed-out glare), closed outlines, px.
    pub hidden_px: Vec<Vec<Point<Px>>>,
    /// Places of found discard marks along s, as fractions 0 … 1 of the root
    /// line's length.
    pub discard_marks: Vec<f64>,
    /// How sure it is that `root_px` is the root side and not the cap side,
    /// 0.5 … 1.
    pub side_confidence: f64,
}

impl Face {
    /// Whether the root side may be taken as known.
    pub fn side_is_sure(&self) -> bool {
        self.side_confidence >= flags::SURE
    }
}

/// What was found in a photograph.
#[derive(Clone, Debug)]
pub struct Found {
    /// One face for each half, the primary one first: the one that lies wholly
    /// in the picture, else the first in reading order.
    pub faces: Vec<Face>,
    /// What speaks against numbers from the primary face.
    pub reasons: Vec<Reason>,
}

/// Length over width from which a face is as slender as faces are; stouter
/// ones are less likely.
const SLENDER: f64 = 8.0;

/// Least length over width: a throat's width of 10 mm on a coupon of 40 mm.
const LEAST_ASPECT: f64 = 4.0;

/// How much a second half may differ from the first: ratio of lengths, of
/// widths, least ratio of how they stand out, sine of the angle between them.
const HALF_LENGTHS: f64 = 1.3;
const HALF_WIDTHS: f64 = 1.8;
const HALF_MERITS: f64 = 0.35;
const HALF_ANGLE: f64 = 0.15;

/// A ribbon that covers a part of a face only grows by half each time it is laid.
const MOST_LAYINGS: usize = 4;

/// Finds the fracture faces, one a half of the coupon. `occupied` are outlines
/// of scale references, px, where no face is looked for; `px_per_mm` only
/// rejects faces of impossible size; a declared `root_side` is believed.
///
/// # Errors
/// `not-a-fracture` when no face is found, `underexposed` when the picture is
/// too dark to tell.
pub fn find(
    photo: &Photo,
    occupied: &[Vec<Point<Px>>],
    px_per_mm: Option<f64>,
    root_side: Option<RootSide>,
) -> Result<Found, Vec<Reason>> {
    let rough = roughness::Roughness::of(&photo.luma, occupied);
    let mut places: Vec<(f64, search::Ribbon)> = search::candidates(&search::ribbons(&rough))
        .into_iter()
        .filter_map(|r| close_look(photo, r, occupied))
        .collect();
    // A part of a face can stand out more than the whole: where the light is
    // best. The whole is wanted.
    let whole: Vec<(f64, search::Ribbon)> = places
        .iter()
        .filter(|(_, part)| !places.iter().any(|(_, r)| part.is_part_of(r)))
        .copied()
        .collect();
    places = whole;
    places.sort_by(|a, b| b.0.total_cmp(&a.0));
    let Some(&(merit, first)) = places.first() else {
        return Err(flags::nothing(photo));
    };
    let second = places.iter().skip(1).find(|(m, r)| {
        let ratio = |a: f64, b: f64| a.max(b) / a.min(b);
        *m > HALF_MERITS * merit
            && ratio(r.length, first.length) < HALF_LENGTHS
            && ratio(r.width, first.width) < HALF_WIDTHS
            && r.along.cross(first.along).abs() < HALF_ANGLE
            && (r.centre - first.centre).cross(first.along).abs() > 1.5 * first.width
    });
    let mut faces: Vec<Face> = std::iter::once(first)
        .chain(second.map(|s| s.1))
        .filter_map(|r| face_along(photo, r, root_side))
        .filter(|f| !flags::impossible(f, px_per_mm))
        .collect();
    let reading = |f: &Face| {
        let middle = f.root_px[f.root_px.len() / 2];
        middle.x + middle.y
    };
    faces.sort_by(|a, b| {
        let key = |f: &Face| (flags::cropped(photo, f), reading(f));
        let (a, b) = (key(a), key(b));
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    let Some(primary) = faces.first() else {
        return Err(flags::nothing(photo));
    };
    let reasons = flags::reasons(photo, primary, px_per_mm);
    Ok(Found { faces, reasons })
}

/// The torn metal along a ribbon as a better ribbon, and how much speaks for
/// it; `None` when there is none or it is too stout for a weld.
fn close_look(
    photo: &Photo,
    ribbon: search::Ribbon,
    occupied: &[Vec<Point<Px>>],
) -> Option<(f64, search::Ribbon)> {
    let band = band::Band::new(photo, ribbon, 0.6);
    let torn = torn::find(&band)?;
    let ribbon = torn.ribbon(&band)?;
    let aspect = ribbon.length / ribbon.width;
    // As steep per pixel of the photograph, whatever the band's step.
    let stands_out = (torn.inside - torn.beside.0.max(torn.beside.1)) / band.step;
    let merit = stands_out
        * (aspect / SLENDER).min(1.0)
        * ribbon.length.sqrt()
        * ribbon.beside_reference(occupied);
    (aspect > LEAST_ASPECT).then_some((merit, ribbon))
}

/// The face along a ribbon, its root side as declared or as it looks.
fn face_along(photo: &Photo, ribbon: search::Ribbon, declared: Option<RootSide>) -> Option<Face> {
    // Laid along the torn metal twice: the first ribbon may be off by degrees.
    // And on, as long as the torn metal is found to go on beyond the ends.
    let mut ribbon = ribbon;
    for laying in 0..MOST_LAYINGS {
        let band = band::Band::new(photo, ribbon, 0.25);
        let next = torn::find(&band)?.ribbon(&band)?;
        let grown = next.length > 1.1 * ribbon.length;
        ribbon = next;
        if !grown && laying > 0 {
            break;
        }
    }
    let band = band::Band::new(photo, ribbon, 0.08);
    let mut torn = torn::find(&band)?;
    let cuts = ends::find(&band, &torn);
    let middle_row = 0.5 * band.size().1 as f64;
    torn.ends = (
        cuts[0].at(middle_row).max(0.0),
        cuts[1].at(middle_row).min(band.size().0 as f64),
    );
    let found = [true, false].map(|up| {
        [edges::Kind::Root, edges::Kind::Far].map(|kind| edges::find(&band, &torn, up, kind))
    });
    let (root_below, side_confidence) = match declared {
        Some(side) => {
            let across = band.to_px(0.0, 1.0) - band.to_px(0.0, 0.0);
            let along_declared = match side {
                RootSide::Top => -across.y,
                RootSide::Bottom => across.y,
                RootSide::Left => -across.x,
                RootSide::Right => across.x,
            };
            (along_declared > 0.0, 1.0)
        }
        None => {
            let log_odds = side::features(&band, &torn, &found)?.log_odds();
            (log_odds > 0.0, 1.0 / (1.0 + (-log_odds.abs()).exp()))
        }
    };
    let [[top_root, top_far], [bottom_root, bottom_far]] = found;
    let (root, far) = if root_below {
        (bottom_root?, top_far?)
    } else {
        (top_root?, bottom_far?)
    };
    let line = |rows: &[f64]| -> Vec<Point<Px>> {
        let points = (0..rows.len())
            .filter(|c| {
                let at = *c as f64 + 0.5;
                at > cuts[0].at(rows[*c]) && at < cuts[1].at(rows[*c])
            })
            .map(|c| band.to_px(c as f64 + 0.5, rows[c]));
        if root_below {
            points.collect()
        } else {
            points.rev().collect()
        }
    };
    Some(Face {
        root_px: line(&root.rows),
        far_px: line(&far.rows),
        hidden_px: Vec::new(),
        discard_marks: Vec::new(),
        side_confidence,
    })
}

#[cfg(test)]
mod tests;
