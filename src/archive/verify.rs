//! Looking over an archive: every byte of it against the chain and the seal.

use super::catalogue::{Catalogue, Index};
use super::chain::{self, Head};
use super::entry::Entry;
use super::error::ArchiveError;
use super::lock::{self, Lock};
use super::seal::{self, Seal};
use super::sqlite::Sqlite;
use super::store::{self, Damage, PART, Role, Store, StoredFile};
use super::{leftover, missing};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// What a broken seal means.
pub(super) const SEAL_BROKEN: &str = "catalogue.sqlite or its seal catalogue.sqlite.sha256 was changed since Toeline last closed \
     the archive";

/// What was found wrong, a sentence each.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Which file or entry, and what is wrong with it.
    pub what: String,
}

/// An archive looked over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verified {
    /// The end of the chain.
    pub head: Head,
    /// Files that entries name and that were read.
    pub files: usize,
    /// Their bytes.
    pub bytes: u64,
    /// What is not as it was written; empty: all is well.
    pub faults: Vec<Fault>,
    /// What an interrupted run left; the next run that writes clears it.
    pub leftovers: Vec<String>,
}

/// Compares every byte of the archive in `folder` with what was written. `noted`
/// is a head hash written down earlier: it must be in the chain still.
///
/// # Errors
/// There is no archive, another process is writing to it, or a file cannot be
/// read; what is wrong with the archive itself is in the answer.
pub fn verify(folder: &Path, noted: Option<&str>) -> Result<Verified, ArchiveError> {
    let path = folder.join(seal::CATALOGUE);
    if !path.is_file() {
        return Err(missing(folder));
    }
    let mut lock = Lock::shared(folder)?;
    let seal = seal::check(folder)?;
    let mut faults = Vec::new();
    let opened = match seal {
        Seal::Whole | Seal::Broken => Sqlite::read(&path),
        Seal::None => {
            drop(lock);
            lock = Lock::alone(folder)?;
            Sqlite::open(&path)
        }
    };
    if seal == Seal::Broken {
        faults.push(fault(SEAL_BROKEN));
    }
    let read = opened.and_then(|catalogue| {
        let contents = contents(&catalogue)?;
        Box::new(catalogue).close()?;
        Ok(contents)
    });
    let contents = match read {
        Ok(contents) => contents,
        // A later version is no damage.
        Err(error @ ArchiveError::Newer { .. }) if seal != Seal::Broken => return Err(error),
        Err(error) => {
            faults.push(fault(&format!(
                "catalogue.sqlite cannot be read ({error}); put it back from a backup"
            )));
            Contents::default()
        }
    };
    faults.extend(contents.faults);
    if let Some(noted) = noted
        && !contents.hashes.contains(&noted.to_ascii_lowercase())
    {
        faults.push(fault(&format!(
            "the noted head {noted} is not in the chain: entries were taken off its end, or this \
             is another archive"
        )));
    }
    let mut verified = Verified {
        head: contents.head,
        files: 0,
        bytes: 0,
        faults,
        leftovers: Vec::new(),
    };
    look_at_files(&Store::of(folder), &contents.files, &mut verified)?;
    look_for_more(folder, &contents.files, seal, &mut verified)?;
    drop(lock);
    Ok(verified)
}

fn fault(what: &str) -> Fault {
    Fault {
        what: what.to_owned(),
    }
}

/// What the catalogue says, and what is wrong with that.
#[derive(Default)]
pub(super) struct Contents {
    pub head: Head,
    pub hashes: BTreeSet<String>,
    pub files: Vec<(String, StoredFile)>,
    pub faults: Vec<Fault>,
}

/// Checks the chain, and everything the catalogue keeps against it.
pub(super) fn contents(catalogue: &dyn Catalogue) -> Result<Contents, ArchiveError> {
    let links = catalogue.links()?;
    let (head, broken) = chain::check(&links);
    let mut faults: Vec<Fault> = broken
        .into_iter()
        .map(|(_, what)| fault(&format!("catalogue.sqlite: {what}")))
        .collect();
    let mut index = Index::default();
    let mut files = BTreeMap::new();
    for link in &links {
        match serde_json::from_str::<Entry>(&link.body) {
            Ok(entry) => {
                index.take(link.seq, &entry);
                if let Entry::Revision(revision) = entry {
                    for file in revision.files {
                        files.insert(file.place(), (revision.coupon.clone(), file));
                    }
                }
            }
            Err(error) => faults.push(fault(&format!(
                "catalogue.sqlite: entry {} cannot be understood ({error})",
                link.seq
            ))),
        }
    }
    if index != catalogue.index()? {
        faults.push(fault(
            "catalogue.sqlite: its tables of coupons, revisions or files do not say what the \
             entries say",
        ));
    }
    faults.extend(
        catalogue
            .self_check()?
            .iter()
            .map(|what| fault(&format!("catalogue.sqlite: {what}"))),
    );
    Ok(Contents {
        head,
        hashes: links.into_iter().map(|link| link.hash).collect(),
        files: files.into_values().collect(),
        faults,
    })
}

fn look_at_files(
    store: &Store,
    files: &[(String, StoredFile)],
    verified: &mut Verified,
) -> Result<(), ArchiveError> {
    for (coupon, file) in files {
        let damage = match store.check(file)? {
            None => {
                verified.files += 1;
                verified.bytes += file.bytes;
                continue;
            }
            Some(Damage::Missing) => "is missing",
            Some(Damage::Changed) => "was changed after it was written",
        };
        let what = match file.role {
            Role::Original => "a photograph",
            Role::Record => "a record",
            Role::Picture => "an annotated picture",
            Role::Report => "a report",
        };
        verified.faults.push(fault(&format!(
            "{}, {what} of coupon {coupon}, {damage}",
            file.place()
        )));
    }
    Ok(())
}

/// Looks for what does not belong into the archive.
fn look_for_more(
    folder: &Path,
    files: &[(String, StoredFile)],
    seal: Seal,
    verified: &mut Verified,
) -> Result<(), ArchiveError> {
    let mut index = Index::default();
    for (_, file) in files {
        index.files.insert((0, file.place()), file.bytes);
    }
    let mut more = leftover::unnamed(&Store::of(folder), &index)?;
    let part = format!("{}{PART}", seal::NAME);
    for name in store::names(folder)? {
        let ours = [lock::NAME, seal::CATALOGUE, seal::NAME].contains(&name.as_str())
            || Role::ALL.iter().any(|role| role.folder() == name);
        // SQLite's own, of a run that was interrupted.
        let journal = seal == Seal::None
            && ["-journal", "-wal"]
                .iter()
                .any(|end| name == format!("{}{end}", seal::CATALOGUE));
        if !ours && !journal {
            more.push(name);
        }
    }
    let lock = folder.join(lock::NAME);
    if std::fs::metadata(&lock).is_ok_and(|lock| lock.len() > 0) {
        more.push(format!("{} (it should be empty)", lock::NAME));
    }
    let interrupted = seal == Seal::None;
    if interrupted {
        verified.leftovers.push(
            "the last run was interrupted: the catalogue was not closed and has no seal".to_owned(),
        );
    }
    for place in more {
        if interrupted && (place.contains('/') || place == part) {
            verified
                .leftovers
                .push(format!("{place} belongs to no entry of the catalogue"));
        } else {
            verified.faults.push(fault(&format!(
                "{place} was added: it is not in the catalogue"
            )));
        }
    }
    Ok(())
}
