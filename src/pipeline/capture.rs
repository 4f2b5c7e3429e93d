//! Where the capture checks look.

use crate::base::geometry::{Point, Px};
use crate::record::PlacePx;
use crate::section::Weld;

/// A closed outline of the record.
pub(super) fn outline(places: &[PlacePx]) -> Vec<Point<Px>> {
    places.iter().map(|p| Point::new(p[0], p[1])).collect()
}

/// The weld's outline; without one, whatever of it was found.
pub(super) fn region(weld: &Weld) -> Vec<Point<Px>> {
    let outlines = &weld.outlines_px;
    if outlines.weld_metal.len() >= 3 {
        return outline(&outlines.weld_metal);
    }
    let mut found = outlines.face.clone();
    found.extend(outlines.joint_root);
    outline(&found)
}
