//! Where the capture checks look.

use crate::base::geometry::{Point, Px};
use crate::record::PlacePx;
use crate::section::Weld;

/// The weld's outline; without one, whatever of it was found.
pub(super) fn region(weld: &Weld) -> Vec<Point<Px>> {
    let points = |places: &[PlacePx]| places.iter().map(|p| Point::new(p[0], p[1])).collect();
    let outlines = &weld.outlines_px;
    if outlines.weld_metal.len() >= 3 {
        return points(&outlines.weld_metal);
    }
    let mut found = outlines.face.clone();
    found.extend(outlines.joint_root);
    points(&found)
}
