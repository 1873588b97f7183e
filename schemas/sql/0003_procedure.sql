-- The templates that a site set for swaps: derived from the journal.
CREATE TABLE procedure (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL
) STRICT, WITHOUT ROWID;

-- Photos, each once under the SHA-256 of its bytes. The journal names them; the bytes are only
-- here, so these rows are never written anew and never changed.
CREATE TABLE photo (
    hash TEXT PRIMARY KEY,
    media_type TEXT NOT NULL,
    width_px INTEGER NOT NULL,
    height_px INTEGER NOT NULL,
    kept_ms INTEGER NOT NULL,
    bytes BLOB NOT NULL
) STRICT;

CREATE TRIGGER photo_is_never_changed BEFORE UPDATE ON photo
BEGIN SELECT RAISE(ABORT, 'a photo is never changed'); END;
