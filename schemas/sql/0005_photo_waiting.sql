-- Photos that no entry names yet, and since when. An entry that names a photo takes it out of
-- here; what stays for long is thrown away.
CREATE TABLE photo_waiting (
    hash TEXT PRIMARY KEY REFERENCES photo (hash) ON DELETE CASCADE,
    since_ms INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

INSERT INTO photo_waiting (hash, since_ms) SELECT hash, kept_ms FROM photo;
