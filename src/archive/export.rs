//! Coupons taken out of the archive, for anyone to read without Toeline: the
//! originals, records, annotated pictures and reports under names people know, a
//! page and a table over them, and the hashes that `sha256sum -c` checks.

mod names;
mod page;
mod sink;
mod table;

use super::chain::{Head, sha256};
use super::{Archive, ArchiveError, CouponView, Filed, PhotographView, Role};
use crate::record::Record;
use names::Names;
use sink::{Folder, Sink, Zip};
use std::path::Path;

/// File with the hashes.
const SUMS: &str = "SHA256SUMS";

/// Sets a report (HTML) on paper: the PDF's bytes, or why not.
pub type OnPaper<'a> = &'a dyn Fn(&str) -> Result<Vec<u8>, String>;

/// What came of an export.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Exported {
    /// Files written, the hashes not counted.
    pub files: usize,
    /// What could not be taken out, a sentence each.
    pub missing: Vec<String>,
}

/// A photograph in the export.
struct Shown<'a> {
    coupon: &'a CouponView,
    latest: &'a Filed,
    earlier: usize,
    record: Option<Record>,
    /// Places in the export by role.
    places: Vec<(Role, String)>,
}

impl Shown<'_> {
    fn place(&self, role: Role) -> Option<&str> {
        self.places
            .iter()
            .find(|(of, _)| *of == role)
            .map(|(_, place)| place.as_str())
    }
}

/// Writes `coupons` to a new folder, or to a new zip file when `out` ends with
/// `.zip`. Files that were changed since they were written are left out and named.
/// With `paper` the latest report of every photograph is there as PDF too.
///
/// # Errors
/// Something is there already, or it cannot be written.
pub fn export(
    archive: &Archive,
    coupons: &[CouponView],
    out: &Path,
    paper: Option<OnPaper<'_>>,
) -> Result<Exported, ArchiveError> {
    let zipped = out
        .extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("zip"));
    let head = archive.head()?;
    match zipped {
        true => {
            let mut zip = Zip::create(out)?;
            let exported = write(archive, coupons, &head, paper, &mut zip)?;
            zip.finish()?;
            Ok(exported)
        }
        false => write(archive, coupons, &head, paper, &mut Folder::create(out)?),
    }
}

fn write(
    archive: &Archive,
    coupons: &[CouponView],
    head: &Head,
    paper: Option<OnPaper<'_>>,
    sink: &mut dyn Sink,
) -> Result<Exported, ArchiveError> {
    let mut writer = Writer {
        archive,
        paper,
        sink,
        sums: String::new(),
        exported: Exported::default(),
    };
    let mut names = Names::default();
    let mut shown = Vec::new();
    for coupon in coupons {
        let folder = names.folder(&coupon.id);
        for photograph in &coupon.photographs {
            shown.push(writer.photograph(coupon, photograph, &folder, &mut names)?);
        }
    }
    writer.put("index.csv", &table::csv(&shown))?;
    writer.put("index.html", page::html(coupons, &shown, head).as_bytes())?;
    let Writer {
        sink,
        sums,
        exported,
        ..
    } = writer;
    sink.put(SUMS, sums.as_bytes())?;
    Ok(exported)
}

struct Writer<'a> {
    archive: &'a Archive,
    paper: Option<OnPaper<'a>>,
    sink: &'a mut dyn Sink,
    sums: String,
    exported: Exported,
}

impl Writer<'_> {
    fn put(&mut self, place: &str, bytes: &[u8]) -> Result<(), ArchiveError> {
        self.sink.put(place, bytes)?;
        self.sums.push_str(&format!("{}  {place}\n", sha256(bytes)));
        self.exported.files += 1;
        Ok(())
    }

    fn photograph<'c>(
        &mut self,
        coupon: &'c CouponView,
        photograph: &'c PhotographView,
        folder: &str,
        names: &mut Names,
    ) -> Result<Shown<'c>, ArchiveError> {
        let latest = &photograph.latest;
        let stem = names.stem(folder, &latest.revision);
        let places = self.revision(latest, |role, ending| {
            Some(names::place(folder, &stem, role, ending))
        })?;
        self.on_paper(latest, &format!("{folder}/{stem}.report.pdf"))?;
        for filed in &photograph.earlier {
            let folder = format!("{folder}/earlier");
            let stem = format!("{stem}.entry-{}", filed.seq);
            self.revision(filed, |role, ending| match role {
                // The photograph is the same one.
                Role::Original => None,
                _ => Some(names::place(&folder, &stem, role, ending)),
            })?;
        }
        Ok(Shown {
            coupon,
            latest,
            earlier: photograph.earlier.len(),
            record: self.archive.record(&latest.revision).ok(),
            places,
        })
    }

    /// The report of an entry as PDF, where one was asked for.
    fn on_paper(&mut self, filed: &Filed, place: &str) -> Result<(), ArchiveError> {
        let files = &filed.revision.files;
        let report = files.iter().find(|file| file.role == Role::Report);
        let (Some(paper), Some(report)) = (self.paper, report) else {
            return Ok(());
        };
        // A report that cannot be read is named already.
        let Ok(page) = self.archive.read(report) else {
            return Ok(());
        };
        match paper(&String::from_utf8_lossy(&page)) {
            Ok(pdf) => self.put(place, &pdf)?,
            Err(why) => self.exported.missing.push(format!(
                "{place} of coupon {} is left out: {why}",
                filed.revision.coupon
            )),
        }
        Ok(())
    }

    fn revision(
        &mut self,
        filed: &Filed,
        place: impl Fn(Role, &str) -> Option<String>,
    ) -> Result<Vec<(Role, String)>, ArchiveError> {
        let mut places = Vec::new();
        for file in &filed.revision.files {
            let Some(place) = place(file.role, &file.ending) else {
                continue;
            };
            match self.archive.read(file) {
                Ok(bytes) => {
                    self.put(&place, &bytes)?;
                    places.push((file.role, place));
                }
                Err(error) => self.exported.missing.push(format!(
                    "{place} of coupon {} is left out: {error}",
                    filed.revision.coupon
                )),
            }
        }
        Ok(places)
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::filled;
    use super::*;
    use std::collections::BTreeMap;
    use std::fs;

    fn exported(out: &Path) -> Exported {
        let folder = filled();
        let archive = Archive::open(folder.path()).unwrap();
        export(&archive, &archive.coupons().unwrap(), out, None).unwrap()
    }

    fn read(folder: &Path, below: &str, found: &mut BTreeMap<String, Vec<u8>>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let name = format!("{below}{}", path.file_name().unwrap().to_str().unwrap());
            match path.is_dir() {
                true => read(&path, &format!("{name}/"), found),
                false => {
                    found.insert(name, fs::read(&path).unwrap());
                }
            }
        }
    }

    #[test]
    fn a_folder_holds_everything_and_every_file_has_its_hash() {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("out");
        let answer = exported(&out);
        let mut files = BTreeMap::new();
        read(&out, "", &mut files);
        let names: Vec<&str> = files.keys().map(String::as_str).collect();
        assert_eq!(
            names,
            [
                "HR-01/a.annotated.jpg",
                "HR-01/a.jpg",
                "HR-01/a.record.json",
                "HR-01/a.report.html",
                "HR-01/earlier/a.entry-3.annotated.jpg",
                "HR-01/earlier/a.entry-3.record.json",
                "HR-01/earlier/a.entry-3.report.html",
                "HR-02/a.annotated.jpg",
                "HR-02/a.jpg",
                "HR-02/a.record.json",
                "HR-02/a.report.html",
                "SHA256SUMS",
                "index.csv",
                "index.html",
            ]
        );
        assert_eq!((answer.files, answer.missing.len()), (13, 0));
        let sums = String::from_utf8(files.remove("SHA256SUMS").unwrap()).unwrap();
        let listed: BTreeMap<String, String> = sums
            .lines()
            .map(|line| line.split_once("  ").unwrap())
            .map(|(sum, name)| (name.to_owned(), sum.to_owned()))
            .collect();
        let want = files
            .iter()
            .map(|(name, bytes)| (name.clone(), sha256(bytes)))
            .collect();
        assert_eq!(listed, want);
        assert_eq!(files["HR-02/a.jpg"], b"two");
        let page = String::from_utf8(files["index.html"].clone()).unwrap();
        for word in ["HR-01/a.report.html", "sha256sum -c", "HR-02"] {
            assert!(page.contains(word), "{word}");
        }
    }

    #[test]
    fn a_zip_holds_the_same_as_the_folder() {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("class.ZIP");
        exported(&out);
        exported(&folder.path().join("out"));
        let mut files = BTreeMap::new();
        read(&folder.path().join("out"), "", &mut files);
        let mut zip = zip::ZipArchive::new(fs::File::open(&out).unwrap()).unwrap();
        assert_eq!(zip.len(), files.len());
        for n in 0..zip.len() {
            let mut entry = zip.by_index(n).unwrap();
            let name = entry.name().unwrap().into_owned();
            let mut bytes = Vec::new();
            std::io::Read::read_to_end(&mut entry, &mut bytes).unwrap();
            // These name the chain's head, which has the time in it.
            if !["index.html", "index.csv", SUMS].contains(&name.as_str()) {
                assert_eq!(files[&name], bytes, "{name}");
            }
        }
        assert_eq!(
            super::super::store::names(folder.path()).unwrap(),
            ["class.ZIP", "out"]
        );
    }

    #[test]
    fn nothing_is_replaced_and_a_changed_file_is_left_out_and_named() {
        let folder = filled();
        let archive = Archive::open(folder.path()).unwrap();
        let coupons = archive.coupons().unwrap();
        let original = format!("originals/{}.jpg", sha256(b"two"));
        fs::write(folder.path().join(original), "twO").unwrap();
        let out = tempfile::tempdir().unwrap();
        let answer = export(&archive, &coupons, out.path(), None).unwrap();
        assert_eq!(answer.missing.len(), 1, "{:?}", answer.missing);
        assert!(answer.missing[0].contains("HR-02/a.jpg"));
        assert!(!out.path().join("HR-02/a.jpg").exists());
        assert!(out.path().join("HR-02/a.record.json").exists());
        let again = export(&archive, &coupons, out.path(), None).unwrap_err();
        assert!(matches!(again, ArchiveError::ExportThere(_)), "{again}");
        let file = out.path().join("x.zip");
        fs::write(&file, "mine").unwrap();
        assert!(export(&archive, &coupons, &file, None).is_err());
        assert_eq!(fs::read(&file).unwrap(), b"mine");
    }
}
