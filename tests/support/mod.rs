//! What several tests share.

pub mod section;
