package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	"boretight/internal/ledger"
)

// Check implements [ledger.Store]. If holds are open it watches their writers for
// [ledger.Lease] to tell whether they live.
func (db *DB) Check(ctx context.Context) (ledger.Report, error) {
	r, err := db.check(ctx)
	if (err != nil || !r.OK) && db.moved() {
		// A writer came while the file was read as unchanging: look again, with its journal.
		if err := errors.Join(db.read.Close(), db.openRead()); err != nil {
			return r, fmt.Errorf("check ledger %s: %w", db.path, err)
		}
		r, err = db.check(ctx)
	}
	if err != nil {
		return r, fmt.Errorf("check ledger %s: %w", db.path, err)
	}
	return r, nil
}

// moved tells whether a file opened as unchanging has changed.
func (db *DB) moved() bool {
	if db.still == nil {
		return false
	}
	now, err := os.Stat(db.path)
	return err != nil || hasJournal(db.path) || now.Size() != db.still.Size() || !now.ModTime().Equal(db.still.ModTime())
}

func (db *DB) check(ctx context.Context) (ledger.Report, error) {
	var watch ledger.Watch
	if _, err := db.dead(ctx, &watch); err != nil && !errors.Is(err, ledger.ErrDamaged) {
		return ledger.Report{Schema: ledger.SchemaCheck}, err
	}
	start := time.Now()
	a, err := db.audit(ctx)
	if errors.Is(err, ledger.ErrDamaged) {
		a.Fault("file: %v", err)
		return a.Report, nil
	}
	if err != nil || len(a.Open) == 0 {
		return a.Report, err
	}
	if db.still == nil { // a file without a journal has no living writer
		select {
		case <-time.After(time.Until(start.Add(ledger.Lease + ledger.Tick))):
		case <-ctx.Done():
			return a.Report, context.Cause(ctx)
		}
		n, err := db.dead(ctx, &watch)
		a.Interrupted += int64(n)
		return a.Report, err
	}
	a.Interrupted += int64(len(a.Open))
	return a.Report, nil
}

// dead counts the open holds whose writer is dead as far as watch can tell.
func (db *DB) dead(ctx context.Context, watch *ledger.Watch) (int, error) {
	open, err := db.Abandoned(ctx, "")
	return len(watch.Dead(open, time.Now())), err
}

// audit audits one view of the file.
func (db *DB) audit(ctx context.Context) (ledger.Audited, error) {
	a := ledger.Audited{Report: ledger.Report{Schema: ledger.SchemaCheck}}
	tx, err := db.read.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return a, classify(err)
	}
	defer tx.Rollback()
	fault, err := structure(ctx, tx)
	if err != nil {
		return a, classify(err)
	}
	src, err := newSource(ctx, tx)
	if err != nil {
		return a, classify(err)
	}
	a, err = ledger.Audit(ctx, src)
	if fault != "" {
		a.FirstFault = nil // what lies below is told first
		a.Fault("%s", fault)
	}
	return a, classify(err)
}

// structure looks at the file as SQLite sees it: pages and indices, references
// between tables, and the triggers that protect them.
func structure(ctx context.Context, tx *sql.Tx) (string, error) {
	var answer string
	if err := tx.QueryRowContext(ctx, "PRAGMA integrity_check(1)").Scan(&answer); err != nil {
		return "", err
	}
	if answer != "ok" {
		return "file: " + strings.Join(strings.Fields(answer), " "), nil
	}
	var table, parent string
	var row sql.NullInt64
	var key int64
	switch err := tx.QueryRowContext(ctx, "PRAGMA foreign_key_check").Scan(&table, &row, &parent, &key); {
	case err == nil:
		return fmt.Sprintf("table %s, row %d: what it belongs to in table %s is missing", table, row.Int64, parent), nil
	case !errors.Is(err, sql.ErrNoRows):
		return "", err
	}
	if fault, err := values(ctx, tx); fault != "" || err != nil {
		return fault, err
	}
	return guards(ctx, tx)
}

// values looks for values that the walk of the records cannot tell from right ones.
// SQLite itself drops CHECK constraints on a connection that only reads.
func values(ctx context.Context, tx *sql.Tx) (string, error) {
	var gaps int64
	if err := tx.QueryRowContext(ctx, "SELECT coalesce(max(ordinal), 0) - count(*) FROM chains").Scan(&gaps); err != nil {
		return "", err
	}
	if gaps != 0 {
		return "table chains: the chains are not numbered from 1 without a gap", nil
	}
	var id string
	switch err := tx.QueryRowContext(ctx, "SELECT ticket FROM words WHERE template NOT IN (0, 1)").Scan(&id); {
	case err == nil:
		return fmt.Sprintf("table words: the mark for a word of the template is neither 0 nor 1 in ticket %s", id), nil
	case !errors.Is(err, sql.ErrNoRows):
		return "", err
	}
	err := tx.QueryRowContext(ctx, `SELECT id FROM holds WHERE interrupted NOT IN (0, 1) OR voided NOT IN (0, 1)`).Scan(&id)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return "", nil
	case err != nil:
		return "", err
	}
	return fmt.Sprintf("hold %s: the list's marks for interrupted and void are neither 0 nor 1", id), nil
}

// guards tells which of the triggers that protect the records is missing.
func guards(ctx context.Context, tx *sql.Tx) (string, error) {
	rows, err := tx.QueryContext(ctx, "SELECT name FROM sqlite_schema WHERE type = 'trigger'")
	names, err := collect(rows, err, func(rows *sql.Rows) (name string, err error) { return name, rows.Scan(&name) })
	if err != nil {
		return "", err
	}
	there := make(map[string]bool)
	for _, n := range names {
		there[n] = true
	}
	for _, want := range [...]string{"records_update", "records_delete", "records_insert", "blocks_update", "blocks_delete",
		"blocks_insert", "chains_update", "chains_delete", "about_update", "about_delete", "texts_update", "texts_delete", "holds_delete", "trials_delete", "tickets_delete", "instruments_delete", "customers_delete"} {
		if !there[want] {
			return fmt.Sprintf("schema: the trigger %s, which protects what is stored, is missing", want), nil
		}
	}
	return "", nil
}
