//! Photos: kept once by what is in them, and named by it.

use std::fmt;

/// Name of a kept photo: SHA-256 of its bytes, in small hexadecimal letters.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct PhotoHash(String);

/// A text that cannot name a photo.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0:?} names no photo: a name has 64 of the characters 0-9 and a-f")]
pub struct PhotoHashRefusal(pub String);

impl PhotoHash {
    /// Writes a digest as a name.
    pub fn of(digest: [u8; 32]) -> Self {
        Self(digest.iter().map(|byte| format!("{byte:02x}")).collect())
    }

    /// Reads a name; fails when it has not 64 hexadecimal digits.
    pub fn parse(text: &str) -> Result<Self, PhotoHashRefusal> {
        let fits = |b: u8| b.is_ascii_digit() || (b'a'..=b'f').contains(&b);
        if text.len() == 64 && text.bytes().all(fits) {
            Ok(Self(text.to_owned()))
        } else {
            Err(PhotoHashRefusal(text.to_owned()))
        }
    }

    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for PhotoHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}
