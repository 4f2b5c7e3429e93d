//! What the integration tests share.

pub mod broken;
/// The printed scale card before a simulated camera.
pub mod card;
/// A class: sheet, small photographs, the program run on them.
pub mod class;
pub mod coupon;
/// Broken coupons laid open, painted with their truth.
pub mod fracture;
/// Painted sections, measured.
pub mod painted;
/// Simulated references (rules, chequer strips) seen by a simulated camera.
pub mod references;
/// Steel rules with numerals, and combs that are none.
pub mod rules;
pub mod section;
/// Programs from outside.
pub mod tools;
pub mod workshop;
