//! What goes wrong with an archive, in words that say what to do.

use std::path::PathBuf;
use thiserror::Error;

/// Why an archive cannot be used.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ArchiveError {
    /// There is no archive in that folder.
    #[error(
        "there is no archive in {}; 'toeline batch' makes one, or check the path", .0.display()
    )]
    None(PathBuf),
    /// The folder holds something else.
    #[error(
        "{} is no archive and not empty; give an empty or a new folder for a new archive",
        .0.display()
    )]
    Foreign(PathBuf),
    /// Files of an archive without its catalogue.
    #[error(
        "{} holds the files of an archive, but its catalogue.sqlite is missing; put it back from \
         a backup", .0.display()
    )]
    CatalogueMissing(PathBuf),
    /// Another process has it.
    #[error(
        "the archive {} is in use by another run of Toeline; wait until that has ended and try \
         again", .0.display()
    )]
    InUse(PathBuf),
    /// Written by a later version.
    #[error(
        "the archive's catalogue has version {found}, and this version of Toeline knows it up to \
         {known}; use the newer version of Toeline that wrote it"
    )]
    Newer {
        /// The version found.
        found: i64,
        /// The last version known.
        known: i64,
    },
    /// The catalogue's file is some other database.
    #[error("{} is a database, but not the catalogue of an archive", .0.display())]
    NoCatalogue(PathBuf),
    /// Something was changed since it was written.
    #[error(
        "the archive is not as it was written, so nothing is added to it: {0}; run 'toeline \
         archive verify', and put a backup in its place"
    )]
    Changed(String),
    /// A file or folder cannot be read or written.
    #[error(
        "{} cannot be {doing}; check that it is there, that you may do so and that the disk is \
         not full", path.display()
    )]
    Io {
        /// `read` or `written`.
        doing: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The catalogue cannot be read or written.
    #[error("the archive's catalogue cannot be used")]
    Catalogue(#[from] rusqlite::Error),
    /// An entry cannot be written as JSON or read back.
    #[error("an entry of the archive's catalogue cannot be understood")]
    Entry(#[from] serde_json::Error),
    /// Nothing of that name is in it.
    #[error(
        "there is no coupon '{0}' in the archive; 'toeline archive list' shows those there are"
    )]
    NoCoupon(String),
    /// Where the export should go there is something.
    #[error(
        "{} is there already and is not replaced; name a new folder or a new .zip file for the \
         export", .0.display()
    )]
    ExportThere(PathBuf),
    /// The zip file cannot be written.
    #[error("the zip file {} cannot be written", path.display())]
    Zip {
        /// The file.
        path: PathBuf,
        /// What went wrong.
        source: zip::result::ZipError,
    },
}

impl ArchiveError {
    /// What makes a system error one of reading `path`.
    pub(super) fn reading(path: &std::path::Path) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.to_owned();
        move |source| Self::Io {
            doing: "read",
            path,
            source,
        }
    }

    /// What makes a system error one of writing `path`.
    pub(super) fn writing(path: &std::path::Path) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.to_owned();
        move |source| Self::Io {
            doing: "written",
            path,
            source,
        }
    }
}
