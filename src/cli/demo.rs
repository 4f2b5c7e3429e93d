//! `toeline demo`.

use super::args::{BatchArgs, ClassArgs, DemoArgs};
use super::{CliError, Exit, batch, class, output};
use crate::cohort;

pub(super) fn run(args: &DemoArgs) -> Result<Exit, CliError> {
    let demo = cohort::demo(&args.out)?;
    // From here on nothing is done that a user could not do with the same commands.
    let measured = batch::run(BatchArgs {
        sheet: Some(demo.sheet.clone()),
        new: None,
        photos: Some(demo.photos.clone()),
        archive: Some(demo.archive.clone()),
        limits: Vec::new(),
        jobs: None,
        quiet: args.quiet,
    })?;
    class::run(&ClassArgs {
        archive: demo.archive.clone(),
        out: demo.page.clone(),
        welder: None,
        anonymous: false,
        pdf: args.pdf,
        quiet: true,
    })?;
    if !args.quiet {
        output::say(&format!(
            "The photographs are painted, not taken, and the workshop is invented.\n\
             Open {} for the class; it leads to the report on every coupon.\n\
             The same by hand:\n  \
             toeline batch {} --photos {} --archive {}\n  \
             toeline class --archive {} --out {}\n",
            demo.page.display(),
            demo.sheet.display(),
            demo.photos.display(),
            demo.archive.display(),
            demo.archive.display(),
            demo.page.display(),
        ))?;
    }
    // A photograph that is refused is part of what there is to see.
    Ok(match measured {
        Exit::Refused => Exit::Measured,
        other => other,
    })
}
