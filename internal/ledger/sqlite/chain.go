package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"boretight/internal/ledger"
)

// settle makes sure that the ledger's chain belongs to this file: a new ledger
// gets its first chain, one that was copied or restored a further one.
func (db *DB) settle(ctx context.Context) error {
	here, err := place(db.path)
	if err != nil {
		return fmt.Errorf("identify the file: %w", err)
	}
	// Mostly nothing is to be done, and that needs no lock.
	var there string
	err = db.write.QueryRowContext(ctx, "SELECT place FROM ledger").Scan(&there)
	if err == nil && there == here {
		return nil
	}
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	tx, err := db.write.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	if err := beginChain(ctx, tx, here); err != nil {
		return err
	}
	return tx.Commit()
}

// beginChain starts a chain for the file at place, unless another program has done so.
func beginChain(ctx context.Context, tx *sql.Tx, here string) error {
	var origin ledger.Origin
	var there string
	var old ledger.Head
	var ordinal int64
	err := tx.QueryRowContext(ctx, `SELECT place, id, ordinal, n, sha256
		FROM ledger JOIN chains ON chains.id = ledger.chain`).
		Scan(&there, &old.Chain, &ordinal, &old.N, scan(&old.Hash))
	switch {
	case errors.Is(err, sql.ErrNoRows):
	case err != nil:
		return err
	case there == here:
		return nil
	default:
		origin.From = &old
	}
	content, err := ledger.Canonical(origin)
	if err != nil {
		return err
	}
	r := ledger.Head{Chain: ledger.NewID()}.Next(time.Now(), ledger.ChainBegin, content)
	if _, err := tx.ExecContext(ctx, `INSERT INTO chains (id, ordinal, n, sha256) VALUES ($1, $2, $3, $4)`,
		r.Chain, ordinal+1, r.N, r.Hash[:]); err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, insertRecord, recordValues(r)...); err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO ledger (one, chain, place) VALUES (1, $1, $2)
		ON CONFLICT (one) DO UPDATE SET chain = excluded.chain, place = excluded.place`, r.Chain, here)
	return err
}

const insertRecord = `INSERT INTO records (chain, n, at_us, kind, content, content_sha256, prev_sha256, sha256)
	VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`

func recordValues(r ledger.Record) []any {
	return []any{r.Chain, r.N, r.At.UnixMicro(), string(r.Kind), r.Content, r.ContentHash[:], r.Prev[:], r.Hash[:]}
}

// appender appends records to the ledger's chain within one transaction. It reads what the
// transaction sees.
type appender struct {
	tx   *sql.Tx
	at   time.Time
	head ledger.Head
	// prepared are statements that this transaction has run; they end with it.
	prepared map[string]*sql.Stmt
}

// statement returns a statement, which is compiled once a transaction.
func (a *appender) statement(ctx context.Context, query string) (*sql.Stmt, error) {
	s := a.prepared[query]
	if s == nil {
		var err error
		if s, err = a.tx.PrepareContext(ctx, query); err != nil {
			return nil, err
		}
		a.prepared[query] = s
	}
	return s, nil
}

func (a *appender) exec(ctx context.Context, query string, args ...any) (sql.Result, error) {
	s, err := a.statement(ctx, query)
	if err != nil {
		return nil, err
	}
	return s.ExecContext(ctx, args...)
}

// QueryContext implements querier. A query is asked again only when the rows of the time
// before have been read.
func (a *appender) QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error) {
	s, err := a.statement(ctx, query)
	if err != nil {
		return nil, err
	}
	return s.QueryContext(ctx, args...)
}

// QueryRowContext implements querier.
func (a *appender) QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row {
	s, err := a.statement(ctx, query)
	if err != nil {
		return a.tx.QueryRowContext(ctx, query, args...) // whose row says what is wrong with it
	}
	return s.QueryRowContext(ctx, args...)
}

// change runs f in one immediate transaction. Head read and insert are in it, so
// that several programs may append side by side.
func (db *DB) change(ctx context.Context, at time.Time, f func(*appender) error) (err error) {
	if err := db.writable(); err != nil {
		return err
	}
	defer func() { err = classify(err) }()
	tx, err := db.write.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	a := appender{tx: tx, at: at, prepared: make(map[string]*sql.Stmt)}
	err = tx.QueryRowContext(ctx, `SELECT id, n, sha256 FROM ledger JOIN chains ON chains.id = ledger.chain`).
		Scan(&a.head.Chain, &a.head.N, scan(&a.head.Hash))
	if err != nil {
		return fmt.Errorf("read head of the chain: %w", err)
	}
	before := a.head
	if err := f(&a); err != nil {
		return err
	}
	if a.head != before {
		if _, err := tx.ExecContext(ctx, "UPDATE chains SET n = $1, sha256 = $2 WHERE id = $3",
			a.head.N, a.head.Hash[:], a.head.Chain); err != nil {
			return fmt.Errorf("move head of the chain: %w", err)
		}
	}
	return tx.Commit()
}

// record appends one record with its subjects.
func (a *appender) record(ctx context.Context, kind ledger.RecordKind, content []byte, about []string) (ledger.Record, error) {
	subjects, err := ledger.Subjects(kind, content, about)
	if err != nil {
		return ledger.Record{}, err
	}
	r := a.head.Next(a.at, kind, content)
	if _, err := a.exec(ctx, insertRecord, recordValues(r)...); err != nil {
		return r, fmt.Errorf("append record %d (%s): %w", r.N, kind, err)
	}
	for _, s := range subjects {
		if !ledger.Names(content, s) {
			return r, fmt.Errorf("append %s record about %q: its content does not name that", kind, s)
		}
		if _, err := a.exec(ctx, "INSERT INTO about (chain, n, subject) VALUES ($1, $2, $3)", r.Chain, r.N, s); err != nil {
			return r, fmt.Errorf("append %s record about %q: %w", kind, s, err)
		}
	}
	a.head = r.Head()
	return r, nil
}
