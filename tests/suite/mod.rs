/// Figures stated for painted sections against their exact truth.
mod accuracy;
/// Imports run one way, files stay short, the manifest stays lean.
mod architecture;
/// The archive's commands: kept, found, damaged, taken out, measured again.
mod archive;
/// Drawn scale bars, and strokes that are none.
mod bars;
/// A class from its sheet into the archive, killed runs included.
mod batch;
/// Profiles of break tests against published and hand-worked values.
mod break_limits;
/// The page of a broken weld: straightened face, words, points, cautions.
mod break_report;
/// The page of a class in a browser.
mod browser;
/// The scale card: printed, photographed, read.
mod card;
/// A class on one page.
mod class;
/// The program as typed: arguments, exit codes, files left, what goes to which stream.
mod command_line;
/// Cracks at a toe, scratches, sound metal.
mod cracks;
/// Tees welded on both sides.
mod doubles;
/// Painted broken coupons: their truth, the shipped examples, what is measured of them.
mod fractures;
/// Floor 0 against independent code: the `geo` crate, brute force, naive loops.
mod geometry;
/// Photograph files of every kind and state, from bytes to a record.
mod intake;
/// A broken coupon's photograph turned, mirrored, rescaled, brightened.
mod invariance;
/// Laps whose weld covers the end face, and laps whose weld does not.
mod laps;
/// Profiles and verdicts against published values.
mod limits;
/// Weld metal that lies on a plate unfused.
mod overlap;
/// PDF files, read back.
mod paper;
/// The record as files and programs see it: JSON, schema, tolerance of newer keys.
mod record;
/// Several photographs of one coupon: what scatters against what was stated.
mod repeat;
/// The annotated picture and the HTML page.
mod report;
/// Verdicts on painted coupons that are truly outside a limit.
mod risk;
/// Rules of every kind and view, and combs that are no rules.
mod rules;
/// The scale stage over simulated rules and strips.
mod scale;
/// Several examiners: values and verdicts against published studies.
mod study;
/// The generator's own truth, and remaking of the shipped pictures.
mod testdata;
/// Geometry and rasters against general-purpose libraries.
mod vectors;
