package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"boretight/internal/ledger"
)

const defaultLimit = 100

const listColumns = `id, begin_chain, begin_n, coalesce(end_chain, ''), coalesce(end_n, 0), writer,
	started_us, ended_us, gauge, bench, instrument, joint, section, closure, occasion, ticket, sign, verdict,
	leak_rate, leak_rate_u, sccm, sccm_u, readings, lost, interrupted, voided`

func scanListed(row scanner) (ledger.Listed, error) {
	var l ledger.Listed
	var started, interrupted, voided int64
	var ended sql.NullInt64
	err := row.Scan(&l.ID, &l.Begin.Chain, &l.Begin.N, &l.End.Chain, &l.End.N, &l.Writer,
		&started, &ended, &l.Gauge, &l.Bench, &l.Instrument, &l.Joint, &l.Section, &l.Closure, &l.When, &l.Ticket, &l.Sign, &l.Verdict,
		&l.LeakRate, &l.U, &l.SCCM, &l.USCCM, &l.Readings, &l.Lost, &interrupted, &voided)
	l.Interrupted, l.Voided = interrupted != 0, voided != 0
	l.Started = micro(started)
	if ended.Valid {
		l.Ended = micro(ended.Int64)
	}
	return l, err
}

const listedQuery = "SELECT " + listColumns + " FROM holds WHERE id = $1"

// listed returns the row of a hold, or nil.
func listed(ctx context.Context, q querier, id string) (*ledger.Listed, error) {
	return oneListed(q.QueryRowContext(ctx, listedQuery, id))
}

func oneListed(row scanner) (*ledger.Listed, error) {
	l, err := scanListed(row)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	return &l, err
}

// where collects conditions with their numbered arguments.
type where struct {
	conditions []string
	args       []any
}

// add takes a condition with %s for its argument, unless the argument is empty.
func (w *where) add(condition, arg string) {
	if arg == "" {
		return
	}
	w.conditions = append(w.conditions, fmt.Sprintf(condition, w.number(arg)))
}

func (w *where) number(arg any) string {
	w.args = append(w.args, arg)
	return fmt.Sprintf("$%d", len(w.args))
}

// list takes several values as one argument: to read a mark for each takes SQLite longer
// than to find what most of them stand for.
func (w *where) list(values []string) string {
	text, err := json.Marshal(values)
	if err != nil {
		text = []byte("[]") // strings can always be written
	}
	return "(SELECT value FROM json_each(" + w.number(string(text)) + "))"
}

func (w *where) String() string {
	if len(w.conditions) == 0 {
		return ""
	}
	return " WHERE " + strings.Join(w.conditions, " AND ")
}

// mostAtOnce bounds the entries that one query asks for by their identities.
const mostAtOnce = 1000

// Holds implements [ledger.Store]. Identities sort by time.
func (db *DB) Holds(ctx context.Context, f ledger.Filter) ([]ledger.Entry, error) {
	found, err := view(ctx, db, func(tx *sql.Tx) ([]ledger.Entry, error) { return holds(ctx, tx, f) })
	if err != nil {
		return nil, fmt.Errorf("list holds of ledger %s: %w", db.path, classify(err))
	}
	return found, nil
}

func holds(ctx context.Context, tx *sql.Tx, f ledger.Filter) ([]ledger.Entry, error) {
	var before *rank
	if f.Before != "" {
		before = &rank{chain: f.Before}
	}
	ids, err := find(ctx, tx, holdListing, f, before)
	if err != nil {
		return nil, err
	}
	all := make([]ledger.Entry, 0, len(ids))
	for some := range slices.Chunk(ids, mostAtOnce) {
		var w where
		query := "SELECT " + listColumns + " FROM holds WHERE id IN " + w.list(some) + " ORDER BY id DESC"
		rows, err := tx.QueryContext(ctx, query, w.args...)
		entries, err := collect(rows, err, func(rows *sql.Rows) (ledger.Entry, error) {
			l, err := scanListed(rows)
			return l.Entry, err
		})
		if err != nil {
			return nil, err
		}
		all = append(all, entries...)
	}
	return all, nil
}

// Voided implements [ledger.Store].
func (db *DB) Voided(ctx context.Context, holds []string) ([]string, error) {
	if len(holds) == 0 {
		return nil, nil
	}
	var w where
	query := "SELECT id FROM holds WHERE voided = 1 AND id IN " + w.list(holds) + " ORDER BY id"
	rows, err := db.read.QueryContext(ctx, query, w.args...)
	ids, err := collect(rows, err, scanText)
	if err != nil {
		return nil, fmt.Errorf("list voided holds of ledger %s: %w", db.path, err)
	}
	return ids, nil
}
