-- The journal is the truth; every other table is derived from it and can be rebuilt.
-- A derived table holds one record a row as JSON; what is searched by is a generated column.

CREATE TABLE entry (
    seq INTEGER PRIMARY KEY,
    id BLOB NOT NULL UNIQUE,
    at_ms INTEGER NOT NULL,
    person TEXT NOT NULL,
    device TEXT NOT NULL,
    corrects BLOB,
    source_file TEXT,
    source_key TEXT,
    source_digest INTEGER,
    kind TEXT NOT NULL,
    body TEXT NOT NULL,
    -- SHA-256 over the hash of the entry before and every field above but seq.
    hash BLOB NOT NULL
) STRICT;

CREATE TRIGGER entry_is_never_changed BEFORE UPDATE ON entry
BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;

CREATE TRIGGER entry_is_never_deleted BEFORE DELETE ON entry
BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;

-- Under which names an entry is found again.
CREATE TABLE subject (
    name TEXT NOT NULL,
    seq INTEGER NOT NULL,
    PRIMARY KEY (name, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE site (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE key_scheme (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE area (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE cabinet (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL,
    label TEXT AS (record ->> 'label') VIRTUAL
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX cabinet_label ON cabinet (label);

CREATE TABLE rail (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE slot (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL,
    label TEXT AS (record ->> 'label') VIRTUAL,
    model_wanted TEXT AS (record ->> 'model_wanted') VIRTUAL
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX slot_label ON slot (label);
CREATE INDEX slot_model_wanted ON slot (model_wanted);

CREATE TABLE model (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE storeroom (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE bin (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL,
    label TEXT AS (record ->> 'label') VIRTUAL
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX bin_label ON bin (label);

CREATE TABLE unit (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL,
    model TEXT AS (record ->> 'model') VIRTUAL,
    serial TEXT AS (record ->> 'serial') VIRTUAL,
    place TEXT AS (record ->> 'place') VIRTUAL,
    condition TEXT AS (record ->> 'condition') VIRTUAL
) STRICT, WITHOUT ROWID;
CREATE INDEX unit_model ON unit (model, place);
CREATE INDEX unit_place ON unit (place);
CREATE INDEX unit_not_good ON unit (place) WHERE condition <> 'good';
CREATE UNIQUE INDEX unit_serial ON unit (serial, model);

CREATE TABLE lot (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL,
    model TEXT AS (record ->> 'model') VIRTUAL,
    code TEXT AS (record ->> 'code') VIRTUAL
) STRICT, WITHOUT ROWID;
CREATE INDEX lot_model ON lot (model);
CREATE INDEX lot_code ON lot (code);

CREATE TABLE loop (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL,
    slot TEXT AS (record ->> 'slot') VIRTUAL,
    channel INTEGER AS (record ->> 'channel') VIRTUAL
) STRICT, WITHOUT ROWID;
CREATE INDEX loop_slot ON loop (slot, channel);

CREATE TABLE swap (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL,
    slot TEXT AS (record ->> 'slot') VIRTUAL,
    state TEXT AS (record ->> 'state') VIRTUAL
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX swap_open ON swap (slot) WHERE state = 'open';

CREATE TABLE purchase (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL,
    model TEXT AS (record ->> 'model') VIRTUAL
) STRICT, WITHOUT ROWID;
CREATE INDEX purchase_model ON purchase (model);

CREATE TABLE person (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE device (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL,
    pass_digest TEXT AS (record ->> 'pass_digest') VIRTUAL
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX device_pass_digest ON device (pass_digest);

CREATE TABLE power_off (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL,
    scope TEXT AS (record ->> 'scope') VIRTUAL
) STRICT, WITHOUT ROWID;
CREATE INDEX power_off_scope ON power_off (scope);

CREATE TABLE planned_off (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL,
    scope TEXT AS (record ->> '$.off.scope') VIRTUAL
) STRICT, WITHOUT ROWID;
CREATE INDEX planned_off_scope ON planned_off (scope);

CREATE TABLE temperature (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL,
    cabinet TEXT AS (record ->> 'cabinet') VIRTUAL
) STRICT, WITHOUT ROWID;
CREATE INDEX temperature_cabinet ON temperature (cabinet);

-- One record at most: the visits that were agreed last.
CREATE TABLE agreed_plan (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE failure (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL,
    model TEXT AS (record ->> 'model') VIRTUAL
) STRICT, WITHOUT ROWID;
CREATE INDEX failure_model ON failure (model);

CREATE TABLE imported (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL
) STRICT, WITHOUT ROWID;

-- Records from a device without radio that no longer fitted when they arrived. They are kept
-- until a person settles them; they are not derived from the journal.
CREATE TABLE set_aside (
    id BLOB PRIMARY KEY,
    received_ms INTEGER NOT NULL,
    person TEXT NOT NULL,
    device TEXT NOT NULL,
    command TEXT NOT NULL,
    input TEXT NOT NULL,
    refusal TEXT NOT NULL,
    settled TEXT
) STRICT;
