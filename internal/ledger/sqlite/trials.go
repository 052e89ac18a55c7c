package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"boretight/internal/ledger"
)

// Trials implements [ledger.Store].
func (db *DB) Trials(ctx context.Context, f ledger.Filter) ([]ledger.TrialEntry, error) {
	found, err := view(ctx, db, func(tx *sql.Tx) ([]ledger.TrialEntry, error) { return listTrials(ctx, tx, f) })
	if err != nil {
		return nil, fmt.Errorf("list trials of ledger %s: %w", db.path, classify(err))
	}
	return found, nil
}

func listTrials(ctx context.Context, tx *sql.Tx, f ledger.Filter) ([]ledger.TrialEntry, error) {
	var before *rank
	if f.Before != "" {
		t, err := oneTrial(tx.QueryRowContext(ctx, trialQuery, f.Before))
		if err == nil && t == nil {
			err = ledger.ErrNotFound
		}
		if err != nil {
			return nil, fmt.Errorf("before trial %s: %w", f.Before, err)
		}
		before = &rank{t.At.UnixMicro(), t.Newest.Chain, t.Newest.N}
	}
	ids, err := find(ctx, tx, trialListing, f, before)
	if err != nil {
		return nil, err
	}
	all := make([]ledger.TrialEntry, 0, len(ids))
	for some := range slices.Chunk(ids, mostAtOnce) {
		var w where
		w.conditions = append(w.conditions, "t.id IN "+w.list(some))
		entries, err := trials(ctx, tx, w, "t.at_us DESC, t.chain DESC, t.n DESC", len(some))
		if err != nil {
			return nil, err
		}
		all = append(all, entries...)
	}
	return all, nil
}

// trials reads the newest records of listed trials. CROSS JOIN makes SQLite begin with the
// list, which has them in order.
func trials(ctx context.Context, q querier, w where, order string, limit int) ([]ledger.TrialEntry, error) {
	query := "SELECT " + recordColumns + " FROM trials t CROSS JOIN records r ON r.chain = t.chain AND r.n = t.n" +
		w.String() + " ORDER BY " + order + " LIMIT " + w.number(limit)
	rows, err := q.QueryContext(ctx, query, w.args...)
	return collect(rows, err, func(rows *sql.Rows) (ledger.TrialEntry, error) {
		r, err := scanRecord(rows)
		if err != nil {
			return ledger.TrialEntry{}, err
		}
		t := ledger.TrialEntry{At: r.At}
		return t, decode(r.Content, &t.Trial)
	})
}

const trialColumns = "id, at_us, chain, n, instrument, joint, section, occasion, ticket, verdict"

const trialQuery = "SELECT " + trialColumns + " FROM trials WHERE id = $1"

func scanTrial(row scanner) (ledger.ListedTrial, error) {
	var t ledger.ListedTrial
	var us int64
	err := row.Scan(&t.ID, &us, &t.Newest.Chain, &t.Newest.N, &t.Instrument, &t.Joint, &t.Section, &t.When, &t.Ticket, &t.Verdict)
	t.At = micro(us)
	return t, err
}

func oneTrial(row scanner) (*ledger.ListedTrial, error) {
	t, err := scanTrial(row)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	return &t, err
}

// listTrial puts a trial into the list, or in the place of what it was before. A clock that
// was set back does not make an older record of it the newest.
func (a *appender) listTrial(ctx context.Context, r ledger.Record) error {
	t, err := ledger.NewListedTrial(r)
	if err != nil {
		return err
	}
	_, err = a.exec(ctx, "INSERT INTO trials ("+trialColumns+`) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)
		ON CONFLICT (id) DO UPDATE SET at_us = excluded.at_us, chain = excluded.chain, n = excluded.n,
			instrument = excluded.instrument, joint = excluded.joint, section = excluded.section, occasion = excluded.occasion, ticket = excluded.ticket, verdict = excluded.verdict
		WHERE (excluded.at_us, excluded.chain, excluded.n) > (trials.at_us, trials.chain, trials.n)`,
		t.ID, t.At.UnixMicro(), t.Newest.Chain, t.Newest.N, t.Instrument, t.Joint, t.Section, t.When, t.Ticket, t.Verdict)
	if err != nil {
		return fmt.Errorf("list trial %s: %w", t.ID, err)
	}
	return nil
}

// listTrials reads ahead the rows that the trial records after n up to last will be
// compared with.
func (s *source) listTrials(ctx context.Context, chain string, n, last int64) error {
	s.trials = make(map[string]*ledger.ListedTrial)
	rows, err := s.tx.QueryContext(ctx, "SELECT "+trialColumns+` FROM trials WHERE id IN (
		SELECT a.subject FROM records r CROSS JOIN about a ON a.chain = r.chain AND a.n = r.n
		WHERE r.chain = $1 AND r.n > $2 AND r.n <= $3 AND +r.kind = $4)`, chain, n, last, string(ledger.TrialDone))
	_, err = collect(rows, err, func(rows *sql.Rows) (struct{}, error) {
		t, err := scanTrial(rows)
		s.trials[t.ID] = &t
		return struct{}{}, err
	})
	return err
}

func (s *source) ListedTrial(ctx context.Context, id string) (*ledger.ListedTrial, error) {
	if t := s.trials[id]; t != nil {
		return t, nil
	}
	return oneTrial(s.tx.QueryRowContext(ctx, trialQuery, id))
}

func (s *source) TrialsListed(ctx context.Context) (n int64, err error) {
	return n, s.tx.QueryRowContext(ctx, "SELECT count(*) FROM trials").Scan(&n)
}
