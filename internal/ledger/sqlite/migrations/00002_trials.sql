-- +goose Up

PRAGMA user_version = 2;

-- The list of trials: derived from their records, so that a page of it is quick. Each
-- trial once, with the place of its newest record in the order of (UTC, chain, n).
CREATE TABLE trials (
    id         TEXT    NOT NULL PRIMARY KEY,
    at_us      INTEGER NOT NULL,
    chain      TEXT    NOT NULL,
    n          INTEGER NOT NULL,
    instrument TEXT    NOT NULL,
    joint      TEXT    NOT NULL,
    ticket     TEXT    NOT NULL,
    verdict    TEXT    NOT NULL,
    FOREIGN KEY (chain, n) REFERENCES records (chain, n)
) STRICT;

-- What cannot be read is left to the audit, which names it.
INSERT INTO trials (id, at_us, chain, n, instrument, joint, ticket, verdict)
SELECT coalesce(content ->> 'id', ''), at_us, chain, n, coalesce(content ->> 'instrument', ''),
    coalesce(content ->> 'joint', ''), coalesce(content ->> 'ticket', ''), coalesce(content ->> '$.result.verdict', '')
FROM (SELECT at_us, chain, n, CAST(content AS TEXT) AS content FROM records WHERE kind = 'trial')
WHERE json_valid(content)
ORDER BY at_us, chain, n
ON CONFLICT (id) DO UPDATE SET at_us = excluded.at_us, chain = excluded.chain, n = excluded.n,
    instrument = excluded.instrument, joint = excluded.joint, ticket = excluded.ticket, verdict = excluded.verdict;

CREATE INDEX trials_at ON trials (at_us, chain, n);
CREATE INDEX trials_ticket ON trials (ticket, at_us, chain, n);
CREATE INDEX trials_joint ON trials (joint, instrument, at_us, chain, n);

-- +goose StatementBegin
CREATE TRIGGER trials_delete BEFORE DELETE ON trials
BEGIN SELECT RAISE(ABORT, 'trials are never deleted'); END;
-- +goose StatementEnd
