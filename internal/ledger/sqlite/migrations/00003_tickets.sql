-- +goose Up

PRAGMA user_version = 3;

-- Lists derived from ticket, work and customer records. Each thing once, with the place of
-- the newest record that tells of it in the order of (UTC, chain, n).
CREATE TABLE tickets (
    id         TEXT    NOT NULL PRIMARY KEY,
    at_us      INTEGER NOT NULL,
    chain      TEXT    NOT NULL,
    n          INTEGER NOT NULL,
    opened_us  INTEGER NOT NULL,
    closed_us  INTEGER,          -- NULL while open
    instrument TEXT    NOT NULL, -- the instrument's own identity
    customer   TEXT    NOT NULL, -- the customer's, or empty
    FOREIGN KEY (chain, n) REFERENCES records (chain, n)
) STRICT;
CREATE INDEX tickets_opened ON tickets (opened_us, id);
CREATE INDEX tickets_open ON tickets (opened_us, id) WHERE closed_us IS NULL;
CREATE INDEX tickets_instrument ON tickets (instrument, opened_us, id);
CREATE INDEX tickets_customer ON tickets (customer);

CREATE TABLE instruments (
    id    TEXT    NOT NULL PRIMARY KEY,
    at_us INTEGER NOT NULL,
    chain TEXT    NOT NULL, -- of a ticket record
    n     INTEGER NOT NULL,
    FOREIGN KEY (chain, n) REFERENCES records (chain, n)
) STRICT;
CREATE INDEX instruments_at ON instruments (at_us, chain, n);

CREATE TABLE customers (
    id      TEXT    NOT NULL PRIMARY KEY,
    at_us   INTEGER NOT NULL,
    chain   TEXT    NOT NULL,
    n       INTEGER NOT NULL,
    name    TEXT    NOT NULL, -- identity of an erasable text, or empty
    contact TEXT    NOT NULL, -- the same
    FOREIGN KEY (chain, n) REFERENCES records (chain, n)
) STRICT;

-- By what words a ticket is found, its customer's among them; those go when the customer
-- is erased.
CREATE TABLE words (
    word     TEXT    NOT NULL,
    ticket   TEXT    NOT NULL REFERENCES tickets (id),
    template INTEGER NOT NULL, -- 1: a word of the template alone, which holds tell themselves
    PRIMARY KEY (word, ticket)
) STRICT, WITHOUT ROWID;
CREATE INDEX words_ticket ON words (ticket, word, template);

-- What lists of holds and trials are asked for.
ALTER TABLE holds ADD COLUMN closure TEXT NOT NULL DEFAULT '';
UPDATE holds SET closure = (SELECT coalesce(CAST(content AS TEXT) ->> 'closure', '') FROM records
    WHERE chain = begin_chain AND n = begin_n)
WHERE (SELECT json_valid(CAST(content AS TEXT)) FROM records WHERE chain = begin_chain AND n = begin_n);

ALTER TABLE trials ADD COLUMN section TEXT NOT NULL DEFAULT '';
ALTER TABLE trials ADD COLUMN occasion TEXT NOT NULL DEFAULT '';
UPDATE trials SET (section, occasion) = (SELECT coalesce(CAST(content AS TEXT) ->> 'section', ''),
    coalesce(CAST(content AS TEXT) ->> 'when', '') FROM records r WHERE r.chain = trials.chain AND r.n = trials.n)
WHERE (SELECT json_valid(CAST(content AS TEXT)) FROM records r WHERE r.chain = trials.chain AND r.n = trials.n);

-- Holds and trials of one class are those alike in all that these indices begin with.
DROP INDEX holds_joint;
DROP INDEX holds_verdict;
CREATE INDEX holds_class ON holds (instrument, joint, section, occasion, verdict, id);
DROP INDEX trials_joint;
CREATE INDEX trials_class ON trials (instrument, joint, section, occasion, verdict, at_us, chain, n);

-- The numbers of labels of the form T-1001, so that a new ticket takes none that was used.
CREATE INDEX tickets_number ON tickets (CAST(substr(id, 3) AS INTEGER))
WHERE id GLOB 'T-[0-9]*' AND length(id) <= 17 AND NOT substr(id, 3) GLOB '*[^0-9]*';
CREATE INDEX holds_number ON holds (CAST(substr(ticket, 3) AS INTEGER))
WHERE ticket GLOB 'T-[0-9]*' AND length(ticket) <= 17 AND NOT substr(ticket, 3) GLOB '*[^0-9]*';
CREATE INDEX trials_number ON trials (CAST(substr(ticket, 3) AS INTEGER))
WHERE ticket GLOB 'T-[0-9]*' AND length(ticket) <= 17 AND NOT substr(ticket, 3) GLOB '*[^0-9]*';

-- +goose StatementBegin
CREATE TRIGGER tickets_delete BEFORE DELETE ON tickets
BEGIN SELECT RAISE(ABORT, 'tickets are never deleted'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER instruments_delete BEFORE DELETE ON instruments
BEGIN SELECT RAISE(ABORT, 'instruments are never deleted'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER customers_delete BEFORE DELETE ON customers
BEGIN SELECT RAISE(ABORT, 'customers are erased, not deleted'); END;
-- +goose StatementEnd
