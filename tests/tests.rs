//! The one integration binary; `suite/mod.rs` says what belongs in each module.

mod suite;
mod support;
