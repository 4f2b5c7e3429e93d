//! The fracture face of a coupon, found in the photograph.
//!
//! Photograph → map of relief ([`roughness`]) → ribbons of torn metal
//! ([`search`]) → each laid straight ([`band`]) and its torn metal outlined
//! ([`torn`]) → the best one's long edges ([`root`], [`far`]) and which is the root line
//! ([`side`]) → a [`Face`] and what speaks against it ([`flags`]).
//!
//! Sizes are judged against the coupon's own, so that it works without a scale.

mod band;
mod baseline;
mod bow;
mod edges;
mod ends;
mod far;
mod flags;
mod mates;
mod root;
mod roughness;
mod search;
mod side;
mod texture;
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
    /// Mean distance between the far edge and where roughness says that torn
    /// metal ends, px: what the two ways of finding that edge leave open.
    pub far_doubt_px: f64,
    /// Whether the whole face is seen: not cropped, not too dark, and not running
    /// into a washed-out place.
    pub whole: bool,
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
    let laid: Vec<Laid> = std::iter::once(first)
        .chain(second.map(|s| s.1))
        .filter_map(|r| lay(photo, r))
        .collect();
    let mut faces = sided(laid, root_side);
    faces.retain(|f| !flags::impossible(f, px_per_mm) && !flags::beside_reference(f, occupied));
    for face in &mut faces {
        face.whole = !flags::too_dark(photo, face)
            && !flags::cropped(photo, face)
            && flags::runs_into_glare(photo, face).is_none();
    }
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

/// A face laid straight, before it is known which long edge is the root.
struct Laid {
    band: band::Band,
    torn: torn::Torn,
    cuts: [ends::Cut; 2],
    /// For (above, below) × (root, far).
    edges: [[Option<edges::Edge>; 2]; 2],
    /// Log odds that the root line is the lower edge, by its own look.
    log_odds: f64,
}

/// Lays the face along a ribbon straight and finds its ends and edges.
fn lay(photo: &Photo, ribbon: search::Ribbon) -> Option<Laid> {
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
    let changes = edges::Changes::of(&band);
    let edges = [true, false].map(|up| {
        [
            root::find(&band, &torn, &changes, up),
            far::find(&band, &torn, &changes, up),
        ]
    });
    let log_odds = side::features(&band, &torn, &edges)?.log_odds();
    Some(Laid {
        band,
        torn,
        cuts,
        edges,
        log_odds,
    })
}

impl Laid {
    /// Whether a declared root side is the lower edge.
    fn is_below(&self, side: RootSide) -> bool {
        let across = self.band.to_px(0.0, 1.0) - self.band.to_px(0.0, 0.0);
        let towards = match side {
            RootSide::Top => -across.y,
            RootSide::Bottom => across.y,
            RootSide::Left => -across.x,
            RootSide::Right => across.x,
        };
        towards > 0.0
    }

    /// The face with its root line at the lower edge as likely as `log_odds` say.
    fn face(self, log_odds: f64) -> Option<Face> {
        let root_below = log_odds > 0.0;
        let [[top_root, top_far], [bottom_root, bottom_far]] = self.edges;
        let (root, far) = if root_below {
            (bottom_root?, top_far?)
        } else {
            (top_root?, bottom_far?)
        };
        let line = |rows: &[f64]| -> Vec<Point<Px>> {
            let points = (0..rows.len())
                .filter(|c| {
                    let at = *c as f64 + 0.5;
                    at > self.cuts[0].at(rows[*c]) && at < self.cuts[1].at(rows[*c])
                })
                .map(|c| self.band.to_px(c as f64 + 0.5, rows[c]));
            if root_below {
                points.collect()
            } else {
                points.rev().collect()
            }
        };
        let torn_edge = if root_below {
            &self.torn.top
        } else {
            &self.torn.bottom
        };
        let columns = self.torn.ends.0 as usize..(self.torn.ends.1 as usize).min(torn_edge.len());
        let n = columns.len().max(1) as f64;
        let apart: f64 = columns.map(|c| (far.rows[c] - torn_edge[c]).abs()).sum();
        let far_doubt_px = apart / n * self.band.step;
        Some(Face {
            root_px: line(&root.rows),
            far_px: line(&far.rows),
            far_doubt_px,
            whole: true,
            side_confidence: 1.0 / (1.0 + (-log_odds.abs()).exp()),
        })
    }
}

/// The faces of one coupon, their root sides as declared or as they look. Two
/// halves that mate say together which side is the root.
fn sided(laid: Vec<Laid>, declared: Option<RootSide>) -> Vec<Face> {
    let own: Vec<f64> = laid.iter().map(|l| l.log_odds).collect();
    let mut odds = own.clone();
    if let [a, b] = &laid[..]
        && let Some(opposite) = mates::roots_lie_opposite(a, b)
    {
        let sign = if opposite { -1.0 } else { 1.0 };
        odds = vec![own[0] + sign * own[1], own[1] + sign * own[0]];
    }
    // A declaration is of the half that is measured, and no other one is.
    laid.into_iter()
        .zip(odds)
        .filter_map(|(l, odds)| {
            let odds = match declared {
                Some(side) if l.is_below(side) => f64::INFINITY,
                Some(_) => f64::NEG_INFINITY,
                None => odds,
            };
            l.face(odds)
        })
        .collect()
}

#[cfg(test)]
mod tests;
