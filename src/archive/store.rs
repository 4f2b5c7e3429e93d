//! The files: named after the hash of their bytes, written whole or not at all.
//!
//! A file is written under a temporary name in its folder, flushed to the disk,
//! moved to its name, and the folder flushed too. Only then does an entry of the
//! catalogue name it. So whatever an entry names is on the disk, and an
//! interrupted run leaves at most files that no entry names.

use super::chain::sha256;
use super::error::ArchiveError;
use serde::{Deserialize, Serialize};
use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};

/// Ending of the temporary names.
pub const PART: &str = ".part";

/// What a file is to a revision.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// The photograph as it came from the camera.
    Original,
    /// The record.
    Record,
    /// The annotated picture.
    Picture,
    /// The report.
    Report,
}

impl Role {
    /// All there are.
    pub const ALL: [Self; 4] = [Self::Original, Self::Record, Self::Picture, Self::Report];

    /// The folder of its files.
    pub fn folder(self) -> &'static str {
        match self {
            Self::Original => "originals",
            Self::Record => "records",
            Self::Picture => "pictures",
            Self::Report => "reports",
        }
    }
}

/// A file of the store, as an entry names it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StoredFile {
    /// What it is to the revision.
    pub role: Role,
    /// SHA-256 of its bytes, hexadecimal; its name before the dot.
    pub sha256: String,
    /// What follows the dot.
    pub ending: String,
    /// Its length.
    pub bytes: u64,
}

impl StoredFile {
    /// Of these bytes; `ending` as the camera's file has it.
    pub fn of(role: Role, bytes: &[u8], ending: &str) -> Self {
        Self {
            role,
            sha256: sha256(bytes),
            ending: safe_ending(ending),
            bytes: bytes.len() as u64,
        }
    }

    /// Its place below the archive's folder, `/` between the parts.
    pub fn place(&self) -> String {
        format!("{}/{}.{}", self.role.folder(), self.sha256, self.ending)
    }
}

/// Letters and digits only, as no more is needed and it becomes a file name.
fn safe_ending(text: &str) -> String {
    let known =
        !text.is_empty() && text.len() <= 5 && text.chars().all(|c| c.is_ascii_alphanumeric());
    match known {
        true => text.to_ascii_lowercase(),
        false => "bin".to_owned(),
    }
}

/// The files of one archive.
#[derive(Clone, Debug)]
pub struct Store {
    folder: PathBuf,
}

/// How a stored file differs from what was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Damage {
    /// It is not there.
    Missing,
    /// It has other bytes.
    Changed,
}

impl Store {
    /// Of the archive in that folder.
    pub fn of(folder: &Path) -> Self {
        Self {
            folder: folder.to_owned(),
        }
    }

    /// Makes the folders.
    pub fn make(&self) -> Result<(), ArchiveError> {
        for role in Role::ALL {
            let path = self.folder.join(role.folder());
            fs::create_dir_all(&path).map_err(ArchiveError::writing(&path))?;
        }
        flush_folder(&self.folder)
    }

    /// Where a file lies.
    pub fn path(&self, file: &StoredFile) -> PathBuf {
        self.folder.join(file.place())
    }

    /// Puts bytes into the store; bytes that are there already are kept.
    pub fn put(&self, role: Role, bytes: &[u8], ending: &str) -> Result<StoredFile, ArchiveError> {
        let file = StoredFile::of(role, bytes, ending);
        let path = self.path(&file);
        // The same photograph again, or what an interrupted run left.
        if fs::read(&path).is_ok_and(|there| there == bytes) {
            flush_folder(path.parent().unwrap_or(&self.folder))?;
            return Ok(file);
        }
        write_whole(&path, bytes)?;
        Ok(file)
    }

    /// The bytes of a file, checked against its hash.
    pub fn read(&self, file: &StoredFile) -> Result<Vec<u8>, ArchiveError> {
        let path = self.path(file);
        let bytes = fs::read(&path).map_err(ArchiveError::reading(&path))?;
        match sha256(&bytes) == file.sha256 {
            true => Ok(bytes),
            false => Err(ArchiveError::Changed(format!(
                "{} was changed after it was written",
                file.place()
            ))),
        }
    }

    /// Whether a file is as it was written.
    pub fn check(&self, file: &StoredFile) -> Result<Option<Damage>, ArchiveError> {
        let path = self.path(file);
        match fs::read(&path) {
            Ok(bytes) if bytes.len() as u64 == file.bytes && sha256(&bytes) == file.sha256 => {
                Ok(None)
            }
            Ok(_) => Ok(Some(Damage::Changed)),
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(Some(Damage::Missing)),
            Err(error) => Err(ArchiveError::reading(&path)(error)),
        }
    }

    /// Everything that lies in the folders, as places below the archive's folder.
    pub fn places(&self) -> Result<Vec<String>, ArchiveError> {
        let mut places = Vec::new();
        for role in Role::ALL {
            let folder = self.folder.join(role.folder());
            places.extend(
                names(&folder)?
                    .into_iter()
                    .map(|name| format!("{}/{name}", role.folder())),
            );
        }
        Ok(places)
    }
}

/// Names of what lies in a folder, sorted; none when there is no such folder.
pub fn names(folder: &Path) -> Result<Vec<String>, ArchiveError> {
    let entries = match fs::read_dir(folder) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
        answer => answer.map_err(ArchiveError::reading(folder))?,
    };
    let mut names = Vec::new();
    for entry in entries {
        let entry = entry.map_err(ArchiveError::reading(folder))?;
        names.push(entry.file_name().to_string_lossy().into_owned());
    }
    names.sort();
    Ok(names)
}

/// Writes a file whole or not at all, and on the disk when this returns.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), ArchiveError> {
    let mut name = path.file_name().unwrap_or_default().to_os_string();
    name.push(PART);
    let part = path.with_file_name(name);
    File::create(&part)
        .and_then(|mut file| file.write_all(bytes).and_then(|()| file.sync_all()))
        .and_then(|()| fs::rename(&part, path))
        .map_err(|error| {
            // Nothing more can be done about the part.
            let _ = fs::remove_file(&part);
            ArchiveError::writing(path)(error)
        })?;
    flush_folder(path.parent().unwrap_or(Path::new(".")))
}

/// Brings a folder's own list of names to the disk, where systems know that.
pub fn flush_folder(folder: &Path) -> Result<(), ArchiveError> {
    if cfg!(unix) {
        File::open(folder)
            .and_then(|folder| folder.sync_all())
            .map_err(ArchiveError::writing(folder))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_put_is_read_and_every_change_is_noticed() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::of(folder.path());
        store.make().unwrap();
        let file = store.put(Role::Original, b"picture", "JPG").unwrap();
        assert_eq!(
            file.place(),
            format!("originals/{}.jpg", sha256(b"picture"))
        );
        assert_eq!(store.read(&file).unwrap(), b"picture");
        assert_eq!(store.check(&file).unwrap(), None);
        assert_eq!(store.put(Role::Original, b"picture", "jpg").unwrap(), file);
        assert_eq!(store.places().unwrap(), [file.place()]);

        fs::write(store.path(&file), b"pictuRe").unwrap();
        assert_eq!(store.check(&file).unwrap(), Some(Damage::Changed));
        assert!(store.read(&file).is_err());
        // Put again, the damaged file is made good.
        store.put(Role::Original, b"picture", "jpg").unwrap();
        assert_eq!(store.check(&file).unwrap(), None);
        fs::remove_file(store.path(&file)).unwrap();
        assert_eq!(store.check(&file).unwrap(), Some(Damage::Missing));
    }

    #[test]
    fn an_ending_is_no_way_out_of_the_folder() {
        for odd in ["", "../x", "a/b", "jpeg2000", "j pg", "ä"] {
            assert_eq!(StoredFile::of(Role::Original, b"", odd).ending, "bin");
        }
    }
}
