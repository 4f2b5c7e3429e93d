//! The catalogue in one SQLite file: the only file that knows SQL.

use super::catalogue::{Catalogue, Index};
use super::chain::{Head, Link};
use super::entry::Entry;
use super::error::ArchiveError;
use super::migrations::{self, STEPS};
use rusqlite::{Connection, OpenFlags, OptionalExtension, Row, Transaction, params};
use std::path::Path;

/// A catalogue in an SQLite file.
#[derive(Debug)]
pub struct Sqlite {
    connection: Connection,
}

impl Sqlite {
    /// For writing; makes the file where there is none, and brings an older one to
    /// the present version.
    ///
    /// # Errors
    /// The file is no catalogue, or one of a later version.
    pub fn open(path: &Path) -> Result<Self, ArchiveError> {
        let mut connection = Connection::open(path)?;
        // Asked first: a foreign file must stay as it is.
        migrations::version(&connection, path, STEPS.len() as i64)?;
        // The archive's own lock keeps others out; so SQLite needs no memory shared
        // between processes, which a folder on a network does not offer.
        connection.pragma_update(None, "locking_mode", "EXCLUSIVE")?;
        connection.pragma_update(None, "journal_mode", "WAL")?;
        // FULL: what was said to be kept is on the disk, also after a power cut.
        connection.pragma_update(None, "synchronous", "FULL")?;
        connection.pragma_update(None, "foreign_keys", true)?;
        migrations::migrate(&mut connection, path, STEPS)?;
        Ok(Self { connection })
    }

    /// For reading a file nobody writes to; leaves nothing beside it.
    ///
    /// # Errors
    /// The file is no catalogue, or one of another version.
    pub fn read(path: &Path) -> Result<Self, ArchiveError> {
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI;
        let connection = Connection::open_with_flags(immutable(path), flags)?;
        let known = STEPS.len() as i64;
        let found = migrations::version(&connection, path, known)?;
        if found == 0 {
            return Err(ArchiveError::NoCatalogue(path.to_owned()));
        }
        Ok(Self { connection })
    }
}

/// The address that makes SQLite read a file without a lock or a journal.
fn immutable(path: &Path) -> String {
    let absolute = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let mut uri = "file:".to_owned();
    for byte in absolute.to_string_lossy().bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'.' | b'-' | b'_' => {
                uri.push(byte as char);
            }
            _ => uri.push_str(&format!("%{byte:02X}")),
        }
    }
    uri + "?immutable=1"
}

fn link(row: &Row<'_>) -> rusqlite::Result<Link> {
    Ok(Link {
        seq: row.get(0)?,
        previous: row.get(1)?,
        hash: row.get(2)?,
        body: row.get(3)?,
    })
}

fn head(connection: &Connection) -> Result<Head, ArchiveError> {
    let last = connection
        .query_row(
            "SELECT seq, hash FROM entry ORDER BY seq DESC LIMIT 1",
            [],
            |row| {
                Ok(Head {
                    seq: row.get(0)?,
                    hash: row.get(1)?,
                })
            },
        )
        .optional()?;
    Ok(last.unwrap_or_default())
}

fn insert(transaction: &Transaction<'_>, link: &Link, entry: &Entry) -> Result<(), ArchiveError> {
    transaction.execute(
        "INSERT INTO entry (seq, previous, hash, body) VALUES (?1, ?2, ?3, ?4)",
        params![link.seq, link.previous, link.hash, link.body],
    )?;
    let mut index = Index::default();
    index.take(link.seq, entry);
    for (id, seq) in &index.coupons {
        transaction.execute(
            "INSERT INTO coupon (id, seq) VALUES (?1, ?2)
             ON CONFLICT (id) DO UPDATE SET seq = excluded.seq",
            params![id, seq],
        )?;
    }
    for (seq, (coupon, photograph, key)) in &index.revisions {
        transaction.execute(
            "INSERT INTO revision (seq, coupon, photograph, key) VALUES (?1, ?2, ?3, ?4)",
            params![seq, coupon, photograph, key],
        )?;
    }
    for ((seq, place), bytes) in &index.files {
        transaction.execute(
            "INSERT INTO file (seq, place, bytes) VALUES (?1, ?2, ?3)",
            params![seq, place, bytes],
        )?;
    }
    Ok(())
}

impl Catalogue for Sqlite {
    fn head(&self) -> Result<Head, ArchiveError> {
        head(&self.connection)
    }

    fn append(&mut self, entries: &[Entry]) -> Result<Head, ArchiveError> {
        let transaction = self.connection.transaction()?;
        let mut end = head(&transaction)?;
        for entry in entries {
            let link = end.link(serde_json::to_string(entry)?);
            insert(&transaction, &link, entry)?;
            end = Head {
                seq: link.seq,
                hash: link.hash,
            };
        }
        transaction.commit()?;
        Ok(end)
    }

    fn links(&self) -> Result<Vec<Link>, ArchiveError> {
        let mut statement = self
            .connection
            .prepare("SELECT seq, previous, hash, body FROM entry ORDER BY seq")?;
        let links = statement.query_map([], link)?;
        Ok(links.collect::<Result<_, _>>()?)
    }

    fn link(&self, seq: u64) -> Result<Option<Link>, ArchiveError> {
        let found = self.connection.query_row(
            "SELECT seq, previous, hash, body FROM entry WHERE seq = ?1",
            [seq],
            link,
        );
        Ok(found.optional()?)
    }

    fn coupon(&self, id: &str) -> Result<Option<u64>, ArchiveError> {
        let found =
            self.connection
                .query_row("SELECT seq FROM coupon WHERE id = ?1", [id], |row| {
                    row.get(0)
                });
        Ok(found.optional()?)
    }

    fn latest(&self, photograph: &str) -> Result<Option<u64>, ArchiveError> {
        Ok(self.connection.query_row(
            "SELECT max(seq) FROM revision WHERE photograph = ?1",
            [photograph],
            |row| row.get(0),
        )?)
    }

    fn index(&self) -> Result<Index, ArchiveError> {
        let mut index = Index::default();
        let mut statement = self.connection.prepare("SELECT id, seq FROM coupon")?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            index.coupons.insert(row.get(0)?, row.get(1)?);
        }
        let mut statement = self
            .connection
            .prepare("SELECT seq, coupon, photograph, key FROM revision")?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            index
                .revisions
                .insert(row.get(0)?, (row.get(1)?, row.get(2)?, row.get(3)?));
        }
        let mut statement = self
            .connection
            .prepare("SELECT seq, place, bytes FROM file")?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            index.files.insert((row.get(0)?, row.get(1)?), row.get(2)?);
        }
        Ok(index)
    }

    fn self_check(&self) -> Result<Vec<String>, ArchiveError> {
        let mut faults = Vec::new();
        let mut statement = self.connection.prepare("PRAGMA integrity_check")?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            let text: String = row.get(0)?;
            if text != "ok" {
                faults.push(text);
            }
        }
        let mut statement = self.connection.prepare("PRAGMA foreign_key_check")?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            let table: String = row.get(0)?;
            faults.push(format!(
                "a row of '{table}' points at one that is not there"
            ));
        }
        Ok(faults)
    }

    fn close(self: Box<Self>) -> Result<(), ArchiveError> {
        self.connection
            .query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))?;
        Ok(self.connection.close().map_err(|(_, error)| error)?)
    }
}
