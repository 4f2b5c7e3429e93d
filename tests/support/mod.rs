//! What the integration tests share.

pub mod coupon;
pub mod section;
