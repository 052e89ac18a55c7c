package sqlite

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"

	"boretight/internal/ledger"
)

// trialPage is how many records are read at once while looking for trials.
const trialPage = 200

// Trials implements [ledger.Store]. Those of a ticket or a joint come by what records
// are about; the rest by walking back in time, which a page's limit keeps short. The
// first record of a trial that such a walk meets is its newest, unless the walk begins
// in the middle.
func (db *DB) Trials(ctx context.Context, f ledger.Filter) ([]ledger.TrialEntry, error) {
	at := trialCursor{us: 1<<63 - 1}
	if f.Before != "" {
		r, err := db.newestOfTrial(ctx, f.Before)
		if err != nil {
			return nil, fmt.Errorf("list trials of ledger %s before %s: %w", db.path, f.Before, classify(err))
		}
		at = cursorOf(r)
	}
	found, err := db.trialsFrom(ctx, at, f)
	if err != nil {
		return nil, fmt.Errorf("list trials of ledger %s: %w", db.path, classify(err))
	}
	return found, nil
}

func (db *DB) trialsFrom(ctx context.Context, at trialCursor, f ledger.Filter) (found []ledger.TrialEntry, err error) {
	limit := cmp.Or(f.Limit, defaultLimit)
	met := map[string]bool{}
	for {
		page, err := db.trialsBefore(ctx, at, cmp.Or(f.Ticket, f.Of()))
		if err != nil {
			return nil, err
		}
		for _, r := range page {
			at = cursorOf(r)
			t, err := entryOf(r)
			if err != nil {
				return nil, err
			}
			if met[t.ID] || !shown(t.Trial, f) {
				met[t.ID] = true
				continue
			}
			met[t.ID] = true
			if f.Before != "" {
				newest, err := db.newestOfTrial(ctx, t.ID)
				if err != nil {
					return nil, err
				}
				if newest.Head() != r.Head() {
					continue // it stands on a page before
				}
			}
			if found = append(found, t); len(found) == limit {
				return found, nil
			}
		}
		if len(page) < trialPage {
			return found, nil
		}
	}
}

func entryOf(r ledger.Record) (ledger.TrialEntry, error) {
	t := ledger.TrialEntry{At: r.At}
	return t, decode(r.Content, &t.Trial)
}

func shown(t ledger.Trial, f ledger.Filter) bool {
	match := func(want, got string) bool { return want == "" || want == got }
	return match(f.Ticket, t.Ticket) && match(f.Instrument, t.Instrument) && match(f.Joint, t.Joint) &&
		match(f.Verdict, string(t.Result.Verdict))
}

// trialCursor is a place in the order of (UTC, chain, n).
type trialCursor struct {
	us    int64
	chain string
	n     int64
}

func cursorOf(r ledger.Record) trialCursor { return trialCursor{r.At.UnixMicro(), r.Chain, r.N} }

// trialsBefore returns a page of records of trials, the newest first; with a subject those
// about it. CROSS JOIN makes SQLite begin with what is about the subject, where it would
// else walk through all trials for the sake of their order; what is sorted are places
// alone, not contents.
func (db *DB) trialsBefore(ctx context.Context, at trialCursor, subject string) ([]ledger.Record, error) {
	const order = " ORDER BY r.at_us DESC, r.chain DESC, r.n DESC"
	const earlier = "r.kind = 'trial' AND (r.at_us, r.chain, r.n) < ($1, $2, $3)"
	query := "SELECT " + recordColumns + " FROM records r WHERE " + earlier + order + " LIMIT $4"
	args := []any{at.us, at.chain, at.n, trialPage}
	if subject != "" {
		query = `WITH places AS (SELECT r.chain, r.n FROM about a CROSS JOIN records r ON r.chain = a.chain AND r.n = a.n
			WHERE a.subject = $5 AND ` + earlier + order + ` LIMIT $4)
			SELECT ` + recordColumns + " FROM places p CROSS JOIN records r ON r.chain = p.chain AND r.n = p.n" + order
		args = append(args, subject)
	}
	rows, err := db.read.QueryContext(ctx, query, args...)
	return collect(rows, err, scanRecords)
}

// newestOfTrial returns the newest record of a trial, or one that is about what else has
// that identity.
func (db *DB) newestOfTrial(ctx context.Context, id string) (ledger.Record, error) {
	r, err := scanRecord(db.read.QueryRowContext(ctx, "SELECT "+recordColumns+` FROM about a
		CROSS JOIN records r ON r.chain = a.chain AND r.n = a.n
		WHERE a.subject = $1 AND r.kind = 'trial' ORDER BY r.at_us DESC, r.chain DESC, r.n DESC LIMIT 1`, id))
	if errors.Is(err, sql.ErrNoRows) {
		err = ledger.ErrNotFound
	}
	return r, err
}
