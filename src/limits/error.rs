//! Why there is no profile, in words that say what to write instead.

use super::published;
use crate::record::Kind;
use std::path::PathBuf;
use thiserror::Error;

/// Why there is no profile.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum LimitsError {
    /// No built-in profile has that name.
    #[error(
        "there is no profile of limits called `{name}`; built in are {}. \
         For limits of your own give the path of a TOML file (docs/limits.md shows one)",
        published::names().join(", ")
    )]
    Unknown {
        /// The name asked for.
        name: String,
    },
    /// The profile is for the other kind of photograph.
    #[error(
        "the limits `{name}` are for {}; for {} there are {}. In a file of your own say \
         `kind = \"{}\"` above the first [[limit]]",
        words(*kind).0, words(*wanted).0, super::Profile::names_for(*wanted).join(", "), words(*wanted).1
    )]
    WrongKind {
        /// The profile.
        name: String,
        /// What it is for.
        kind: Kind,
        /// What was photographed.
        wanted: Kind,
    },
    /// The file could not be read.
    #[error("the limits file {} could not be read", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The file is no profile.
    #[error("{file}, line {line}: {message}")]
    Invalid {
        /// File or profile name.
        file: String,
        /// Line, from 1.
        line: usize,
        /// What is wrong there and what to write instead.
        message: String,
    },
}

fn words(kind: Kind) -> (&'static str, &'static str) {
    match kind {
        Kind::Section => ("etched sections", "section"),
        Kind::Fracture => ("broken welds", "fracture"),
    }
}
