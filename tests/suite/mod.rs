/// Profiles and verdicts against published values.
mod limits;
/// The record as files and programs see it: JSON, schema, tolerance of newer keys.
mod record;
/// The annotated picture and the HTML page.
mod report;
/// The generator's own truth, and remaking of the shipped pictures.
mod testdata;
/// The scale stage over simulated rules and strips.
mod scale;
/// Geometry and rasters against general-purpose libraries.
mod vectors;
