//! Studies of several examiners.

pub mod gauge;
pub mod kappa;
