//! What is entered into the catalogue. An entry is never changed; what changes
//! is entered anew.
//!
//! A key may be added to an entry at any time. A new kind of entry comes with a step
//! in `migrations`, so that programs which do not know it refuse the archive with a
//! clear message.

use super::store::StoredFile;
use crate::record::{Asked, Outcome, Status, Tool};
use serde::{Deserialize, Serialize};

/// One entry.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "entry", rename_all = "kebab-case")]
pub enum Entry {
    /// What a sheet says of a coupon.
    Coupon(CouponEntry),
    /// What a photograph of it gave.
    Revision(Box<Revision>),
}

/// What a sheet says of a coupon; a later entry of the same coupon counts
/// instead of an earlier one.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CouponEntry {
    /// When it was entered, UTC.
    pub at: String,
    /// The coupon's name.
    pub coupon: String,
    /// What the sheet says.
    pub facts: CouponFacts,
}

/// Who made the coupon, when and how. Nothing of it stands in a record or in a
/// report.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct CouponFacts {
    /// The welder's name or number.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub welder: Option<String>,
    /// When it was welded, `2026-03-14`.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub date: Option<String>,
    /// Welding process, e.g. `135`.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub process: Option<String>,
    /// Welding position, e.g. `PB`.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub position: Option<String>,
    /// What the examiner noted, in words.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub notes: Option<String>,
}

/// What one photograph gave, once. Measuring it again enters another.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Revision {
    /// When it was entered, UTC.
    pub at: String,
    /// The coupon's name.
    pub coupon: String,
    /// The photograph's file name when it was read.
    pub photo: String,
    /// What was asked, so that it can be asked again.
    pub asked: Asked,
    /// Hash over photograph, settings and version: the same key, the same record.
    pub key: String,
    /// What measured it.
    pub tool: Tool,
    /// Why it was measured (again), in words.
    pub reason: String,
    /// How far measuring came.
    pub status: Status,
    /// How it compares with the limits, when some were chosen.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub outcome: Option<Outcome>,
    /// Its files: original, record, picture, report.
    pub files: Vec<StoredFile>,
}

impl Revision {
    /// The file of that role, if there is one.
    pub fn file(&self, role: super::Role) -> Option<&StoredFile> {
        self.files.iter().find(|file| file.role == role)
    }

    /// SHA-256 of the photograph's bytes, which tells photographs apart.
    pub fn photograph(&self) -> &str {
        self.file(super::Role::Original)
            .map_or("", |file| &file.sha256)
    }
}

impl Entry {
    /// The coupon it is about.
    pub fn coupon(&self) -> &str {
        match self {
            Self::Coupon(entry) => &entry.coupon,
            Self::Revision(revision) => &revision.coupon,
        }
    }
}
