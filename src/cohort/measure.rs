//! One photograph through the pipeline, and into the archive.

use super::asking;
use crate::archive::{Archive, ArchiveError, Filed, Filing};
use crate::pipeline::{self, Outcome};
use crate::record::{Asked, Kind};
use crate::report::{self, Kept};
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Measures a photograph.
///
/// # Errors
/// The question is not understood by this version, or the program failed on this
/// photograph; the others can go on.
pub fn measure(bytes: &[u8], name: &str, asked: &Asked) -> Result<Outcome, String> {
    let request = asking::request(asked)?;
    let run = || {
        let outcome = match asked.kind {
            Kind::Section => pipeline::measure_section(bytes, name, &request),
            Kind::Fracture => pipeline::measure_fracture(bytes, name, &request),
        };
        // Tried here, where a failure is this photograph's alone.
        page(&outcome, None);
        outcome
    };
    catch_unwind(AssertUnwindSafe(run)).map_err(|_| {
        "measuring it failed inside Toeline; that is a fault of the program, please report it with \
         the photograph"
            .to_owned()
    })
}

fn page(outcome: &Outcome, kept: Option<Kept<'_>>) -> String {
    report::html_kept(
        &outcome.record,
        outcome.annotated.as_deref().unwrap_or_default(),
        outcome.straightened.as_deref().unwrap_or_default(),
        kept,
    )
}

/// Whose photograph was measured, and why.
pub struct Why<'a> {
    pub coupon: &'a str,
    pub photo: &'a str,
    pub asked: &'a Asked,
    pub key: &'a str,
    pub reason: &'a str,
}

/// Files what a photograph gave; its report names the archive's head.
///
/// # Errors
/// The archive cannot be written.
pub fn file(
    archive: &mut Archive,
    original: &[u8],
    outcome: &Outcome,
    why: &Why<'_>,
) -> Result<Filed, ArchiveError> {
    let head = archive.head()?;
    let kept = Kept {
        entry: head.seq + 1,
        previous: &head.hash,
    };
    archive.file(&Filing {
        coupon: why.coupon,
        photo: why.photo,
        original,
        asked: why.asked,
        key: why.key,
        reason: why.reason,
        record: &outcome.record,
        picture: outcome.annotated.as_deref(),
        report: &page(outcome, Some(kept)),
    })
}
