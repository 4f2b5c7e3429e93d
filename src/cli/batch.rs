//! `toeline batch`.

use super::args::BatchArgs;
use super::progress::Progress;
use super::summary::{outcome, refusal, status};
use super::{CliError, Exit, output};
use crate::archive::Filed;
use crate::cohort::{self, Batch, Event, Summary};
use crate::pipeline::Profile;
use crate::record::{Record, Status};
use std::path::Path;

pub(super) fn run(args: BatchArgs) -> Result<Exit, CliError> {
    if let Some(path) = &args.new {
        return new_sheet(path);
    }
    // Named by the argument parser when one of them is missing.
    let (Some(sheet), Some(photos), Some(archive)) = (args.sheet, args.photos, args.archive) else {
        return Ok(Exit::Failed);
    };
    for limits in &args.limits {
        Profile::load(limits)?;
    }
    let order = Batch {
        sheet: &sheet,
        photos: &photos,
        archive: &archive,
        limits: &args.limits,
        at_once: at_once(args.jobs),
    };
    let progress = Progress::new(args.quiet);
    let summary = cohort::batch(&order, &|event| tell(event, &progress, args.quiet))?;
    progress.end();
    if !args.quiet {
        output::say(&in_short(&summary, &archive))?;
    }
    Ok(exit(&summary))
}

/// As many at once as asked for, or as there are processors.
pub(super) fn at_once(jobs: Option<u16>) -> usize {
    jobs.map_or_else(
        || std::thread::available_parallelism().map_or(1, usize::from),
        usize::from,
    )
}

fn new_sheet(path: &Path) -> Result<Exit, CliError> {
    if path.exists() {
        return Err(CliError::SheetThere(path.to_owned()));
    }
    output::write(path, cohort::example().as_bytes())?;
    let mut lines = vec![format!(
        "{}: a sheet to fill in; its one line shows how and is to be replaced. Columns:",
        path.display()
    )];
    for entry in cohort::COLUMNS {
        lines.push(format!("  {:<13} {}", entry.title, entry.what));
    }
    lines.push("All but coupon may be left empty or out.".to_owned());
    output::say(&(lines.join("\n") + "\n"))?;
    Ok(Exit::Measured)
}

fn tell(event: Event<'_>, progress: &Progress, quiet: bool) {
    match event {
        Event::Planned { to_do, .. } => progress.expect(to_do),
        Event::Begun(name) => progress.begin(name),
        Event::Skipped(_) => progress.step(),
        Event::Filed(filed, record) => {
            progress.step();
            if record.status == Status::Refused {
                progress.mutter(&refused(filed, record));
            }
            if !quiet {
                progress.say(&line(filed, record));
            }
        }
        Event::Trouble(message) => progress.mutter(&format!("not used: {message}\n")),
        Event::Note(message) if !quiet => progress.mutter(&format!("note: {message}\n")),
        Event::Note(_) => {}
    }
}

/// One line a photograph.
fn line(filed: &Filed, record: &Record) -> String {
    let revision = &filed.revision;
    format!(
        "{} {}: {}{}, entry {}\n",
        revision.coupon,
        revision.photo,
        status(record.status),
        revision
            .outcome
            .map_or(String::new(), |found| format!(", {}", outcome(found))),
        filed.seq
    )
}

fn refused(filed: &Filed, record: &Record) -> String {
    let revision = &filed.revision;
    refusal(&format!("{} {}", revision.coupon, revision.photo), record)
}

fn in_short(summary: &Summary, archive: &Path) -> String {
    let mut parts = vec![format!("{} measured", summary.filed)];
    if summary.refused > 0 {
        parts[0].push_str(&format!(" ({} of them refused)", summary.refused));
    }
    parts.push(format!("{} unchanged", summary.unchanged));
    if summary.troubles > 0 {
        parts.push(format!("{} not used, see above", summary.troubles));
    }
    format!(
        "{}: {}\n{}",
        archive.display(),
        parts.join(", "),
        super::archive::head_line(&summary.head)
    )
}

fn exit(summary: &Summary) -> Exit {
    if summary.troubles > 0 {
        Exit::Failed
    } else if summary.refused > 0 {
        Exit::Refused
    } else {
        Exit::Measured
    }
}
