//! What an interrupted run leaves: files that no entry names.

use super::catalogue::Index;
use super::error::ArchiveError;
use super::seal;
use super::store::{self, PART, Store};
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

/// A run that is interrupted while it files a photograph leaves at most that
/// photograph's files. More than that no interruption explains, and evidence is
/// not cleared away on a guess.
const MOST: usize = 8;

/// Places below the archive's folder that no entry names.
pub fn unnamed(store: &Store, index: &Index) -> Result<Vec<String>, ArchiveError> {
    let named: BTreeSet<&str> = index
        .files
        .keys()
        .map(|(_, place)| place.as_str())
        .collect();
    Ok(store
        .places()?
        .into_iter()
        .filter(|place| !named.contains(place.as_str()))
        .collect())
}

/// Removes them after an interruption.
pub fn clear(folder: &Path, store: &Store, index: &Index) -> Result<(), ArchiveError> {
    let places = unnamed(store, index)?;
    let (parts, whole): (Vec<_>, Vec<_>) =
        places.into_iter().partition(|place| place.ends_with(PART));
    if whole.len() > MOST {
        return Err(ArchiveError::Changed(format!(
            "{} files lie in it that its catalogue does not name, among them {}",
            whole.len(),
            whole[0]
        )));
    }
    let seal = format!("{}{PART}", seal::NAME);
    let seal = store::names(folder)?
        .into_iter()
        .filter(|name| *name == seal);
    for place in parts.into_iter().chain(whole).chain(seal) {
        let path = folder.join(&place);
        fs::remove_file(&path).map_err(ArchiveError::writing(&path))?;
        tracing::info!(%place, "cleared what an interrupted run left");
    }
    Ok(())
}
