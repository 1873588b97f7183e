use sha2::{Digest, Sha256};

/// Hash of the entry before the first one.
pub(crate) const BEGINNING: [u8; 32] = [0; 32];

/// The fields of an entry as they stand in the file.
pub(crate) struct Link<'a> {
    pub id: &'a [u8],
    pub at_ms: i64,
    pub person: &'a str,
    pub device: &'a str,
    pub corrects: Option<&'a [u8]>,
    pub source: Option<(&'a str, &'a str, i64)>,
    pub kind: &'a str,
    pub body: &'a str,
}

impl Link<'_> {
    /// SHA-256 over the hash before and every field, each with its length in front.
    pub(crate) fn hash(&self, before: &[u8; 32]) -> [u8; 32] {
        let mut sha = Sha256::new();
        sha.update(before);
        let mut field = |bytes: &[u8]| {
            sha.update((bytes.len() as u64).to_be_bytes());
            sha.update(bytes);
        };
        field(self.id);
        field(&self.at_ms.to_be_bytes());
        field(self.person.as_bytes());
        field(self.device.as_bytes());
        field(self.corrects.unwrap_or_default());
        let (file, key, digest) = self.source.unwrap_or_default();
        field(file.as_bytes());
        field(key.as_bytes());
        field(&digest.to_be_bytes());
        field(self.kind.as_bytes());
        field(self.body.as_bytes());
        sha.finalize().into()
    }
}
