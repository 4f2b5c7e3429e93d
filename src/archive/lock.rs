//! One writer at a time, and no reader beside it.

use super::error::ArchiveError;
use std::fs::{File, OpenOptions, TryLockError};
use std::path::Path;

/// Name of the empty file that is locked.
pub const NAME: &str = "lock";

/// Held as long as the archive is open; the system releases it when the process
/// ends, however it ends.
#[derive(Debug)]
pub struct Lock {
    _file: Option<File>,
}

impl Lock {
    /// For writing: nobody else may have it.
    pub fn alone(folder: &Path) -> Result<Self, ArchiveError> {
        let path = folder.join(NAME);
        let file = OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(&path)
            .map_err(ArchiveError::writing(&path))?;
        locked(file.try_lock(), folder, &path)?;
        Ok(Self { _file: Some(file) })
    }

    /// For reading: beside other readers. On a medium that cannot be written a
    /// missing lock file is no obstacle, nobody writes there.
    pub fn shared(folder: &Path) -> Result<Self, ArchiveError> {
        let path = folder.join(NAME);
        let opened = File::open(&path).or_else(|_| {
            OpenOptions::new()
                .create(true)
                .truncate(false)
                .write(true)
                .open(&path)
        });
        let Ok(file) = opened else {
            return Ok(Self { _file: None });
        };
        locked(file.try_lock_shared(), folder, &path)?;
        Ok(Self { _file: Some(file) })
    }
}

fn locked(
    answer: Result<(), TryLockError>,
    folder: &Path,
    path: &Path,
) -> Result<(), ArchiveError> {
    match answer {
        Ok(()) => Ok(()),
        Err(TryLockError::WouldBlock) => Err(ArchiveError::InUse(folder.to_owned())),
        // Some network shares know no locks; there the database's own must do.
        Err(TryLockError::Error(error)) if error.kind() == std::io::ErrorKind::Unsupported => {
            Ok(())
        }
        Err(TryLockError::Error(error)) => Err(ArchiveError::writing(path)(error)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readers_share_and_a_writer_is_alone() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path();
        let in_use =
            |answer: Result<Lock, ArchiveError>| matches!(answer, Err(ArchiveError::InUse(_)));
        let first = Lock::shared(path).unwrap();
        let second = Lock::shared(path).unwrap();
        assert!(in_use(Lock::alone(path)));
        drop((first, second));
        let writer = Lock::alone(path).unwrap();
        assert!(in_use(Lock::alone(path)));
        assert!(in_use(Lock::shared(path)));
        drop(writer);
        Lock::alone(path).unwrap();
    }
}
