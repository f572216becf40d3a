-- +goose Up
-- docs/format/notebook.md explains this file.

-- Every kind of record is kept in the same way: its JSON is the record, and what
-- lists are filtered and sorted by is generated from it. It comes last, so that
-- what stands before it is read without it.

CREATE TABLE lamp (
	id         INTEGER PRIMARY KEY,
	revision   INTEGER NOT NULL,
	trashed    INTEGER,
	name       TEXT NOT NULL GENERATED ALWAYS AS (body ->> '$.name') STORED,
	technology TEXT GENERATED ALWAYS AS (body ->> '$.technology') STORED,
	assay      INTEGER GENERATED ALWAYS AS (body ->> '$.primary_assay') STORED,
	body       TEXT NOT NULL CHECK (json_valid(body))
) STRICT;

CREATE TABLE instrument (
	id       INTEGER PRIMARY KEY,
	revision INTEGER NOT NULL,
	trashed  INTEGER,
	name     TEXT NOT NULL GENERATED ALWAYS AS (body ->> '$.name') STORED,
	body     TEXT NOT NULL CHECK (json_valid(body))
) STRICT;

CREATE TABLE reference (
	id       INTEGER PRIMARY KEY,
	revision INTEGER NOT NULL,
	trashed  INTEGER,
	name     TEXT NOT NULL GENERATED ALWAYS AS (body ->> '$.name') STORED,
	body     TEXT NOT NULL CHECK (json_valid(body))
) STRICT;

-- readings and chain are the number and the sum of the last reading.
CREATE TABLE sitting (
	id       INTEGER PRIMARY KEY,
	revision INTEGER NOT NULL,
	trashed  INTEGER,
	name     TEXT NOT NULL GENERATED ALWAYS AS (body ->> '$.title') STORED,
	lamp     INTEGER NOT NULL GENERATED ALWAYS AS (body ->> '$.lamp') STORED REFERENCES lamp,
	readings INTEGER NOT NULL DEFAULT 0,
	chain    BLOB CHECK (length(chain) = 32),
	body     TEXT NOT NULL CHECK (json_valid(body))
) STRICT;
CREATE INDEX sitting_lamp ON sitting (lamp);

CREATE TABLE assay (
	id       INTEGER PRIMARY KEY,
	revision INTEGER NOT NULL,
	trashed  INTEGER,
	name     TEXT NOT NULL GENERATED ALWAYS AS (body ->> '$.made') STORED,
	lamp     INTEGER NOT NULL GENERATED ALWAYS AS (body ->> '$.lamp') STORED REFERENCES lamp,
	sitting  INTEGER GENERATED ALWAYS AS (body ->> '$.sitting') STORED REFERENCES sitting,
	figures  TEXT GENERATED ALWAYS AS (body -> '$.figures') STORED,
	strip    TEXT GENERATED ALWAYS AS (body -> '$.strip') STORED,
	body     TEXT NOT NULL CHECK (json_valid(body))
) STRICT;
CREATE INDEX assay_lamp ON assay (lamp, id) WHERE trashed IS NULL;
CREATE INDEX assay_sitting ON assay (sitting);

CREATE TABLE comparison (
	id       INTEGER PRIMARY KEY,
	revision INTEGER NOT NULL,
	trashed  INTEGER,
	name     TEXT NOT NULL GENERATED ALWAYS AS (body ->> '$.title') STORED,
	body     TEXT NOT NULL CHECK (json_valid(body))
) STRICT;

CREATE TABLE publication (
	id       INTEGER PRIMARY KEY,
	revision INTEGER NOT NULL,
	trashed  INTEGER,
	name     TEXT NOT NULL GENERATED ALWAYS AS (body ->> '$.title') STORED,
	body     TEXT NOT NULL CHECK (json_valid(body))
) STRICT;

-- The journal and the feed. before and after are bodies; a change that did not
-- alter one leaves both empty. sum is over all the rest.
CREATE TABLE change (
	seq    INTEGER PRIMARY KEY AUTOINCREMENT,
	at     INTEGER NOT NULL,
	action TEXT NOT NULL CHECK (action IN ('added', 'updated', 'trashed', 'restored', 'appended')),
	kind   TEXT NOT NULL,
	id     INTEGER NOT NULL,
	before TEXT,
	after  TEXT,
	undoes INTEGER REFERENCES change,
	sum    BLOB NOT NULL CHECK (length(sum) = 32)
) STRICT;
CREATE UNIQUE INDEX change_appended ON change (id) WHERE action = 'appended';
CREATE INDEX change_undoes ON change (undoes) WHERE undoes IS NOT NULL;

CREATE TABLE file (
	sha256 TEXT PRIMARY KEY,
	media  TEXT NOT NULL,
	bytes  BLOB NOT NULL
) STRICT;

-- The wavelengths of spectra, each axis once.
CREATE TABLE axis (
	id     INTEGER PRIMARY KEY,
	sha256 TEXT NOT NULL UNIQUE,
	packed BLOB NOT NULL
) STRICT;

-- id is sitting·2³² + number, so the readings of a sitting lie together and in
-- order without an index.
CREATE TABLE reading (
	id      INTEGER PRIMARY KEY,
	chain   BLOB NOT NULL CHECK (length(chain) = 32),
	axis    INTEGER REFERENCES axis,
	body    TEXT NOT NULL CHECK (json_valid(body)),
	packed  BLOB,
	sitting INTEGER NOT NULL GENERATED ALWAYS AS (id >> 32) VIRTUAL REFERENCES sitting,
	channel TEXT NOT NULL GENERATED ALWAYS AS (body ->> '$.channel') VIRTUAL,
	at      INTEGER NOT NULL GENERATED ALWAYS AS (body ->> '$.at') VIRTUAL,
	value   ANY GENERATED ALWAYS AS (body ->> '$.values[0].v') VIRTUAL,
	marked  INTEGER NOT NULL GENERATED ALWAYS AS (body ->> '$.note' IS NOT NULL OR body ->> '$.flags' IS NOT NULL) VIRTUAL
) STRICT;
CREATE INDEX reading_drawn ON reading (sitting, channel, at);
CREATE INDEX reading_marked ON reading (id) WHERE marked;

-- +goose StatementBegin
CREATE TRIGGER reading_is_kept BEFORE UPDATE ON reading
BEGIN SELECT RAISE(ABORT, 'a reading is not changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER reading_stays BEFORE DELETE ON reading
BEGIN SELECT RAISE(ABORT, 'a reading is not removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER assay_is_kept BEFORE UPDATE OF body ON assay
BEGIN SELECT RAISE(ABORT, 'an assay is not changed'); END;
-- +goose StatementEnd
