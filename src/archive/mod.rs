//! Floor 3: the archive, where a class's evidence is kept.
//!
//! A folder of hash-named files ([`store`]) and a catalogue whose entries form a
//! hash chain ([`chain`]); `docs/archive.md` has the layout. Guarantees:
//!
//! - An entry, once appended, is on the disk with all its files; a crash at any
//!   moment loses none and leaves none half written.
//! - Nothing is overwritten: measuring again appends a [`Revision`].
//! - [`verify`] finds every changed, missing or added byte.
//! - One writer at a time; readers do not read beside a writer.

mod catalogue;
mod chain;
mod clock;
mod entry;
mod error;
mod export;
mod leftover;
mod lock;
mod migrations;
mod seal;
mod sqlite;
mod store;
mod verify;
mod view;

pub use catalogue::{Catalogue, Index};
pub use chain::{Head, Link, sha256};
pub use clock::now;
pub use entry::{CouponEntry, CouponFacts, Entry, Revision};
pub use error::ArchiveError;
pub use export::{Exported, OnPaper, export};
pub use store::{Role, StoredFile};
pub use verify::{Fault, Verified, verify};
pub use view::{CouponView, Filed, PhotographView};

use crate::record::{Asked, Record};
use lock::Lock;
use seal::Seal;
use sqlite::Sqlite;
use std::fs;
use std::path::{Path, PathBuf};
use store::Store;

/// An open archive.
pub struct Archive {
    folder: PathBuf,
    store: Store,
    catalogue: Box<dyn Catalogue>,
    warnings: Vec<String>,
    writing: bool,
    _lock: Lock,
}

/// What one photograph gave, to be filed.
pub struct Filing<'a> {
    /// The coupon's name.
    pub coupon: &'a str,
    /// The photograph's file name, without its folder.
    pub photo: &'a str,
    /// The photograph's bytes.
    pub original: &'a [u8],
    /// What was asked.
    pub asked: &'a Asked,
    /// Hash over photograph, settings and version.
    pub key: &'a str,
    /// Why it was measured (again), in words.
    pub reason: &'a str,
    /// The record.
    pub record: &'a Record,
    /// The annotated picture, a JPEG file.
    pub picture: Option<&'a [u8]>,
    /// The report, an HTML file.
    pub report: &'a str,
}

impl Archive {
    /// Opens the archive in `folder` for reading. What speaks against it stands in
    /// [`warnings`](Self::warnings).
    ///
    /// # Errors
    /// There is none, another process is writing to it, or its catalogue cannot
    /// be read at all.
    pub fn open(folder: &Path) -> Result<Self, ArchiveError> {
        let path = folder.join(seal::CATALOGUE);
        if !path.is_file() {
            return Err(missing(folder));
        }
        let lock = Lock::shared(folder)?;
        let mut warnings = Vec::new();
        let (catalogue, lock) = match seal::check(folder)? {
            Seal::None => {
                // SQLite completes what an interrupted run left, so alone.
                drop(lock);
                let lock = Lock::alone(folder)?;
                (Sqlite::open(&path)?, lock)
            }
            seal => {
                if seal == Seal::Broken {
                    warnings.push(verify::SEAL_BROKEN.to_owned());
                }
                (Sqlite::read(&path)?, lock)
            }
        };
        let (_, faults) = chain::check(&catalogue.links()?);
        warnings.extend(faults.into_iter().map(|(_, fault)| fault));
        Ok(Self {
            folder: folder.to_owned(),
            store: Store::of(folder),
            catalogue: Box::new(catalogue),
            warnings,
            writing: false,
            _lock: lock,
        })
    }

    /// Opens the archive in `folder` for writing, or makes one in a new or empty
    /// folder. What an interrupted run left is cleared. End with
    /// [`close`](Self::close).
    ///
    /// # Errors
    /// Another process has it open, the folder holds something else, or the
    /// catalogue is not as it was written.
    pub fn open_to_write(folder: &Path) -> Result<Self, ArchiveError> {
        let path = folder.join(seal::CATALOGUE);
        if !path.is_file()
            && let Err(error) = may_become_one(folder)
            // Made by another process at this very moment: the lock will tell.
            && !path.is_file()
        {
            return Err(error);
        }
        fs::create_dir_all(folder).map_err(ArchiveError::writing(folder))?;
        let lock = Lock::alone(folder)?;
        let sealed = match seal::check_if_there(folder)? {
            Seal::Broken => return Err(ArchiveError::Changed(verify::SEAL_BROKEN.to_owned())),
            seal => seal == Seal::Whole,
        };
        seal::break_open(folder)?;
        let store = Store::of(folder);
        store.make()?;
        let catalogue = Sqlite::open(&path)?;
        store::flush_folder(folder)?;
        if let Some(fault) = verify::contents(&catalogue)?.faults.into_iter().next() {
            return Err(ArchiveError::Changed(fault.what));
        }
        if !sealed {
            leftover::clear(folder, &store, &catalogue.index()?)?;
        }
        Ok(Self {
            folder: folder.to_owned(),
            store,
            catalogue: Box::new(catalogue),
            warnings: Vec::new(),
            writing: true,
            _lock: lock,
        })
    }

    /// What speaks against the archive as it was opened, in words.
    pub fn warnings(&self) -> &[String] {
        &self.warnings
    }

    /// The end of the chain, to be written down elsewhere.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn head(&self) -> Result<Head, ArchiveError> {
        self.catalogue.head()
    }

    /// Enters what a sheet says of coupons, but for those of which it is entered
    /// already; all or none. Returns how many were entered.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn declare(&mut self, coupons: &[(String, CouponFacts)]) -> Result<usize, ArchiveError> {
        let mut entries = Vec::new();
        for (coupon, facts) in coupons {
            if self.facts(coupon)?.as_ref() != Some(facts) {
                entries.push(Entry::Coupon(CouponEntry {
                    at: clock::now(),
                    coupon: coupon.clone(),
                    facts: facts.clone(),
                }));
            }
        }
        if !entries.is_empty() {
            self.catalogue.append(&entries)?;
        }
        Ok(entries.len())
    }

    /// Files what a photograph gave: its files first, the entry last.
    ///
    /// # Errors
    /// A file or the catalogue cannot be written; then there is no entry.
    pub fn file(&mut self, filing: &Filing<'_>) -> Result<Filed, ArchiveError> {
        let mut record = serde_json::to_vec_pretty(filing.record)?;
        record.push(b'\n');
        // A number that JSON cannot hold would come back as nothing.
        serde_json::from_slice::<Record>(&record)?;
        let ending = Path::new(filing.photo)
            .extension()
            .map_or(String::new(), |ending| {
                ending.to_string_lossy().into_owned()
            });
        let mut files = vec![
            self.store.put(Role::Original, filing.original, &ending)?,
            self.store.put(Role::Record, &record, "json")?,
        ];
        if let Some(picture) = filing.picture {
            files.push(self.store.put(Role::Picture, picture, "jpg")?);
        }
        files.push(
            self.store
                .put(Role::Report, filing.report.as_bytes(), "html")?,
        );
        let revision = Revision {
            at: clock::now(),
            coupon: filing.coupon.to_owned(),
            photo: filing.photo.to_owned(),
            asked: filing.asked.clone(),
            key: filing.key.to_owned(),
            tool: filing.record.tool.clone(),
            reason: filing.reason.to_owned(),
            status: filing.record.status,
            outcome: filing.record.verdict.as_ref().map(|v| v.outcome),
            files,
        };
        let head = self
            .catalogue
            .append(&[Entry::Revision(Box::new(revision.clone()))])?;
        Ok(Filed {
            seq: head.seq,
            hash: head.hash,
            revision,
        })
    }

    /// What a sheet said last of a coupon.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn facts(&self, coupon: &str) -> Result<Option<CouponFacts>, ArchiveError> {
        Ok(match self.entry(self.catalogue.coupon(coupon)?)? {
            Some((_, Entry::Coupon(entry))) => Some(entry.facts),
            _ => None,
        })
    }

    /// The latest revision of the photograph with that SHA-256.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn latest(&self, photograph: &str) -> Result<Option<Filed>, ArchiveError> {
        Ok(match self.entry(self.catalogue.latest(photograph)?)? {
            Some((link, Entry::Revision(revision))) => Some(Filed {
                seq: link.seq,
                hash: link.hash,
                revision: *revision,
            }),
            _ => None,
        })
    }

    /// All coupons by name, with their photographs and all revisions of them.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn coupons(&self) -> Result<Vec<CouponView>, ArchiveError> {
        view::coupons(&self.catalogue.links()?)
    }

    /// The coupon of that name.
    ///
    /// # Errors
    /// [`ArchiveError::NoCoupon`], or the catalogue cannot be read.
    pub fn coupon_view(&self, id: &str) -> Result<CouponView, ArchiveError> {
        self.coupons()?
            .into_iter()
            .find(|coupon| coupon.id == id)
            .ok_or_else(|| ArchiveError::NoCoupon(id.to_owned()))
    }

    /// The bytes of a file, checked against its hash.
    ///
    /// # Errors
    /// It cannot be read, or was changed.
    pub fn read(&self, file: &StoredFile) -> Result<Vec<u8>, ArchiveError> {
        self.store.read(file)
    }

    /// The record of a revision.
    ///
    /// # Errors
    /// It cannot be read, or was changed.
    pub fn record(&self, revision: &Revision) -> Result<Record, ArchiveError> {
        let file = revision.file(Role::Record).ok_or_else(|| {
            ArchiveError::Changed(format!("an entry of {} names no record", revision.coupon))
        })?;
        Ok(serde_json::from_slice(&self.read(file)?)?)
    }

    /// Closes the archive and, after writing, seals its catalogue.
    ///
    /// # Errors
    /// The catalogue cannot be written; what was filed is kept all the same.
    pub fn close(self) -> Result<(), ArchiveError> {
        self.catalogue.close()?;
        match self.writing {
            true => seal::set(&self.folder),
            false => Ok(()),
        }
    }

    fn entry(&self, seq: Option<u64>) -> Result<Option<(Link, Entry)>, ArchiveError> {
        let Some(link) = seq
            .map(|seq| self.catalogue.link(seq))
            .transpose()?
            .flatten()
        else {
            return Ok(None);
        };
        let entry = serde_json::from_str(&link.body)?;
        Ok(Some((link, entry)))
    }
}

/// Why there is no catalogue to read.
fn missing(folder: &Path) -> ArchiveError {
    match may_become_one(folder) {
        Err(error @ ArchiveError::CatalogueMissing(_)) => error,
        _ => ArchiveError::None(folder.to_owned()),
    }
}

/// A new archive takes a new folder, an empty one, or what making one left when
/// it was interrupted.
fn may_become_one(folder: &Path) -> Result<(), ArchiveError> {
    let places = Store::of(folder).places()?;
    if !places.is_empty() {
        return Err(ArchiveError::CatalogueMissing(folder.to_owned()));
    }
    let ours =
        |name: &String| name == lock::NAME || Role::ALL.iter().any(|role| role.folder() == name);
    match store::names(folder)?.iter().all(ours) {
        true => Ok(()),
        false => Err(ArchiveError::Foreign(folder.to_owned())),
    }
}

#[cfg(test)]
mod tests;
