//! A page as a PDF file for keeping: PDF/A-2a (ISO 19005-2), with text, headings,
//! tables and picture texts marked as such (PDF/UA-1, ISO 14289-1).
//!
//! The PDF is set from the page itself, so that both say the same: [`sheet`] walks
//! through the HTML and writes what the typesetting library is to set, and [`set`]
//! has it set. It works on every page this program ever wrote, also on reports kept
//! in an archive.

mod blocks;
mod drawing;
mod inline;
mod set;
mod sheet;
mod table;

use super::ReportError;

/// The PDF file of `html`, one of this program's pages.
///
/// `now` is the time written into it as the time it was made, UTC as in RFC 3339
/// (`2026-03-14T09:26:53Z`); a file for keeping has to carry one.
///
/// # Errors
/// [`ReportError::Pdf`] when the page cannot be set, e.g. for letters that no font at
/// hand has.
pub fn pdf(html: &str, now: &str) -> Result<Vec<u8>, ReportError> {
    set::pdf(sheet::read(html), now)
}

#[cfg(test)]
mod tests;
