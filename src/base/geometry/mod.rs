//! Plane geometry whose frame (photograph pixels, plane millimetres, joint
//! millimetres) is part of the type, so that a mix-up does not compile.

mod homography;
mod line;
mod point;
mod polygon;
mod polyline;

pub use homography::Homography;
pub use line::Line;
pub use point::{Joint, Mm, Point, Px, Vector};
pub use polygon::{area, centroid, clip_by_half_plane, contains, signed_area};
pub use polyline::{Nearest, length, nearest, resample, self_crossing};
