//! Rasters: one sample array with a width and a height, and the few operations
//! the analysis needs on them.
//!
//! Coordinates given as `f64` are photograph coordinates of that raster: the
//! centre of the first sample is (0.5, 0.5).

mod blur;
mod gray;
mod pyramid;

pub use blur::gaussian_blur;
pub use gray::Gray;
pub use pyramid::{halve, reduced};
