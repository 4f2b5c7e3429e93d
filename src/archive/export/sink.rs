//! Where an export goes: a folder or a zip file.

use super::super::store::write_whole;
use super::super::{ArchiveError, store};
use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

/// Takes files.
pub trait Sink {
    /// A file; `place` has `/` between its parts.
    fn put(&mut self, place: &str, bytes: &[u8]) -> Result<(), ArchiveError>;
}

/// A new or empty folder.
pub struct Folder {
    folder: PathBuf,
}

impl Folder {
    /// Makes it.
    pub fn create(folder: &Path) -> Result<Self, ArchiveError> {
        if folder.is_file() || !store::names(folder)?.is_empty() {
            return Err(ArchiveError::ExportThere(folder.to_owned()));
        }
        fs::create_dir_all(folder).map_err(ArchiveError::writing(folder))?;
        Ok(Self {
            folder: folder.to_owned(),
        })
    }
}

impl Sink for Folder {
    fn put(&mut self, place: &str, bytes: &[u8]) -> Result<(), ArchiveError> {
        let path = self.folder.join(place);
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(ArchiveError::writing(folder))?;
        }
        write_whole(&path, bytes)
    }
}

/// A new zip file, there only when it is whole. Nothing is compressed: photographs
/// would not get smaller, and any program can read it.
pub struct Zip {
    path: PathBuf,
    part: PathBuf,
    writer: ZipWriter<BufWriter<File>>,
}

impl Zip {
    /// Begins it.
    pub fn create(path: &Path) -> Result<Self, ArchiveError> {
        if path.exists() {
            return Err(ArchiveError::ExportThere(path.to_owned()));
        }
        if let Some(folder) = path.parent().filter(|f| !f.as_os_str().is_empty()) {
            fs::create_dir_all(folder).map_err(ArchiveError::writing(folder))?;
        }
        let mut name = path.file_name().unwrap_or_default().to_os_string();
        name.push(store::PART);
        let part = path.with_file_name(name);
        let file = File::create(&part).map_err(ArchiveError::writing(&part))?;
        Ok(Self {
            path: path.to_owned(),
            part,
            writer: ZipWriter::new(BufWriter::new(file)),
        })
    }

    /// Ends it.
    pub fn finish(self) -> Result<(), ArchiveError> {
        let Self { path, part, writer } = self;
        let file = writer.finish().map_err(|source| ArchiveError::Zip {
            path: path.clone(),
            source,
        })?;
        file.into_inner()
            .map_err(std::io::IntoInnerError::into_error)
            .and_then(|file| file.sync_all())
            .and_then(|()| fs::rename(&part, &path))
            .map_err(ArchiveError::writing(&path))
    }
}

impl Sink for Zip {
    fn put(&mut self, place: &str, bytes: &[u8]) -> Result<(), ArchiveError> {
        let options = SimpleFileOptions::default()
            .compression_method(zip::CompressionMethod::Stored)
            .large_file(bytes.len() as u64 >= u64::from(u32::MAX));
        self.writer
            .start_file(place, options)
            .map_err(|source| ArchiveError::Zip {
                path: self.path.clone(),
                source,
            })?;
        self.writer
            .write_all(bytes)
            .map_err(ArchiveError::writing(&self.part))
    }
}
