//! What the archive needs of a catalogue. SQLite stands behind it; a database
//! server could.

use super::chain::{Head, Link};
use super::entry::Entry;
use super::error::ArchiveError;
use std::collections::BTreeMap;

/// An append-only list of entries with a way to look some of them up.
pub trait Catalogue: Send {
    /// The end of the chain.
    fn head(&self) -> Result<Head, ArchiveError>;

    /// Appends entries, all of them or none; on the disk when it returns.
    fn append(&mut self, entries: &[Entry]) -> Result<Head, ArchiveError>;

    /// All entries in order.
    fn links(&self) -> Result<Vec<Link>, ArchiveError>;

    /// The entry of that number.
    fn link(&self, seq: u64) -> Result<Option<Link>, ArchiveError>;

    /// Number of the entry that holds what the sheet says of a coupon.
    fn coupon(&self, id: &str) -> Result<Option<u64>, ArchiveError>;

    /// Number of the latest revision of a photograph.
    fn latest(&self, photograph: &str) -> Result<Option<u64>, ArchiveError>;

    /// Everything the catalogue keeps beside the entries.
    fn index(&self) -> Result<Index, ArchiveError>;

    /// What the database finds wrong with itself, in words.
    fn self_check(&self) -> Result<Vec<String>, ArchiveError>;

    /// Brings everything into the catalogue's file and closes it.
    fn close(self: Box<Self>) -> Result<(), ArchiveError>;
}

/// What a catalogue keeps beside the entries, to find them; made from them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Index {
    /// Coupon → its latest coupon entry.
    pub coupons: BTreeMap<String, u64>,
    /// Revision → coupon, photograph, key.
    pub revisions: BTreeMap<u64, (String, String, String)>,
    /// (revision, place) → length.
    pub files: BTreeMap<(u64, String), u64>,
}

impl Index {
    /// Takes in an entry.
    pub fn take(&mut self, seq: u64, entry: &Entry) {
        match entry {
            Entry::Coupon(coupon) => {
                self.coupons.insert(coupon.coupon.clone(), seq);
            }
            Entry::Revision(revision) => {
                self.revisions.insert(
                    seq,
                    (
                        revision.coupon.clone(),
                        revision.photograph().to_owned(),
                        revision.key.clone(),
                    ),
                );
                for file in &revision.files {
                    self.files.insert((seq, file.place()), file.bytes);
                }
            }
        }
    }
}
