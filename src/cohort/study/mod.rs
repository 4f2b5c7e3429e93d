//! Studies of several examiners.

pub mod kappa;
