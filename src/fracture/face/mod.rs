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
    let mut faces: Vec<(f64, Face)> = candidates
        .into_iter()
        .filter_map(|r| face_at(photo, r, occupied))
        .collect();
    faces.sort_by(|a, b| b.0.total_cmp(&a.0));
    let Some((_, face)) = faces.into_iter().next() else {
        return Err(Vec::new());
    };
    Ok(Found {
        faces: vec![face],
        reasons: Vec::new(),
    })
}

fn face_at(
    photo: &Photo,
    ribbon: search::Ribbon,
    occupied: &[Vec<Point<Px>>],
) -> Option<(f64, Face)> {
    let band = band::Band::new(photo, ribbon, 0.6);
    let torn = torn::find(&band)?;
    // Once more along the found edges.
    let ribbon = torn.ribbon(&band)?;
    let band = band::Band::new(photo, ribbon, 0.08);
    let torn = torn::find(&band)?;
    let sides = [true, false].map(|up| {
        [edges::Kind::Root, edges::Kind::Far].map(|kind| edges::find(&band, &torn, up, kind))
    });
    let side = side::features(&band, &torn, &sides)?;
    let merit = (torn.inside - torn.beside.0.max(torn.beside.1))
        * ribbon.length.sqrt()
        * ribbon.beside_reference(occupied);
    if std::env::var("DBG").is_ok() {
        eprintln!(
            "merit {merit:.4} in {:.4} be {:.4} {:.4} L {:.0} W {:.0} side {side:?}",
            torn.inside, torn.beside.0, torn.beside.1, ribbon.length, ribbon.width
        );
    }
    let [[top_root, top_far], [bottom_root, bottom_far]] = sides;
    let log_odds = side.log_odds();
    let root_below = log_odds > 0.0;
    let (root, far) = if root_below {
        (bottom_root?, top_far?)
    } else {
        (top_root?, bottom_far?)
    };
    let line = |rows: &[f64]| -> Vec<Point<Px>> {
        let (a, b) = (torn.ends.0 as usize, (torn.ends.1 as usize).min(rows.len()));
        let mut line: Vec<_> = (a..b)
            .map(|c| band.to_px(c as f64 + 0.5, rows[c]))
            .collect();
        if !root_below {
            line.reverse();
        }
        line
    };
    Some((
        merit,
        Face {
            root_px: line(&root.rows),
            far_px: line(&far.rows),
            hidden_px: Vec::new(),
            discard_marks: Vec::new(),
            side_confidence: 1.0 / (1.0 + (-log_odds.abs()).exp()),
        },
    ))
}
