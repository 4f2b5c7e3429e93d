//! The folder of photographs: a name in the sheet to a file in it.

use super::error::CohortError;
use std::fs;
use std::path::{Component, Path, PathBuf};

/// Larger files are no photographs; reading one would only fill the memory.
const MOST_BYTES: u64 = 1 << 30;
/// Endings of photographs that can be read.
const ENDINGS: [&str; 5] = ["jpg", "jpeg", "png", "tif", "tiff"];

/// The photographs of a folder.
#[derive(Clone, Debug)]
pub struct PhotoFolder {
    folder: PathBuf,
    /// Names of the photographs directly in it, sorted.
    names: Vec<String>,
}

impl PhotoFolder {
    /// Lists a folder.
    ///
    /// # Errors
    /// It cannot be read.
    pub fn open(folder: &Path) -> Result<Self, CohortError> {
        let failed = |source| CohortError::Read {
            path: folder.to_owned(),
            source,
        };
        let mut names = Vec::new();
        for entry in fs::read_dir(folder).map_err(failed)? {
            let name = entry.map_err(failed)?.file_name();
            let name = name.to_string_lossy().into_owned();
            let ending = Path::new(&name).extension().map(|e| e.to_ascii_lowercase());
            if ending.is_some_and(|e| ENDINGS.iter().any(|known| e == *known)) {
                names.push(name);
            }
        }
        names.sort();
        Ok(Self {
            folder: folder.to_owned(),
            names,
        })
    }

    /// Names of the photographs directly in it.
    pub fn names(&self) -> &[String] {
        &self.names
    }

    /// Where a photograph of that name lies.
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }

    /// The file a name in the sheet means: that very one, the one whose name differs
    /// in capitals, or the only one with that name before the dot. A name may lead
    /// into folders below.
    ///
    /// # Errors
    /// There is none, or it is not clear which; what to do is said.
    pub fn find(&self, name: &str) -> Result<String, String> {
        let below = Path::new(name)
            .components()
            .all(|part| matches!(part, Component::Normal(_)));
        if !below {
            return Err(format!(
                "'{name}' leads out of the folder of photographs; write a name in {}",
                self.folder.display()
            ));
        }
        if self.path(name).is_file() {
            return Ok(name.to_owned());
        }
        let alike: Vec<&String> = self
            .names
            .iter()
            .filter(|known| {
                let stem = Path::new(known).file_stem().unwrap_or_default();
                known.eq_ignore_ascii_case(name) || stem.eq_ignore_ascii_case(name)
            })
            .collect();
        match alike[..] {
            [only] => Ok(only.clone()),
            [] => Err(format!(
                "there is no photograph '{name}' in {}; check the name and the folder",
                self.folder.display()
            )),
            _ => Err(format!(
                "'{name}' may be {} or {}; write the whole name",
                alike[0], alike[1]
            )),
        }
    }

    /// The bytes of a photograph's file.
    ///
    /// # Errors
    /// It cannot be read or is no photograph by its size; what to do is said.
    pub fn read(&self, name: &str) -> Result<Vec<u8>, String> {
        let path = self.path(name);
        let failed = |error: std::io::Error| {
            format!("it cannot be read ({error}); check whether you may read it")
        };
        let bytes = fs::metadata(&path).map_err(failed)?.len();
        if bytes > MOST_BYTES {
            return Err(format!(
                "it is {} MiB large; photographs of more than {} MiB are not read, export it as JPEG",
                bytes >> 20,
                MOST_BYTES >> 20
            ));
        }
        fs::read(&path).map_err(failed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_means_one_file_or_says_why_not() {
        let folder = tempfile::tempdir().unwrap();
        for name in ["HR-01.JPG", "HR-02.jpg", "HR-02.png", "notes.txt"] {
            fs::write(folder.path().join(name), "x").unwrap();
        }
        fs::create_dir(folder.path().join("monday")).unwrap();
        fs::write(folder.path().join("monday/HR-03.jpg"), "x").unwrap();
        let photos = PhotoFolder::open(folder.path()).unwrap();
        assert_eq!(photos.names(), ["HR-01.JPG", "HR-02.jpg", "HR-02.png"]);
        assert_eq!(photos.find("HR-01.jpg").unwrap(), "HR-01.JPG");
        assert_eq!(photos.find("hr-01").unwrap(), "HR-01.JPG");
        assert_eq!(photos.find("monday/HR-03.jpg").unwrap(), "monday/HR-03.jpg");
        for (name, hint) in [
            ("HR-02", "HR-02.png"),
            ("HR-04", "no photograph"),
            ("../HR-01.JPG", "leads out"),
            ("", "no photograph"),
        ] {
            let message = photos.find(name).unwrap_err();
            assert!(message.contains(hint), "{name}: {message}");
        }
        assert!(
            photos
                .read("HR-05.jpg")
                .unwrap_err()
                .contains("cannot be read")
        );
        assert!(PhotoFolder::open(&folder.path().join("none")).is_err());
    }
}
