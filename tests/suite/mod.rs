//! One sentence a module.

/// The generator's own checks: its truth is consistent, and the shipped
/// pictures are still what it paints.
mod testdata;
