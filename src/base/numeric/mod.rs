//! Numerics: optimal paths and robust statistics.

mod path;
mod robust;

pub use path::{Grid, Track, excursion, optimal_path};
pub use robust::{mad, median, median_of, quantile, quantile_of};
