//! Floor 3: what people see. Reads the record and the pictures handed over.
//!
//! [`annotate`] draws the record's outlines into the photograph,
//! [`straightened`] does so for a fracture face laid straight, [`html`] writes
//! one self-contained page around these pictures, and [`scale_picture`] shows how
//! a scale was read; [`study_html`] is the page of a study of several examiners. [`pdf`]
//! sets any of these pages as a PDF file for keeping.

mod flaw_words;
mod page;
mod pdf;
mod picture;
mod study;

pub use page::{Kept, html, html_kept, html_with_face};
pub use pdf::pdf;
pub use picture::{Straightened, annotate, scale_paragraphs, scale_picture, straightened};
pub use study::html as study_html;

use thiserror::Error;

/// Why there is no annotated picture.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ReportError {
    /// The bytes handed over are no picture of that size.
    #[error("{bytes} bytes are no RGB picture of {width} × {height} px")]
    SizeMismatch {
        /// Bytes given.
        bytes: usize,
        /// Width said, px.
        width: usize,
        /// Height said, px.
        height: usize,
    },
    /// The picture is too large to be drawn on.
    #[error("no drawing surface of {width} × {height} px could be had")]
    Surface {
        /// Width asked for, px.
        width: u32,
        /// Height asked for, px.
        height: u32,
    },
    /// JPEG compression failed.
    #[error("the annotated picture could not be compressed")]
    Jpeg(#[from] image::ImageError),
    /// The page could not be set as PDF; says what the typesetting library said.
    #[error("the page could not be set as PDF: {0}")]
    Pdf(String),
}
