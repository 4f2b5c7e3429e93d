//! Floor 5: the command line.
//!
//! Arguments as typed ([`args`]) → settings as meant ([`settings`]) → one file
//! per command. Results go to standard output, everything else to standard
//! error; the exit code says how it went.

mod archive;
mod args;
mod batch;
mod card;
mod class;
mod demo;
mod error;
mod fracture;
mod help;
mod limits;
mod output;
mod photographs;
mod progress;
mod repeat;
mod scale;
mod section;
mod settings;
mod study;
mod summary;

pub use error::CliError;

use args::{Arguments, Command};
use clap::Parser;
use std::ffi::OsString;
use std::process::ExitCode;

/// How a run ended, worst last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exit {
    /// All that was asked was done, whatever the verdict: 0.
    Measured,
    /// At least one photograph was refused; its record says why: 3.
    Refused,
    /// At least one photograph could not be read or its files not written, a line
    /// of a sheet not used, or an archive is not as it was written: 1.
    Failed,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(match exit {
            Exit::Measured => 0,
            Exit::Refused => 3,
            Exit::Failed => 1,
        })
    }
}

/// Runs the command line given as `arguments`, the program's name first.
///
/// # Errors
/// What the user has to change ([`CliError::exit_code`] 2) or what the system
/// did not allow (1).
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> Result<Exit, CliError> {
    match Arguments::try_parse_from(arguments) {
        Ok(Arguments {
            command: Command::Section(args),
        }) => section::run(args),
        Ok(Arguments {
            command: Command::Fracture(args),
        }) => fracture::run(args),
        Ok(Arguments {
            command: Command::Scale(args),
        }) => scale::run(args),
        Ok(Arguments {
            command: Command::Card(args),
        }) => card::run(args),
        Ok(Arguments {
            command: Command::Limits(args),
        }) => limits::run(args),
        Ok(Arguments {
            command: Command::Batch(args),
        }) => batch::run(args),
        Ok(Arguments {
            command: Command::Archive(args),
        }) => archive::run(args),
        Ok(Arguments {
            command: Command::Class(args),
        }) => class::run(&args),
        Ok(Arguments {
            command: Command::Demo(args),
        }) => demo::run(&args),
        Ok(Arguments {
            command: Command::Repeat(args),
        }) => repeat::run(args),
        Ok(Arguments {
            command: Command::Study(args),
        }) => study::run(&args),
        // Help and version are answers, not mistakes.
        Err(answer) if !answer.use_stderr() => {
            output::say(&answer.render().to_string())?;
            Ok(Exit::Measured)
        }
        Err(mistake) => Err(CliError::Arguments(Box::new(mistake))),
    }
}
