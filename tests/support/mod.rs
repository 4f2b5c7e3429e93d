//! What the integration tests share.

pub mod coupon;
pub mod section;
/// Simulated references (rules, chequer strips) seen by a simulated camera.
pub mod references;
