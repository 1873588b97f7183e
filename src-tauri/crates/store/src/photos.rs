//! Photos beside the journal: the journal names them, their bytes are only here.

use crate::{Reader, StoreFault, Writer};
use chrono::{DateTime, Utc};
use rusqlite::{Connection, OptionalExtension, params};
use sha2::{Digest, Sha256};
use slotkeep_domain::photo::PhotoHash;

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
    pub fn keep_photo(&self, photo: &Photo, at: DateTime<Utc>) -> Result<PhotoHash, StoreFault> {
        let hash = photo.hash();
        self.conn()
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
            ])?;
        Ok(hash)
    }
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
