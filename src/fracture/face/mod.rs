//! The fracture face of one half of a coupon, as found in the photograph.

mod band;
mod edges;
mod roughness;
mod search;
mod side;
mod torn;

use crate::base::geometry::{Point, Px};
use crate::photo::Photo;
use crate::record::Reason;

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

/// What was found in a photograph.
#[derive(Clone, Debug)]
pub struct Found {
    /// One face a half, the primary one first.
    pub faces: Vec<Face>,
    /// What speaks against some numbers.
    pub reasons: Vec<Reason>,
}

/// Length over width from which a face is as slender as faces are; stouter
/// ones are less likely.
const SLENDER: f64 = 8.0;

/// Least length over width: the widest face has 25 mm on a coupon of 60 mm.
const LEAST_ASPECT: f64 = 2.4;

/// Finds the fracture faces.
///
/// # Errors
/// Reasons why nothing can be measured.
pub fn find(
    photo: &Photo,
    occupied: &[Vec<Point<Px>>],
    px_per_mm: Option<f64>,
) -> Result<Found, Vec<Reason>> {
    let _ = px_per_mm;
    let rough = roughness::Roughness::of(&photo.luma, occupied);
    let ribbons = search::ribbons(&rough);
    let candidates = search::candidates(&ribbons);
    let mut places: Vec<(f64, search::Ribbon)> = candidates
        .into_iter()
        .filter_map(|r| {
            let band = band::Band::new(photo, r, 0.6);
            let torn = torn::find(&band)?;
            let ribbon = torn.ribbon(&band)?;
            // As steep per pixel of the photograph, whatever the band's step.
            let stands = (torn.inside - torn.beside.0.max(torn.beside.1)) / band.step;
            let slender = (ribbon.length / ribbon.width / SLENDER).min(1.0);
            let merit = stands * slender * ribbon.length.sqrt() * ribbon.beside_reference(occupied);
            if std::env::var("DBG").is_ok() { eprintln!("merit {merit:.4} in {:.4} be {:.4} {:.4} L {:.0} W {:.0} at {:.0},{:.0} from {:.0} {:.0}", torn.inside, torn.beside.0, torn.beside.1, ribbon.length, ribbon.width, ribbon.centre.x, ribbon.centre.y, r.length, r.width); }
            (ribbon.length > LEAST_ASPECT * ribbon.width).then_some((merit, ribbon))
        })
        .collect();
    places.sort_by(|a, b| b.0.total_cmp(&a.0));
    let faces: Vec<(f64, Face)> = places.into_iter().take(1).filter_map(|(m, r)| Some((m, face_at(photo, r)?))).collect();
    let Some((_, face)) = faces.into_iter().next() else {
        return Err(Vec::new());
    };
    Ok(Found { faces: vec![face], reasons: Vec::new() })
}

fn face_at(photo: &Photo, ribbon: search::Ribbon) -> Option<Face> {
    let band = band::Band::new(photo, ribbon, 0.25);
    let ribbon = torn::find(&band)?.ribbon(&band)?;
    let band = band::Band::new(photo, ribbon, 0.08);
    let torn = torn::find(&band)?;
    let sides = [true, false].map(|up| {
        [edges::Kind::Root, edges::Kind::Far].map(|kind| edges::find(&band, &torn, up, kind))
    });
    let side = side::features(&band, &torn, &sides)?;
    let merit = 1.0;
    if std::env::var("DBG").is_ok() { eprintln!("CAND {{\"lo\":{:.3},\"merit\":{merit:.4},\"f\":{:?}}} merit {merit:.4} in {:.4} be {:.4} {:.4} L {:.0} W {:.0} at {:.0},{:.0}", side.log_odds(), [side.ripples, side.uneven, side.step, side.second, side.smooth], torn.inside, torn.beside.0, torn.beside.1, ribbon.length, ribbon.width, ribbon.centre.x, ribbon.centre.y); }
    let [[top_root, top_far], [bottom_root, bottom_far]] = sides;
    let log_odds = side.log_odds();
    let root_below = log_odds > 0.0;
    let (root, far) = if root_below { (bottom_root?, top_far?) } else { (top_root?, bottom_far?) };
    let line = |rows: &[f64]| -> Vec<Point<Px>> {
        let (a, b) = (torn.ends.0 as usize, (torn.ends.1 as usize).min(rows.len()));
        let mut line: Vec<_> = (a..b).map(|c| band.to_px(c as f64 + 0.5, rows[c])).collect();
        if !root_below {
            line.reverse();
        }
        line
    };
    Some(Face {
        root_px: line(&root.rows),
        far_px: line(&far.rows),
        hidden_px: Vec::new(),
        discard_marks: Vec::new(),
        side_confidence: 1.0 / (1.0 + (-log_odds.abs()).exp()),
    })
}
