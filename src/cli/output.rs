//! Writing results: whole or not at all, read back, and standard output that
//! may be closed early.

use super::error::CliError;
use crate::{archive, report};
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// The result files of one photograph.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Names {
    pub record: PathBuf,
    pub annotated: PathBuf,
    pub report: PathBuf,
    pub pdf: PathBuf,
    pub scale: PathBuf,
}

impl Names {
    /// `<stem>.record.json` and so on in `out`.
    pub fn of(photo: &Path, out: &Path) -> Self {
        let stem = photo
            .file_stem()
            .unwrap_or(photo.as_os_str())
            .to_os_string();
        let name = |ending: &str| {
            let mut name = stem.clone();
            name.push(ending);
            out.join(name)
        };
        Self {
            record: name(".record.json"),
            annotated: name(".annotated.jpg"),
            report: name(".report.html"),
            pdf: name(".report.pdf"),
            scale: name(".scale.jpg"),
        }
    }

    pub fn all(&self) -> [&Path; 5] {
        [
            &self.record,
            &self.annotated,
            &self.report,
            &self.pdf,
            &self.scale,
        ]
    }

    pub fn record_name(&self) -> String {
        self.record
            .file_name()
            .map(|name| name.to_string_lossy().into_owned())
            .unwrap_or_default()
    }
}

/// Writes `bytes` under a temporary name beside `path`, moves it there and
/// reads it back: a reader never meets half a file, and what the record says
/// was written is on the disk.
pub(super) fn write(path: &Path, bytes: &[u8]) -> Result<(), CliError> {
    let failed = |source| CliError::Write {
        path: path.to_owned(),
        source,
    };
    let mut name = path.file_name().unwrap_or_default().to_os_string();
    name.push(format!(".{}.part", std::process::id()));
    let part = path.with_file_name(name);
    let written = File::create(&part)
        .and_then(|mut file| file.write_all(bytes).and_then(|()| file.sync_all()))
        .and_then(|()| fs::rename(&part, path));
    if let Err(source) = written {
        // Nothing more can be done about the part.
        let _ = fs::remove_file(&part);
        return Err(failed(source));
    }
    match fs::read(path).map_err(failed)? {
        back if back == bytes => Ok(()),
        _ => Err(CliError::ReadBack(path.to_owned())),
    }
}

/// Sets `page` as a PDF file at `path`.
pub(super) fn write_pdf(path: &Path, page: &str) -> Result<(), CliError> {
    let pdf = report::pdf(page, &archive::now()).map_err(|source| CliError::Pdf {
        path: path.to_owned(),
        source,
    })?;
    write(path, &pdf)
}

/// Removes a result of an earlier run that this run has no successor for.
pub(super) fn remove(path: &Path) -> Result<(), CliError> {
    match fs::remove_file(path) {
        Err(source) if source.kind() != io::ErrorKind::NotFound => Err(CliError::Write {
            path: path.to_owned(),
            source,
        }),
        _ => Ok(()),
    }
}

/// Text to standard output. A reader that went away (`… | head`) is no error.
pub(super) fn say(text: &str) -> Result<(), CliError> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(CliError::Output(error)),
        _ => Ok(()),
    }
}

/// Text to standard error; nobody is left to hear of a failure.
pub(super) fn mutter(text: &str) {
    let _ = io::stderr().lock().write_all(text.as_bytes());
}
