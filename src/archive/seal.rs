//! The seal: the hash of the catalogue's file, beside it, while nobody writes.
//!
//! The chain covers what the catalogue says; a database file also has bytes that
//! say nothing. The seal covers those too, and `sha256sum -c` checks it. A writer
//! breaks it before the first change and makes it anew when it closes, so a
//! missing seal tells that a run was interrupted.

use super::chain::sha256;
use super::error::ArchiveError;
use super::store::{flush_folder, write_whole};
use std::fs;
use std::path::Path;

/// The catalogue's file.
pub const CATALOGUE: &str = "catalogue.sqlite";
/// The seal's file.
pub const NAME: &str = "catalogue.sqlite.sha256";

/// What the seal says of the catalogue's file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Seal {
    /// It is as it was closed.
    Whole,
    /// There is none: a run was interrupted.
    None,
    /// It differs from what was closed.
    Broken,
}

/// Compares catalogue and seal.
pub fn check(folder: &Path) -> Result<Seal, ArchiveError> {
    let path = folder.join(NAME);
    let written = match fs::read(&path) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Seal::None),
        answer => answer.map_err(ArchiveError::reading(&path))?,
    };
    // A journal beside a sealed catalogue would change it on opening.
    let journal = folder.join(format!("{CATALOGUE}-wal"));
    let whole = written == text(folder)?.as_bytes() && !journal.exists();
    Ok(if whole { Seal::Whole } else { Seal::Broken })
}

/// The same where there may be no catalogue yet.
pub fn check_if_there(folder: &Path) -> Result<Seal, ArchiveError> {
    match folder.join(CATALOGUE).exists() {
        true => check(folder),
        false => Ok(Seal::None),
    }
}

/// Takes the seal off, before the first change.
pub fn break_open(folder: &Path) -> Result<(), ArchiveError> {
    let path = folder.join(NAME);
    match fs::remove_file(&path) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
            Err(ArchiveError::writing(&path)(error))
        }
        _ => flush_folder(folder),
    }
}

/// Seals the closed catalogue.
pub fn set(folder: &Path) -> Result<(), ArchiveError> {
    write_whole(&folder.join(NAME), text(folder)?.as_bytes())
}

fn text(folder: &Path) -> Result<String, ArchiveError> {
    let path = folder.join(CATALOGUE);
    let bytes = fs::read(&path).map_err(ArchiveError::reading(&path))?;
    Ok(format!("{}  {CATALOGUE}\n", sha256(&bytes)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_seal_is_whole_broken_or_not_there() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path();
        fs::write(path.join(CATALOGUE), "rows").unwrap();
        assert_eq!(check(path).unwrap(), Seal::None);
        set(path).unwrap();
        assert_eq!(check(path).unwrap(), Seal::Whole);
        fs::write(path.join(CATALOGUE), "rowz").unwrap();
        assert_eq!(check(path).unwrap(), Seal::Broken);
        fs::write(path.join(CATALOGUE), "rows").unwrap();
        fs::write(path.join("catalogue.sqlite-wal"), "").unwrap();
        assert_eq!(check(path).unwrap(), Seal::Broken);
        break_open(path).unwrap();
        break_open(path).unwrap();
        assert_eq!(check(path).unwrap(), Seal::None);
    }
}
