//! What the integration tests share.

pub mod coupon;
