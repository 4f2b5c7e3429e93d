/// Profiles and verdicts against published values.
mod limits;
/// The record as files and programs see it: JSON, schema, tolerance of newer keys.
mod record;
/// The annotated picture and the HTML page.
mod report;
