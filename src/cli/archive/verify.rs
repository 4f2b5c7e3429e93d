//! `toeline archive verify`.

use super::super::args::VerifyArgs;
use super::super::{CliError, Exit, output};
use crate::archive::{self, Verified};

pub(super) fn run(args: &VerifyArgs) -> Result<Exit, CliError> {
    let verified = archive::verify(&args.archive, args.head.as_deref())?;
    for leftover in &verified.leftovers {
        output::mutter(&format!(
            "left by an interrupted run: {leftover}; the next batch clears it\n"
        ));
    }
    for fault in &verified.faults {
        output::mutter(&format!("not as it was written: {}\n", fault.what));
    }
    output::say(&in_short(&verified))?;
    Ok(match verified.faults.is_empty() {
        true => Exit::Measured,
        false => Exit::Failed,
    })
}

fn in_short(verified: &Verified) -> String {
    let result = match verified.faults.len() {
        0 => "all is as it was written".to_owned(),
        1 => "1 fault, see above; put what is damaged back from a backup".to_owned(),
        n => format!("{n} faults, see above; put what is damaged back from a backup"),
    };
    format!(
        "{result}\n{} files of {:.1} MB are as they were written; {}",
        verified.files,
        verified.bytes as f64 / 1e6,
        super::head_line(&verified.head)
    )
}
