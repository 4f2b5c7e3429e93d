//! What goes wrong on the command line, by who must act.

use crate::archive::ArchiveError;
use crate::cardprint::CardError;
use crate::cohort::CohortError;
use crate::pipeline::LimitsError;
use crate::report::ReportError;
use std::error::Error as _;
use std::path::PathBuf;
use thiserror::Error;

/// Why a command did not run.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum CliError {
    /// The arguments are not understood; the message says what to type.
    #[error("{}", .0.render().to_string().trim_end())]
    Arguments(Box<clap::Error>),
    /// The limits asked for are not there or no limits.
    #[error("these limits cannot be used")]
    Limits(#[from] LimitsError),
    /// The scale card asked for cannot be made.
    #[error("no card was made")]
    Card(#[from] CardError),
    /// The archive cannot be used.
    #[error(transparent)]
    Archive(#[from] ArchiveError),
    /// The batch did not come to its end.
    #[error(transparent)]
    Cohort(#[from] CohortError),
    /// A sheet to fill in would replace a file.
    #[error("{} is there already and is not replaced; name a new file for the empty sheet", .0.display())]
    SheetThere(PathBuf),
    /// Two photographs would leave files of the same name.
    #[error(
        "{} and {} would both leave {name} in the output folder; measure them in two runs with \
         different --out folders", first.display(), second.display()
    )]
    SameName {
        /// One photograph.
        first: PathBuf,
        /// The other.
        second: PathBuf,
        /// The file both would write.
        name: String,
    },
    /// An output would replace a photograph.
    #[error(
        "{} is a photograph of this run and would be replaced by a result of the same name; \
         choose another --out folder", .0.display()
    )]
    WouldReplacePhotograph(PathBuf),
    /// The photograph's file cannot be read.
    #[error("{} cannot be read; check the path and whether you may read it", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The file is larger than any photograph.
    #[error(
        "{} is {mib} MiB large; photographs of more than {limit} MiB are not read. Export it as \
         JPEG", path.display()
    )]
    FileTooLarge {
        /// The file.
        path: PathBuf,
        /// Its size.
        mib: u64,
        /// Largest size.
        limit: u64,
    },
    /// A result cannot be written.
    #[error(
        "{} cannot be written; check that the folder exists, that you may write there and that \
         the disk is not full", path.display()
    )]
    Write {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A result read back is not what was written.
    #[error("{} was written but reads back differently; check the disk", .0.display())]
    ReadBack(PathBuf),
    /// A record does not survive being written.
    #[error("the record for {} cannot be written as JSON; please report this", path.display())]
    Json {
        /// The record's file.
        path: PathBuf,
        /// What is wrong.
        source: serde_json::Error,
    },
    /// A record's file cannot be read.
    #[error("the record {} cannot be read; check the path", path.display())]
    ReadRecord {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A file is no record.
    #[error(
        "{} is no record of this program; give the NAME.record.json that toeline section or \
         toeline fracture wrote", path.display()
    )]
    NoRecord {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        source: serde_json::Error,
    },
    /// Records that cannot be compared.
    #[error("nothing was compared: {0}")]
    NothingToCompare(String),
    /// What is allowed of the values of a study fits no column.
    #[error("nothing was studied: {0}")]
    NoStudy(String),
    /// A page could not be set as PDF.
    #[error(
        "{} was not made; the page (HTML) holds the same and prints from a browser", path.display()
    )]
    Pdf {
        /// The PDF file.
        path: PathBuf,
        /// What is wrong.
        source: ReportError,
    },
    /// Standard output cannot be written.
    #[error("the summary cannot be written to standard output")]
    Output(#[source] std::io::Error),
}

impl CliError {
    /// The error and its causes for a person, one a line.
    pub fn explain(&self) -> String {
        // The argument parser words its own errors, "error:" included.
        let mut text = match self {
            Self::Arguments(_) => format!("{self}\n"),
            _ => format!("error: {self}\n"),
        };
        let mut cause = self.source();
        while let Some(error) = cause {
            text.push_str(&format!("  because: {error}\n"));
            cause = error.source();
        }
        text
    }

    /// 2 when the user typed something that cannot be done, else 1.
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::Arguments(_)
            | Self::Limits(_)
            | Self::Card(CardError::Name(_))
            | Self::SheetThere(_)
            | Self::Cohort(CohortError::Sheet { .. } | CohortError::NotEmpty(_))
            | Self::NoRecord { .. }
            | Self::NothingToCompare(_)
            | Self::NoStudy(_)
            | Self::SameName { .. }
            | Self::WouldReplacePhotograph(_) => 2,
            _ => 1,
        }
    }
}
