//! Floor 0: geometry, numerics and rasters. Knows nothing of coupons.

pub mod calendar;
pub mod geometry;
pub mod numeric;
pub mod raster;
pub mod rounding;
pub mod uncertainty;
