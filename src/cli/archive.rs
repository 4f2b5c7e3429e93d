//! `toeline archive`: one file a subcommand.

mod export;
mod list;
mod remeasure;
mod show;
mod verify;

use super::args::{ArchiveArgs, ArchiveCommand};
use super::{CliError, Exit, output};
use crate::archive::{Archive, Head};
use std::path::Path;

pub(super) fn run(args: ArchiveArgs) -> Result<Exit, CliError> {
    match args.command {
        ArchiveCommand::List(args) => list::run(&args),
        ArchiveCommand::Show(args) => show::run(&args),
        ArchiveCommand::Verify(args) => verify::run(&args),
        ArchiveCommand::Export(args) => export::run(&args),
        ArchiveCommand::Remeasure(args) => remeasure::run(&args),
    }
}

/// Opens for reading and says what speaks against the archive.
pub(super) fn open(folder: &Path) -> Result<(Archive, Exit), CliError> {
    let archive = Archive::open(folder)?;
    for warning in archive.warnings() {
        output::mutter(&format!(
            "warning: {warning}; run 'toeline archive verify'\n"
        ));
    }
    let exit = match archive.warnings().is_empty() {
        true => Exit::Measured,
        false => Exit::Failed,
    };
    Ok((archive, exit))
}

/// The end of the chain in words.
pub(super) fn head_line(head: &Head) -> String {
    format!("{} entries, the last hash is {}\n", head.seq, head.hash)
}

/// How many there are, in words that fit.
pub(super) fn coupons(n: usize) -> String {
    match n {
        1 => "1 coupon".to_owned(),
        n => format!("{n} coupons"),
    }
}
