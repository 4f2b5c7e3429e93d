//! Numerics: optimal paths, robust statistics, correlation.

mod correlation;
mod path;
mod robust;

pub use correlation::correlation;
pub use path::{Grid, Track, excursion, optimal_path};
pub use robust::{mad, median, median_of, quantile, quantile_of};
