//! The present version over what an archive holds: what would be measured today?

use super::asking::{self, VERSION};
use super::changes::{Change, changes, same};
use super::error::CohortError;
use super::measure::{self, Why, measure};
use super::work::{each, held};
use crate::archive::{Archive, Filed, Head, Role};
use std::path::Path;
use std::sync::Mutex;

/// One photograph measured again.
#[derive(Debug)]
pub struct Again<'a> {
    /// Its coupon.
    pub coupon: &'a str,
    /// Its file name.
    pub photo: &'a str,
    /// The version that measured it last.
    pub before: &'a str,
    /// Number of the entry that was appended; `None`: the record is the same.
    pub appended: Option<u64>,
    /// What changed beyond uncertainty; why it could not be measured again.
    pub outcome: Result<Vec<Change>, String>,
}

/// How it ended.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Remeasured {
    /// Photographs measured again.
    pub measured: usize,
    /// Photographs whose record is another now; a revision was appended for each.
    pub revised: usize,
    /// Photographs with a change beyond uncertainty.
    pub changed: usize,
    /// Photographs that could not be measured again.
    pub troubles: usize,
    /// The end of the archive's chain.
    pub head: Head,
}

/// Measures the latest revision of every photograph again, from the original in the
/// archive and with the settings kept of it, and appends a revision where the
/// record is another now.
///
/// # Errors
/// The archive cannot be used. What is wrong with single photographs is told and
/// does not stop the others.
pub fn remeasure(
    folder: &Path,
    at_once: usize,
    planned: impl FnOnce(usize),
    tell: &(dyn Fn(Again<'_>) + Sync),
) -> Result<Remeasured, CohortError> {
    let archive = Archive::open_to_write(folder)?;
    let photographs: Vec<Filed> = archive
        .coupons()?
        .into_iter()
        .flat_map(|coupon| coupon.photographs)
        .map(|photograph| photograph.latest)
        .collect();
    planned(photographs.len());
    let archive = Mutex::new(archive);
    let sum = Mutex::new(Remeasured::default());
    let done = each(photographs, at_once, |filed| {
        let (appended, outcome) = match one(&archive, &filed) {
            Ok((appended, changes)) => (appended, Ok(changes)),
            Err(Stop::This(message)) => (None, Err(message)),
            Err(Stop::All(error)) => return Err(error),
        };
        let mut sum = held(&sum);
        match &outcome {
            Ok(changes) => {
                sum.measured += 1;
                sum.revised += usize::from(appended.is_some());
                sum.changed += usize::from(!changes.is_empty());
            }
            Err(_) => sum.troubles += 1,
        }
        drop(sum);
        tell(Again {
            coupon: &filed.revision.coupon,
            photo: &filed.revision.photo,
            before: &filed.revision.tool.version,
            appended,
            outcome,
        });
        Ok(())
    });
    let archive = archive.into_inner().unwrap_or_else(|e| e.into_inner());
    let mut sum = sum.into_inner().unwrap_or_else(|e| e.into_inner());
    sum.head = archive.head()?;
    archive.close()?;
    done?;
    Ok(sum)
}

/// What ends: this photograph, or all of it.
enum Stop {
    This(String),
    All(CohortError),
}

fn one(archive: &Mutex<Archive>, filed: &Filed) -> Result<(Option<u64>, Vec<Change>), Stop> {
    let revision = &filed.revision;
    let this = |error: crate::archive::ArchiveError| Stop::This(error.to_string());
    let original = revision
        .file(Role::Original)
        .ok_or_else(|| Stop::This("its entry names no original".to_owned()))?;
    let bytes = held(archive).read(original).map_err(this)?;
    let before = held(archive).record(revision).map_err(this)?;
    let measured = measure(&bytes, &revision.photo, &revision.asked).map_err(Stop::This)?;
    if same(&before, &measured.record) {
        return Ok((None, Vec::new()));
    }
    let reason = format!(
        "measured again with version {VERSION}; version {} before",
        revision.tool.version
    );
    let why = Why {
        coupon: &revision.coupon,
        photo: &revision.photo,
        asked: &revision.asked,
        key: &asking::key(&original.sha256, &revision.asked),
        reason: &reason,
    };
    let appended = measure::file(&mut held(archive), &bytes, &measured, &why)
        .map_err(|error| Stop::All(error.into()))?;
    Ok((Some(appended.seq), changes(&before, &measured.record)))
}
