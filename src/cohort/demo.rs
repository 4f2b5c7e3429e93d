//! A class of our own invention to try everything on: one evening and the next in the
//! Harbour Row workshop. The photographs are painted, not taken (`testdata/class`).

use super::CohortError;
use std::fs;
use std::path::{Path, PathBuf};

macro_rules! photos {
    ($($name:literal from $place:literal,)*) => {
        [$(($name, include_bytes!(concat!("../../testdata/", $place)).as_slice()),)*]
    };
}

const SHEET: &[u8] = include_bytes!("../../testdata/class/class.csv");

static PHOTOS: [(&str, &[u8]); 18] = photos! {
    "HR-07.jpg" from "sections/HR-07/photo.jpg",
    "HR-11.jpg" from "sections/HR-11/photo.jpg",
    "HR-14.jpg" from "sections/HR-14/photo.jpg",
    "HR-21.jpg" from "fractures/HR-21.jpg",
    "HR-24.jpg" from "fractures/HR-24.jpg",
    "HR-27.jpg" from "fractures/HR-27.jpg",
    "HR-31-section.jpg" from "class/HR-31-section.jpg",
    "HR-32-section.jpg" from "class/HR-32-section.jpg",
    "HR-33-section.jpg" from "class/HR-33-section.jpg",
    "HR-34-section.jpg" from "class/HR-34-section.jpg",
    "HR-35-section.jpg" from "class/HR-35-section.jpg",
    "HR-36-section.jpg" from "class/HR-36-section.jpg",
    "HR-41-section.jpg" from "class/HR-41-section.jpg",
    "HR-41-break.jpg" from "class/HR-41-break.jpg",
    "HR-42-break.jpg" from "class/HR-42-break.jpg",
    "HR-43-break.jpg" from "class/HR-43-break.jpg",
    "HR-44-break.jpg" from "class/HR-44-break.jpg",
    "HR-45-break.jpg" from "class/HR-45-break.jpg",
};

/// Where the parts of the example class lie.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Demo {
    /// The roster.
    pub sheet: PathBuf,
    /// Folder of the photographs.
    pub photos: PathBuf,
    /// Folder of the archive to be.
    pub archive: PathBuf,
    /// The page to be.
    pub page: PathBuf,
}

/// Lays sheet and photographs into `folder`, which is made. What lies there from an
/// earlier run is used again.
///
/// # Errors
/// The folder holds something else, or cannot be written.
pub fn demo(folder: &Path) -> Result<Demo, CohortError> {
    let failed = |path: &Path, source| CohortError::Write {
        path: path.to_owned(),
        source,
    };
    let demo = Demo {
        sheet: folder.join("class.csv"),
        photos: folder.join("photos"),
        archive: folder.join("archive"),
        page: folder.join("class.html"),
    };
    let ours = fs::read(&demo.sheet).is_ok_and(|sheet| sheet == SHEET);
    let empty = fs::read_dir(folder).map_or(true, |mut entries| entries.next().is_none());
    if !ours && !empty {
        return Err(CohortError::NotEmpty(folder.to_owned()));
    }
    fs::create_dir_all(&demo.photos).map_err(|source| failed(&demo.photos, source))?;
    let put = |path: PathBuf, bytes: &[u8]| {
        // A file that is whole stays: its time is the photograph's, as far as anyone knows.
        if fs::read(&path).is_ok_and(|there| there == bytes) {
            return Ok(());
        }
        fs::write(&path, bytes).map_err(|source| failed(&path, source))
    };
    // The sheet first: it is what tells a later run whose folder this is.
    put(demo.sheet.clone(), SHEET)?;
    for (name, photo) in PHOTOS {
        put(demo.photos.join(name), photo)?;
    }
    Ok(demo)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cohort::Sheet;

    #[test]
    fn every_photograph_of_the_sheet_is_there_and_no_other() {
        let sheet = Sheet::read(SHEET).unwrap();
        assert_eq!(sheet.faults, []);
        assert!(sheet.lines.len() >= 12);
        let text = String::from_utf8_lossy(SHEET);
        let mut named: Vec<&str> = text
            .split([',', '\n', '|'])
            .filter(|cell| cell.ends_with(".jpg"))
            .collect();
        named.sort_unstable();
        let mut there: Vec<&str> = PHOTOS.iter().map(|(name, _)| *name).collect();
        there.sort_unstable();
        assert_eq!(named, there);
    }

    #[test]
    fn a_folder_with_something_else_in_it_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("class.csv"), "coupon\nmine\n").unwrap();
        let error = demo(folder.path()).unwrap_err();
        assert!(error.to_string().contains("not empty"), "{error}");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);

        let new = folder.path().join("new");
        let laid = demo(&new).unwrap();
        assert_eq!(fs::read_dir(&laid.photos).unwrap().count(), PHOTOS.len());
        // A run that was cut off left half a photograph.
        fs::write(laid.photos.join("HR-07.jpg"), b"half").unwrap();
        assert_eq!(demo(&new).unwrap(), laid);
        assert!(fs::read(laid.photos.join("HR-07.jpg")).unwrap().len() > 4);
    }
}
