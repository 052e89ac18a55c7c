package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"boretight/internal/ledger"
)

// Erase implements [ledger.Store]. The bytes are overwritten in the file, and the
// journal, which still held them, is folded in and cut to nothing.
func (db *DB) Erase(ctx context.Context, textID string) error {
	if err := db.erase(ctx, func(a *appender) error { return a.eraseText(ctx, textID) }); err != nil {
		return fmt.Errorf("erase text %s in ledger %s: %w", textID, db.path, err)
	}
	return nil
}

// EraseCustomer implements [ledger.Store].
func (db *DB) EraseCustomer(ctx context.Context, customerID string) error {
	if err := db.erase(ctx, func(a *appender) error { return a.eraseCustomer(ctx, customerID) }); err != nil {
		return fmt.Errorf("erase customer %s in ledger %s: %w", customerID, db.path, err)
	}
	return nil
}

func (db *DB) erase(ctx context.Context, f func(*appender) error) error {
	if err := db.change(ctx, time.Now(), f); err != nil {
		return err
	}
	for range foldTries {
		var busy, pages, folded int
		if err := db.write.QueryRowContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)").Scan(&busy, &pages, &folded); err != nil {
			return classify(err)
		}
		if busy == 0 {
			return nil
		}
	}
	return errStillRead
}

// foldTries bounds how often erasing waits for those who read, each time for [busyTimeout]:
// a page of a list takes far less, a check or a copy may take minutes.
const foldTries = 2

var errStillRead = errors.New("it is erased, but its bytes stay in the journal, as somebody is reading the ledger: end the programs that have it open, the last of which folds the journal in")

const erased = "UPDATE texts SET salt = NULL, body = NULL WHERE body IS NOT NULL AND "

func (a *appender) eraseText(ctx context.Context, id string) error {
	if err := a.eraseTexts(ctx, erased+"id = $1", id); err != nil {
		return err
	}
	// A customer's text is also among the words by which his tickets are found.
	var customer string
	err := a.QueryRowContext(ctx, `SELECT a.subject FROM texts t CROSS JOIN records r ON r.chain = t.chain AND r.n = t.n AND +r.kind = $2
		JOIN about a ON a.chain = r.chain AND a.n = r.n WHERE t.id = $1`, id, string(ledger.CustomerKept)).Scan(&customer)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return nil
	case err != nil:
		return err
	}
	return a.listWordsOf(ctx, customer)
}

func (a *appender) eraseCustomer(ctx context.Context, id string) error {
	err := a.eraseTexts(ctx, erased+`id IN (SELECT t.id FROM about a CROSS JOIN records r ON r.chain = a.chain AND r.n = a.n
		JOIN texts t ON t.chain = r.chain AND t.n = r.n WHERE a.subject = $1 AND +r.kind = $2)`, id, string(ledger.CustomerKept))
	if err != nil {
		return err
	}
	return a.listWordsOf(ctx, id)
}

func (a *appender) eraseTexts(ctx context.Context, query string, args ...any) error {
	res, err := a.tx.ExecContext(ctx, query, args...)
	if err != nil {
		return err
	}
	if n, err := res.RowsAffected(); err != nil || n == 0 {
		return errors.Join(err, ledger.ErrNotFound)
	}
	return nil
}
