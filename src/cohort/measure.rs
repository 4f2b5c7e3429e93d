//! One photograph through the pipeline, and its report.

use super::asking;
use crate::pipeline::{self, Outcome};
use crate::record::{Asked, Kind, Record};
use crate::report;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// What a photograph gave.
pub struct Measured {
    pub record: Record,
    pub picture: Option<Vec<u8>>,
    pub report: String,
}

/// Measures a photograph.
///
/// # Errors
/// The question is not understood by this version, or the program failed on this
/// photograph; the others can go on.
pub fn measure(bytes: &[u8], name: &str, asked: &Asked) -> Result<Measured, String> {
    let request = asking::request(asked)?;
    let run = || {
        let Outcome {
            record,
            annotated,
            straightened,
        } = match asked.kind {
            Kind::Section => pipeline::measure_section(bytes, name, &request),
            Kind::Fracture => pipeline::measure_fracture(bytes, name, &request),
        };
        let report = report::html_with_face(
            &record,
            annotated.as_deref().unwrap_or_default(),
            straightened.as_deref().unwrap_or_default(),
        );
        Measured {
            record,
            picture: annotated,
            report,
        }
    };
    catch_unwind(AssertUnwindSafe(run)).map_err(|_| {
        "measuring it failed inside Toeline; that is a fault of the program, please report it with \
         the photograph"
            .to_owned()
    })
}
