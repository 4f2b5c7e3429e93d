//! The fracture face of one half of a coupon, as found in the photograph.

use crate::base::geometry::{Point, Px};
use crate::photo::Photo;
use crate::record::{Code, Reason};

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

/// What was found.
#[derive(Clone, Debug)]
pub struct Found {
    /// One face a half, the primary one first.
    pub faces: Vec<Face>,
    /// What speaks against some numbers.
    pub reasons: Vec<Reason>,
}

/// Finds the fracture faces in a photograph.
///
/// # Errors
/// Why there is none.
pub fn find(
    photo: &Photo,
    occupied: &[Vec<Point<Px>>],
    px_per_mm: Option<f64>,
) -> Result<Found, Vec<Reason>> {
    let _ = (photo, occupied, px_per_mm);
    Err(vec![Reason::new(
        Code::NotBuiltYet,
        "fracture faces are not found by this version",
        "keep the photograph; until then measure the broken face by hand",
    )])
}
