package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"boretight/internal/ledger"
	"boretight/internal/trace"
)

// querier is a pool or a transaction.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// collect reads all rows of a query.
func collect[T any](rows *sql.Rows, err error, one func(*sql.Rows) (T, error)) ([]T, error) {
	if err != nil {
		return nil, classify(err)
	}
	defer rows.Close()
	var all []T
	for rows.Next() {
		v, err := one(rows)
		if err != nil {
			return nil, classify(err)
		}
		all = append(all, v)
	}
	return all, classify(rows.Err())
}

func decode(content []byte, to any) error {
	if err := json.Unmarshal(content, to); err != nil {
		return fmt.Errorf("read content of a record: %w: %w", ledger.ErrDamaged, err)
	}
	return nil
}

const recordColumns = "r.chain, r.n, r.at_us, r.kind, r.content, r.content_sha256, r.prev_sha256, r.sha256"

// scanner is a row or rows.
type scanner interface{ Scan(...any) error }

// after scans one column before those of a row.
type after struct {
	row   scanner
	first any
}

func (a after) Scan(to ...any) error { return a.row.Scan(append([]any{a.first}, to...)...) }

func scanRecord(row scanner) (ledger.Record, error) {
	var r ledger.Record
	var us int64
	err := row.Scan(&r.Chain, &r.N, &us, &r.Kind, &r.Content, scan(&r.ContentHash), scan(&r.Prev), scan(&r.Hash))
	r.At = micro(us)
	return r, err
}

func scanRecords(rows *sql.Rows) (ledger.Record, error) { return scanRecord(rows) }

// About implements [ledger.Store].
func (db *DB) About(ctx context.Context, id string) ([]ledger.Record, error) {
	rows, err := db.read.QueryContext(ctx, "SELECT "+recordColumns+` FROM about a
		JOIN records r ON r.chain = a.chain AND r.n = a.n WHERE a.subject = $1 ORDER BY r.at_us, r.chain, r.n`, id)
	return collect(rows, err, scanRecords)
}

// AboutEach implements [ledger.Store].
func (db *DB) AboutEach(ctx context.Context, ids []string) (map[string][]ledger.Record, error) {
	all := make(map[string][]ledger.Record, len(ids))
	for some := range slices.Chunk(ids, mostAtOnce) {
		var w where
		rows, err := db.read.QueryContext(ctx, "SELECT a.subject, "+recordColumns+` FROM about a
			CROSS JOIN records r ON r.chain = a.chain AND r.n = a.n WHERE a.subject IN `+w.list(some)+" ORDER BY r.at_us, r.chain, r.n", w.args...)
		_, err = collect(rows, err, func(rows *sql.Rows) (struct{}, error) {
			var id string
			r, err := scanRecord(after{rows, &id})
			all[id] = append(all[id], r)
			return struct{}{}, err
		})
		if err != nil {
			return nil, fmt.Errorf("read the records about %d identities of ledger %s: %w", len(ids), db.path, err)
		}
	}
	return all, nil
}

// Records implements [ledger.Store].
func (db *DB) Records(ctx context.Context, kind ledger.RecordKind) ([]ledger.Record, error) {
	rows, err := db.read.QueryContext(ctx, "SELECT "+recordColumns+` FROM records r
		WHERE r.kind = $1 ORDER BY r.at_us, r.chain, r.n`, string(kind))
	return collect(rows, err, scanRecords)
}

// Count implements [ledger.Store].
func (db *DB) Count(ctx context.Context) (int64, error) {
	var n int64
	err := db.read.QueryRowContext(ctx, "SELECT coalesce(sum(n), 0) FROM chains").Scan(&n)
	return n, classify(err)
}

// Text implements [ledger.Store].
func (db *DB) Text(ctx context.Context, id string) (ledger.Text, error) {
	t := ledger.Text{ID: id}
	err := db.read.QueryRowContext(ctx, "SELECT salt, body FROM texts WHERE id = $1 AND body IS NOT NULL", id).
		Scan(&t.Salt, &t.Text)
	if errors.Is(err, sql.ErrNoRows) {
		err = ledger.ErrNotFound
	}
	if err != nil {
		return t, fmt.Errorf("read text %s: %w", id, classify(err))
	}
	return t, nil
}

// Hold implements [ledger.Store]. Readings that do not match the hash of the end
// record are an error: nothing should be computed from them.
func (db *DB) Hold(ctx context.Context, id string) (*ledger.Hold, error) {
	h, err := db.hold(ctx, id)
	if err != nil {
		return nil, fmt.Errorf("read hold %s of ledger %s: %w", id, db.path, classify(err))
	}
	return h, nil
}

func (db *DB) hold(ctx context.Context, id string) (*ledger.Hold, error) {
	tx, err := db.read.BeginTx(ctx, &sql.TxOptions{ReadOnly: true}) // one view of records and blocks
	if err != nil {
		return nil, err
	}
	defer tx.Rollback()
	l, err := listed(ctx, tx, id)
	if err != nil {
		return nil, err
	}
	if l == nil {
		return nil, ledger.ErrNotFound
	}
	h := &ledger.Hold{Voided: l.Voided}
	if h.BeginRecord, err = record(ctx, tx, l.Begin); err != nil {
		return nil, err
	}
	if err := decode(h.BeginRecord.Content, &h.Begin); err != nil {
		return nil, err
	}
	if l.End.N > 0 {
		r, err := record(ctx, tx, l.End)
		if err != nil {
			return nil, err
		}
		h.EndRecord, h.End = &r, new(ledger.End)
		if err := decode(r.Content, h.End); err != nil {
			return nil, err
		}
	}
	if l.Voided {
		if h.VoidedAt, h.VoidReason, err = voided(ctx, tx, id); err != nil {
			return nil, err
		}
	}
	bs, err := blocks(ctx, tx, id, 0, -1)
	if err != nil {
		return nil, err
	}
	h.Trace = trace.Trace{Kind: h.Begin.Kind}
	h.Trace.Readings, err = ledger.Join(id, bs, h.End)
	return h, err
}

func record(ctx context.Context, q querier, at ledger.Head) (ledger.Record, error) {
	return scanRecord(q.QueryRowContext(ctx, "SELECT "+recordColumns+
		" FROM records r WHERE r.chain = $1 AND r.n = $2", at.Chain, at.N))
}

// voided returns when and why a hold was last set aside.
func voided(ctx context.Context, q querier, hold string) (time.Time, string, error) {
	r, err := scanRecord(q.QueryRowContext(ctx, "SELECT "+recordColumns+` FROM about a CROSS JOIN records r ON r.chain = a.chain AND r.n = a.n
		WHERE a.subject = $1 AND +r.kind = $2 ORDER BY r.at_us DESC, r.chain DESC, r.n DESC LIMIT 1`, hold, string(ledger.HoldVoid)))
	if errors.Is(err, sql.ErrNoRows) {
		return time.Time{}, "", fmt.Errorf("%w: it is listed as void without a record", ledger.ErrDamaged)
	}
	var v ledger.Void
	if err == nil {
		err = decode(r.Content, &v)
	}
	if err != nil {
		return time.Time{}, "", err
	}
	reason, err := body(ctx, q, &v.Reason)
	return r.At, reason, err
}

const blocksQuery = `SELECT first, count, data, running FROM blocks
	WHERE hold = $1 AND first >= $2 ORDER BY first LIMIT $3`

// blocks returns up to limit blocks of a hold from index first on; limit -1 means all.
func blocks(ctx context.Context, q querier, hold string, first int64, limit int) ([]ledger.Block, error) {
	if limit < 0 {
		limit = 1 << 30
	}
	rows, err := q.QueryContext(ctx, blocksQuery, hold, first, limit)
	return collectBlocks(rows, err, hold)
}

func collectBlocks(rows *sql.Rows, err error, hold string) ([]ledger.Block, error) {
	return collect(rows, err, func(rows *sql.Rows) (ledger.Block, error) {
		b := ledger.Block{Hold: hold}
		return b, rows.Scan(&b.First, &b.Count, &b.Data, scan(&b.Running))
	})
}
