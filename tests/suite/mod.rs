/// The scale stage over simulated rules and strips.
mod scale;
/// Geometry and rasters against general-purpose libraries.
mod vectors;
