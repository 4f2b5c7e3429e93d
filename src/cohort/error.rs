//! What stops a whole class, by who must act.

use crate::archive::ArchiveError;
use std::path::PathBuf;
use thiserror::Error;

/// Why a batch did not run, or did not come to its end.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum CohortError {
    /// The archive cannot be used.
    #[error(transparent)]
    Archive(#[from] ArchiveError),
    /// A file or folder cannot be read.
    #[error("{} cannot be read; check the path and whether you may read it", path.display())]
    Read {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A file or folder cannot be written.
    #[error(
        "{} cannot be written; check that you may write there and that the disk is not full",
        path.display()
    )]
    Write {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A folder to be filled holds something else.
    #[error("{} is not empty and nothing in it is replaced; name a new folder", .0.display())]
    NotEmpty(PathBuf),
    /// No coupon of the archive is of this welder.
    #[error(
        "no coupon in the archive is of welder '{welder}'; 'toeline archive list' shows whose there are"
    )]
    NoSuchWelder {
        /// Who was asked for.
        welder: String,
    },
    /// The file is no sheet.
    #[error("{} cannot be used as a sheet: {message}", path.display())]
    Sheet {
        /// The file.
        path: PathBuf,
        /// What is wrong and what to do.
        message: String,
    },
    /// What was asked of a photograph is not understood by this version.
    #[error(
        "what was asked of {photo} of coupon {coupon} is not understood by this version: {message}"
    )]
    Asked {
        /// The coupon.
        coupon: String,
        /// The photograph.
        photo: String,
        /// What is wrong.
        message: String,
    },
}
