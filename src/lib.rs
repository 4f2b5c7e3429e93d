//! Toeline measures fillet welds in calibrated photographs.
//!
//! The pipeline: photo → scale → section → limits → report. See `docs/method.md`.

#![warn(missing_docs)]

pub mod archive;
pub mod base;
pub mod cardprint;
pub mod cli;
pub mod cohort;
pub mod fracture;
pub mod limits;
pub mod photo;
pub mod pipeline;
pub mod record;
pub mod report;
pub mod scale;
pub mod section;
