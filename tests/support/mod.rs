//! What the integration tests share.

pub mod coupon;
/// Simulated references (rules, chequer strips) seen by a simulated camera.
pub mod references;
pub mod section;
