//! Floor 4: many records at once.

mod repeat;

pub use repeat::{Repeat, Repeated, Scatter, repeat};
