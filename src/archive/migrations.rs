//! The catalogue's shape, a numbered step a version. A step that stands here is
//! never changed; a new shape is a new step.

use super::error::ArchiveError;
use rusqlite::Connection;
use std::path::Path;

/// The steps; the catalogue's version is how many of them it has gone through.
pub const STEPS: &[&str] = &[include_str!("migrations/1.sql")];

/// What marks a database file as a catalogue (`PRAGMA application_id`): `TOEL`.
const APPLICATION: i64 = 0x544F_454C;

/// Brings a catalogue to the last version; each step happens whole or not at all.
///
/// # Errors
/// [`ArchiveError::Newer`] for a version this program does not know, and
/// [`ArchiveError::NoCatalogue`] for some other database; neither is touched.
pub fn migrate(
    connection: &mut Connection,
    path: &Path,
    steps: &[&str],
) -> Result<(), ArchiveError> {
    let found = version(connection, path, steps.len() as i64)?;
    for (step, number) in steps.iter().zip(1_i64..).skip(found as usize) {
        let transaction = connection.transaction()?;
        transaction.execute_batch(step)?;
        transaction.pragma_update(None, "user_version", number)?;
        transaction.pragma_update(None, "application_id", APPLICATION)?;
        transaction.commit()?;
    }
    Ok(())
}

/// The version of a catalogue, 0 for an empty file.
pub fn version(connection: &Connection, path: &Path, known: i64) -> Result<i64, ArchiveError> {
    let pragma = |name| connection.pragma_query_value(None, name, |row| row.get::<_, i64>(0));
    let found = pragma("user_version")?;
    let tables: i64 =
        connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    if pragma("application_id")? != APPLICATION && (tables > 0 || found > 0) {
        return Err(ArchiveError::NoCatalogue(path.to_owned()));
    }
    match found {
        0.. if found <= known => Ok(found),
        _ => Err(ArchiveError::Newer { found, known }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn migrated(steps: &[&str]) -> Connection {
        let mut connection = Connection::open_in_memory().unwrap();
        migrate(&mut connection, Path::new("c"), steps).unwrap();
        connection
    }

    fn at(connection: &Connection) -> i64 {
        version(connection, Path::new("c"), 99).unwrap()
    }

    #[test]
    fn steps_are_gone_through_once_and_in_order() {
        let mut connection = migrated(STEPS);
        assert_eq!(at(&connection), STEPS.len() as i64);
        migrate(&mut connection, Path::new("c"), STEPS).unwrap();

        let mut longer = STEPS.to_vec();
        longer.push("CREATE TABLE note (seq INTEGER PRIMARY KEY) STRICT;");
        migrate(&mut connection, Path::new("c"), &longer).unwrap();
        assert_eq!(at(&connection), longer.len() as i64);
        // The shorter list is an older program.
        let error = migrate(&mut connection, Path::new("c"), STEPS).unwrap_err();
        assert!(matches!(error, ArchiveError::Newer { .. }), "{error}");
        assert!(error.to_string().contains("newer version"), "{error}");
    }

    #[test]
    fn a_step_that_fails_leaves_the_version_before() {
        let mut connection = migrated(STEPS);
        let mut longer = STEPS.to_vec();
        longer.push("CREATE TABLE note (seq INTEGER) STRICT; SELECT nonsense();");
        assert!(migrate(&mut connection, Path::new("c"), &longer).is_err());
        assert_eq!(at(&connection), STEPS.len() as i64);
        let note: i64 = connection
            .query_row(
                "SELECT count(*) FROM sqlite_schema WHERE name = 'note'",
                [],
                |row| row.get(0),
            )
            .unwrap();
        assert_eq!(note, 0);
    }

    #[test]
    fn another_program_s_database_is_left_alone() {
        let mut connection = Connection::open_in_memory().unwrap();
        connection.execute_batch("CREATE TABLE bread (id)").unwrap();
        let error = migrate(&mut connection, Path::new("c"), STEPS).unwrap_err();
        assert!(matches!(error, ArchiveError::NoCatalogue(_)), "{error}");
    }
}
