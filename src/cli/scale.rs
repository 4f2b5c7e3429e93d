//! `toeline scale`.

use super::args::ScaleArgs;
use super::settings::{self, Job};
use super::{CliError, Exit, output, photographs};
use crate::pipeline::{self, ScaleReading, ScaleRequest};
use crate::report;

pub(super) fn run(args: ScaleArgs) -> Result<Exit, CliError> {
    let request = settings::asked(args.scale, &args.reference);
    let jobs = settings::jobs(args.photos, &args.out)?;
    std::fs::create_dir_all(&args.out).map_err(|source| CliError::Write {
        path: args.out.clone(),
        source,
    })?;
    let mut worst = Exit::Measured;
    for job in &jobs {
        let exit = match one(job, &request) {
            Ok(reading) => tell(job, &reading, args.quiet)?,
            Err(error) => {
                output::mutter(&error.explain());
                Exit::Failed
            }
        };
        worst = worst.max(exit);
    }
    Ok(worst)
}

fn one(job: &Job, request: &ScaleRequest) -> Result<ScaleReading, CliError> {
    let (bytes, name) = photographs::read(&job.photo)?;
    let reading = pipeline::read_scale(&bytes, &name, request);
    match &reading.picture {
        Some(jpeg) => output::write(&job.names.scale, jpeg)?,
        // An old picture must not be taken for this reading's.
        None => output::remove(&job.names.scale)?,
    }
    Ok(reading)
}

/// The figures to standard output, a refusal to standard error.
fn tell(job: &Job, reading: &ScaleReading, quiet: bool) -> Result<Exit, CliError> {
    let photo = job.photo.display();
    let mut lines = Vec::new();
    let exit = match &reading.scale {
        Ok(scale) => {
            lines.push(format!("{photo}:"));
            lines.extend(
                report::scale_paragraphs(scale)
                    .iter()
                    .map(|p| format!("  {p}")),
            );
            Exit::Measured
        }
        Err(reasons) => {
            for reason in reasons {
                output::mutter(&format!(
                    "{photo}: no scale: {}\n  what to do: {}\n",
                    reason.message, reason.remedy
                ));
            }
            lines.push(format!("{photo}: no scale was read"));
            Exit::Refused
        }
    };
    if reading.picture.is_some() {
        lines.push(format!("  written: {}", job.names.scale.display()));
    }
    if !quiet {
        output::say(&(lines.join("\n") + "\n"))?;
    }
    Ok(exit)
}
