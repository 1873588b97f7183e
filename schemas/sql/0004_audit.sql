-- The newest audit of each rail: derived from the journal.
CREATE TABLE audit (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL
) STRICT, WITHOUT ROWID;
