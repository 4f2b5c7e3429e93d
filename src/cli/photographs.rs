//! What both commands do: photograph after photograph through the pipeline,
//! results to the output folder. One that fails does not stop the others.

use super::error::CliError;
use super::output;
use super::settings::{Job, Settings};
use super::{Exit, summary};
use crate::pipeline::{Outcome, Request};
use crate::record::{Record, Status};
use crate::report;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::fs;
use std::io::IsTerminal;
use std::path::Path;
use std::time::Duration;

/// Larger files are no photographs; reading one would only fill the memory.
const MOST_MIB: u64 = 1024;

/// A measuring function of the pipeline.
pub(super) type Measure = fn(&[u8], &str, &Request) -> Outcome;

/// Measures every photograph of the run.
pub(super) fn run(settings: &Settings, measure: Measure) -> Result<Exit, CliError> {
    fs::create_dir_all(settings.out()).map_err(|source| CliError::Write {
        path: settings.out().to_owned(),
        source,
    })?;
    let progress = progress(settings);
    let mut worst = Exit::Measured;
    for job in settings.jobs() {
        progress.set_message(job.photo.display().to_string());
        let done = one(job, settings.request(), measure, settings.pdf());
        progress.inc(1);
        let exit = match done {
            Ok(record) => progress.suspend(|| tell(job, settings, &record))?,
            Err(error) => {
                progress.suspend(|| output::mutter(&error.explain()));
                Exit::Failed
            }
        };
        worst = worst.max(exit);
    }
    progress.finish_and_clear();
    Ok(worst)
}

fn one(job: &Job, request: &Request, measure: Measure, pdf: bool) -> Result<Record, CliError> {
    let (bytes, name) = read(&job.photo)?;
    let Outcome {
        record,
        annotated,
        straightened,
    } = measure(&bytes, &name, request);

    let json = |source| CliError::Json {
        path: job.names.record.clone(),
        source,
    };
    let mut text = serde_json::to_vec_pretty(&record).map_err(json)?;
    text.push(b'\n');
    // A number that JSON cannot hold would come back as nothing.
    serde_json::from_slice::<Record>(&text).map_err(json)?;
    output::write(&job.names.record, &text)?;
    match &annotated {
        Some(jpeg) => output::write(&job.names.annotated, jpeg)?,
        // An old picture beside a new record would be taken for its own.
        None => output::remove(&job.names.annotated)?,
    }
    let page = report::html_with_face(
        &record,
        annotated.as_deref().unwrap_or_default(),
        straightened.as_deref().unwrap_or_default(),
    );
    output::write(&job.names.report, page.as_bytes())?;
    match pdf {
        true => output::write_pdf(&job.names.pdf, &page)?,
        false => output::remove(&job.names.pdf)?,
    }
    Ok(record)
}

/// The bytes of a photograph's file, and its name without the folder.
pub(super) fn read(path: &Path) -> Result<(Vec<u8>, String), CliError> {
    let failed = |source| CliError::Read {
        path: path.to_owned(),
        source,
    };
    let mib = fs::metadata(path).map_err(failed)?.len() >> 20;
    if mib > MOST_MIB {
        return Err(CliError::FileTooLarge {
            path: path.to_owned(),
            mib,
            limit: MOST_MIB,
        });
    }
    let name = path
        .file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default();
    Ok((fs::read(path).map_err(failed)?, name))
}

/// Results to standard output, refusals and timings to standard error.
fn tell(job: &Job, settings: &Settings, record: &Record) -> Result<Exit, CliError> {
    let photo = job.photo.display().to_string();
    if record.status == Status::Refused {
        output::mutter(&summary::refusal(&photo, record));
    }
    if settings.timings() {
        output::mutter(&summary::timings(&photo, record));
    }
    if !settings.quiet() {
        output::say(&summary::results(&photo, record, &job.names))?;
    }
    Ok(match record.status {
        Status::Refused => Exit::Refused,
        Status::Measured | Status::PartlyMeasured | Status::Declared => Exit::Measured,
    })
}

fn progress(settings: &Settings) -> ProgressBar {
    if settings.quiet() || !std::io::stderr().is_terminal() {
        return ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
    }
    let bar = ProgressBar::new(settings.jobs().len() as u64);
    if let Ok(style) = ProgressStyle::with_template("{spinner} {pos}/{len} {msg}") {
        bar.set_style(style);
    }
    bar.enable_steady_tick(Duration::from_millis(120));
    bar
}
