/// Figures stated for painted sections against their exact truth.
mod accuracy;
/// Imports run one way, files stay short, the manifest stays lean.
mod architecture;
/// Floor 0 against independent code: the `geo` crate, brute force, naive loops.
mod geometry;
/// Profiles and verdicts against published values.
mod limits;
/// The record as files and programs see it: JSON, schema, tolerance of newer keys.
mod record;
/// The annotated picture and the HTML page.
mod report;
/// The generator's own truth, and remaking of the shipped pictures.
mod testdata;
