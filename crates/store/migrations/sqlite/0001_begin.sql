-- Sites and visits as documents, readings and observations as rows that are only ever added. A seal is a digest of its
-- row: see seal.rs.
-- Never edit a migration that was released: add the next one.

PRAGMA application_id = 0x57575354; -- "WWST", as lite/file.rs looks for it

CREATE TABLE site (
    id        BLOB PRIMARY KEY NOT NULL,
    name      TEXT NOT NULL,
    region    TEXT NOT NULL,
    n_outlets INTEGER NOT NULL,
    revision  INTEGER NOT NULL,
    updated   TEXT NOT NULL,
    seal      BLOB NOT NULL
) STRICT;

-- Every revision of a site's document as it was written.
CREATE TABLE site_text (
    site     BLOB NOT NULL REFERENCES site (id),
    revision INTEGER NOT NULL,
    at       TEXT NOT NULL,
    text     TEXT NOT NULL,
    seal     BLOB NOT NULL,
    PRIMARY KEY (site, revision)
) STRICT, WITHOUT ROWID;

-- What stands above the readings of a visit. site_revision: what it was closed with; none while it is open.
CREATE TABLE visit (
    id            BLOB PRIMARY KEY NOT NULL,
    site          BLOB NOT NULL REFERENCES site (id),
    number        INTEGER NOT NULL,
    revision      INTEGER NOT NULL,
    head          TEXT NOT NULL,
    opened        TEXT NOT NULL,
    closed        TEXT,
    site_revision INTEGER,
    seal          BLOB NOT NULL,
    UNIQUE (site, number),
    CHECK ((closed IS NULL) = (site_revision IS NULL))
) STRICT;

-- Readings and observations. text: as a person wrote it, where that is not what we would write for the body.
CREATE TABLE entry (
    visit    BLOB NOT NULL REFERENCES visit (id),
    seq      INTEGER NOT NULL,
    key      BLOB NOT NULL UNIQUE,
    kind     TEXT NOT NULL CHECK (kind IN ('reading', 'observation')),
    id       TEXT NOT NULL,
    place    TEXT,
    corrects TEXT,
    at       TEXT NOT NULL,
    body     TEXT NOT NULL CHECK (json_valid(body)),
    text     TEXT,
    seal     BLOB NOT NULL,
    PRIMARY KEY (visit, seq),
    UNIQUE (visit, kind, id)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER entry_is_not_edited BEFORE UPDATE ON entry
BEGIN SELECT RAISE(ABORT, 'a reading is never edited'); END;

CREATE TRIGGER entry_is_not_removed BEFORE DELETE ON entry
BEGIN SELECT RAISE(ABORT, 'a reading is never removed'); END;

-- Files by their SHA-256.
CREATE TABLE content (
    hash  BLOB PRIMARY KEY NOT NULL,
    kind  TEXT NOT NULL,
    bytes BLOB NOT NULL
) STRICT;

CREATE TABLE attachment (
    key   BLOB PRIMARY KEY NOT NULL,
    visit BLOB NOT NULL REFERENCES visit (id),
    seq   INTEGER NOT NULL,
    place TEXT NOT NULL,
    note  TEXT NOT NULL,
    at    TEXT NOT NULL,
    hash  BLOB NOT NULL REFERENCES content (hash),
    seal  BLOB NOT NULL,
    UNIQUE (visit, seq)
) STRICT;

CREATE TABLE device (
    id        BLOB PRIMARY KEY NOT NULL,
    name      TEXT NOT NULL,
    token     BLOB NOT NULL UNIQUE,
    created   TEXT NOT NULL,
    last_seen TEXT,
    revoked   TEXT
) STRICT;
