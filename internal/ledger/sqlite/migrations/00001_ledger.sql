-- +goose Up

-- 0x42544c47, "BTLG", at offset 68 of the file says that it is a ledger;
-- user_version is the number of the newest migration applied.
PRAGMA application_id = 1112820807;
PRAGMA user_version = 1;

CREATE TABLE chains (
    id      TEXT    NOT NULL PRIMARY KEY,
    ordinal INTEGER NOT NULL UNIQUE, -- 1 for a new ledger, +1 for each copy it came through
    n       INTEGER NOT NULL,        -- the head: number and hash of the newest record
    sha256  BLOB    NOT NULL
) STRICT;

-- place is what tells this copy of the file from others; empty in a fresh copy.
CREATE TABLE ledger (
    one   INTEGER NOT NULL PRIMARY KEY CHECK (one = 1),
    chain TEXT    NOT NULL REFERENCES chains (id),
    place TEXT    NOT NULL
) STRICT;

CREATE TABLE records (
    chain          TEXT    NOT NULL REFERENCES chains (id),
    n              INTEGER NOT NULL,
    at_us          INTEGER NOT NULL, -- UTC, µs since 1970
    kind           TEXT    NOT NULL,
    content        BLOB    NOT NULL,
    content_sha256 BLOB    NOT NULL,
    prev_sha256    BLOB    NOT NULL,
    sha256         BLOB    NOT NULL,
    UNIQUE (chain, n)
) STRICT;
CREATE INDEX records_kind ON records (kind, at_us, chain, n);

-- What a record concerns: derived from its content.
CREATE TABLE about (
    chain   TEXT    NOT NULL,
    n       INTEGER NOT NULL,
    subject TEXT    NOT NULL,
    PRIMARY KEY (chain, n, subject),
    FOREIGN KEY (chain, n) REFERENCES records (chain, n)
) STRICT, WITHOUT ROWID;
CREATE INDEX about_subject ON about (subject, chain, n);

-- Erasable: salt and body become NULL.
CREATE TABLE texts (
    id     TEXT    NOT NULL PRIMARY KEY,
    chain  TEXT    NOT NULL,
    n      INTEGER NOT NULL,
    salt   BLOB,
    body   TEXT,
    FOREIGN KEY (chain, n) REFERENCES records (chain, n)
) STRICT;
CREATE INDEX texts_record ON texts (chain, n);

-- The list of holds: derived from their records, so that a page of it is quick.
CREATE TABLE holds (
    id          TEXT    NOT NULL PRIMARY KEY,
    begin_chain TEXT    NOT NULL,
    begin_n     INTEGER NOT NULL,
    end_chain   TEXT,
    end_n       INTEGER,
    writer      TEXT    NOT NULL,
    started_us  INTEGER NOT NULL,
    ended_us    INTEGER,
    gauge       TEXT    NOT NULL,
    bench       TEXT    NOT NULL,
    instrument  TEXT    NOT NULL,
    joint       TEXT    NOT NULL,
    section     TEXT    NOT NULL,
    occasion    TEXT    NOT NULL, -- as_found, as_left
    ticket      TEXT    NOT NULL,
    sign        TEXT    NOT NULL DEFAULT '',
    verdict     TEXT    NOT NULL DEFAULT '',
    leak_rate   REAL, -- Pa·m³/s
    leak_rate_u REAL,
    sccm        REAL,
    sccm_u      REAL,
    readings    INTEGER NOT NULL DEFAULT 0,
    lost        INTEGER NOT NULL DEFAULT 0,
    interrupted INTEGER NOT NULL DEFAULT 0 CHECK (interrupted IN (0, 1)),
    voided      INTEGER NOT NULL DEFAULT 0 CHECK (voided IN (0, 1)),
    FOREIGN KEY (begin_chain, begin_n) REFERENCES records (chain, n),
    FOREIGN KEY (end_chain, end_n) REFERENCES records (chain, n)
) STRICT;
CREATE INDEX holds_ticket ON holds (ticket, id);
CREATE INDEX holds_joint ON holds (instrument, joint, id);
CREATE INDEX holds_gauge ON holds (gauge, id);
CREATE INDEX holds_verdict ON holds (verdict, id);
CREATE INDEX holds_open ON holds (writer) WHERE ended_us IS NULL;

CREATE TABLE blocks (
    hold    TEXT    NOT NULL REFERENCES holds (id),
    first   INTEGER NOT NULL,
    count   INTEGER NOT NULL,
    data    BLOB    NOT NULL,
    running BLOB    NOT NULL,
    UNIQUE (hold, first)
) STRICT;

-- A writer with open holds advances its beat in every commit.
CREATE TABLE writers (
    id   TEXT    NOT NULL PRIMARY KEY,
    beat INTEGER NOT NULL
) STRICT;

-- +goose StatementBegin
CREATE TRIGGER records_update BEFORE UPDATE ON records
BEGIN SELECT RAISE(ABORT, 'records are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER records_delete BEFORE DELETE ON records
BEGIN SELECT RAISE(ABORT, 'records are never deleted'); END;
-- +goose StatementEnd
-- REPLACE deletes without a delete trigger.
-- +goose StatementBegin
CREATE TRIGGER records_insert BEFORE INSERT ON records
WHEN EXISTS (SELECT 1 FROM records WHERE chain = NEW.chain AND n = NEW.n)
BEGIN SELECT RAISE(ABORT, 'records are never replaced'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER blocks_update BEFORE UPDATE ON blocks
BEGIN SELECT RAISE(ABORT, 'readings are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER blocks_delete BEFORE DELETE ON blocks
BEGIN SELECT RAISE(ABORT, 'readings are never deleted'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER blocks_insert BEFORE INSERT ON blocks
WHEN EXISTS (SELECT 1 FROM holds WHERE id = NEW.hold AND ended_us IS NOT NULL)
BEGIN SELECT RAISE(ABORT, 'an ended hold takes no readings'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER chains_update BEFORE UPDATE ON chains
WHEN NEW.id <> OLD.id OR NEW.ordinal <> OLD.ordinal OR NEW.n <= OLD.n
BEGIN SELECT RAISE(ABORT, 'a chain only grows'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER chains_delete BEFORE DELETE ON chains
BEGIN SELECT RAISE(ABORT, 'chains are never deleted'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER about_update BEFORE UPDATE ON about
BEGIN SELECT RAISE(ABORT, 'records are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER about_delete BEFORE DELETE ON about
BEGIN SELECT RAISE(ABORT, 'records are never deleted'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER texts_update BEFORE UPDATE ON texts
WHEN NEW.id <> OLD.id OR NEW.chain <> OLD.chain OR NEW.n <> OLD.n
    OR NEW.salt IS NOT NULL OR NEW.body IS NOT NULL
BEGIN SELECT RAISE(ABORT, 'a text may only be erased'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER texts_delete BEFORE DELETE ON texts
BEGIN SELECT RAISE(ABORT, 'a text may only be erased'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER holds_delete BEFORE DELETE ON holds
BEGIN SELECT RAISE(ABORT, 'holds are never deleted'); END;
-- +goose StatementEnd
