-- Records that spares are planned from. They are derived from the journal like the others, so a
-- store that is brought forward gets them by a replay.

CREATE TABLE stay (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL,
    model TEXT AS (record ->> 'model') VIRTUAL
) STRICT, WITHOUT ROWID;
CREATE INDEX stay_model ON stay (model);

CREATE TABLE issue (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL,
    model TEXT AS (record ->> 'model') VIRTUAL
) STRICT, WITHOUT ROWID;
CREATE INDEX issue_model ON issue (model);

CREATE TABLE spare_choice (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE population_change (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE reservation (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL,
    model TEXT AS (record ->> 'model') VIRTUAL,
    ended TEXT AS (record ->> 'ended') VIRTUAL
) STRICT, WITHOUT ROWID;
CREATE INDEX reservation_open ON reservation (model) WHERE ended IS NULL;
