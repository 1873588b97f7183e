//! Photos beside the journal: the journal names them, their bytes are only here.
//!
//! A photo comes before the entry that names it. Until then it waits, and what waits can be thrown
//! away, or goes by itself after [`PHOTO_WAITS_D`] days.

use crate::{Reader, StoreFault, Writer};
use chrono::{DateTime, TimeDelta, Utc};
use rusqlite::{Connection, OptionalExtension, Params, params};
use sha2::{Digest, Sha256};
use slotkeep_domain::journal::Body;
use slotkeep_domain::photo::PhotoHash;

/// How long a photo waits for an entry that names it, days: longer than a record lies in the
/// outbox of a phone (a decision).
pub const PHOTO_WAITS_D: i64 = 90;

/// A photo as it is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Photo {
    /// E.g. `image/jpeg`.
    pub media_type: String,
    pub width_px: u32,
    pub height_px: u32,
    pub bytes: Vec<u8>,
}

impl Photo {
    /// The name that follows from the bytes.
    pub fn hash(&self) -> PhotoHash {
        hash(&self.bytes)
    }
}

impl Writer<'_> {
    /// Keeps a photo and returns its name. The same bytes are kept once.
    ///
    /// Photos that have waited too long for an entry that names them go.
    pub fn keep_photo(&self, photo: &Photo, at: DateTime<Utc>) -> Result<PhotoHash, StoreFault> {
        let hash = photo.hash();
        let is_new = self
            .conn()
            .prepare_cached(
                "INSERT INTO photo (hash, media_type, width_px, height_px, kept_ms, bytes) \
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6) ON CONFLICT (hash) DO NOTHING",
            )?
            .execute(params![
                hash.as_str(),
                photo.media_type,
                photo.width_px,
                photo.height_px,
                at.timestamp_millis(),
                photo.bytes,
            ])?
            > 0;
        // One that is sent again waits anew; one that an entry names does not wait.
        let waits = match is_new {
            true => "INSERT INTO photo_waiting (hash, since_ms) VALUES (?1, ?2)",
            false => "UPDATE photo_waiting SET since_ms = ?2 WHERE hash = ?1",
        };
        let (name, at_ms) = (hash.as_str(), at.timestamp_millis());
        self.conn().prepare_cached(waits)?.execute(params![name, at_ms])?;
        let long_ago = at - TimeDelta::days(PHOTO_WAITS_D);
        drop_waiting(self.conn(), "since_ms < ?1", [long_ago.timestamp_millis()])?;
        Ok(hash)
    }

    /// Throws photos away that wait, and returns how many; what a record names stays.
    pub fn drop_photos(&self, photos: &[PhotoHash]) -> Result<usize, StoreFault> {
        let mut dropped = 0;
        for photo in photos {
            dropped += drop_waiting(self.conn(), "hash = ?1", [photo.as_str()])?;
        }
        Ok(dropped)
    }
}

/// Throws photos away that wait, but for those that a record names which was set aside and is not
/// settled.
fn drop_waiting(conn: &Connection, which: &str, values: impl Params) -> Result<usize, StoreFault> {
    let sql = format!(
        "DELETE FROM photo WHERE hash IN (SELECT hash FROM photo_waiting WHERE {which} AND NOT \
         EXISTS (SELECT 1 FROM set_aside WHERE settled IS NULL AND instr(input, hash) > 0))"
    );
    Ok(conn.prepare_cached(&sql)?.execute(values)?)
}

/// Lets the photos that an entry names wait no longer.
pub(crate) fn name(conn: &Connection, body: &Body) -> Result<(), StoreFault> {
    for photo in body.photos() {
        conn.prepare_cached("DELETE FROM photo_waiting WHERE hash = ?1")?
            .execute([photo.as_str()])?;
    }
    Ok(())
}

impl Reader<'_> {
    /// A kept photo; none where no photo has this name.
    pub fn photo(&self, hash: &PhotoHash) -> Result<Option<Photo>, StoreFault> {
        let mut statement = self.conn.prepare_cached(
            "SELECT media_type, width_px, height_px, bytes FROM photo WHERE hash = ?1",
        )?;
        let photo = statement.query_row([hash.as_str()], |row| {
            Ok(Photo {
                media_type: row.get(0)?,
                width_px: row.get(1)?,
                height_px: row.get(2)?,
                bytes: row.get(3)?,
            })
        });
        Ok(photo.optional()?)
    }

    /// Whether a photo waits for an entry that names it.
    pub fn photo_waits(&self, hash: &PhotoHash) -> Result<bool, StoreFault> {
        let sql = "SELECT EXISTS (SELECT 1 FROM photo_waiting WHERE hash = ?1)";
        Ok(self.conn.prepare_cached(sql)?.query_row([hash.as_str()], |row| row.get(0))?)
    }

    /// Whether a photo has this name.
    pub fn has_photo(&self, hash: &PhotoHash) -> Result<bool, StoreFault> {
        let sql = "SELECT EXISTS (SELECT 1 FROM photo WHERE hash = ?1)";
        Ok(self.conn.prepare_cached(sql)?.query_row([hash.as_str()], |row| row.get(0))?)
    }
}

/// Names of photos whose bytes are no longer those that they are named by.
pub(crate) fn changed(conn: &Connection) -> Result<Vec<String>, StoreFault> {
    let mut statement = conn.prepare("SELECT hash, bytes FROM photo")?;
    let mut rows = statement.query([])?;
    let mut changed = Vec::new();
    while let Some(row) = rows.next()? {
        let (name, bytes): (String, Vec<u8>) = (row.get(0)?, row.get(1)?);
        if hash(&bytes).as_str() != name {
            changed.push(name);
        }
    }
    Ok(changed)
}

fn hash(bytes: &[u8]) -> PhotoHash {
    PhotoHash::of(Sha256::digest(bytes).into())
}
