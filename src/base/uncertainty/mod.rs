//! Uncertainty by trial: random draws that come out the same however many threads
//! share the work, and what a sample of results says.

mod sample;
mod trials;

pub use sample::{Spread, shortest_interval};
pub use trials::{Plan, normals, rectangular, run};
