package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"

	"boretight/internal/ledger"
	"boretight/internal/ticket"
)

// Bulk fills a new ledger, at times of the caller's choice: for tools that make ledgers. A
// program that measures uses a [ledger.Writer].
type Bulk struct {
	a *appender
	// tickets were opened so far.
	tickets int
}

// whileMaking gives up what protects a ledger that is in use: one whose making fails is
// removed. The whole is one transaction.
var whileMaking = [...]string{
	"PRAGMA journal_mode = OFF", "PRAGMA synchronous = OFF", "PRAGMA foreign_keys = OFF", "PRAGMA secure_delete = OFF",
	"PRAGMA cache_size = -262144",
}

// Make makes a ledger at a path where nothing is, and has f fill it. Nobody else may open it
// meanwhile. Indices of what is large are made at the end.
func Make(ctx context.Context, path string, f func(*Bulk) error) (err error) {
	defer wrap(&err, "make", path)
	if _, err := os.Stat(path); !errors.Is(err, fs.ErrNotExist) {
		return errors.Join(err, fs.ErrExist)
	}
	db, err := Open(ctx, path, Options{})
	if err != nil {
		return err
	}
	err = db.fill(ctx, f)
	if err = errors.Join(err, db.Close()); err != nil {
		return errors.Join(err, os.Remove(path))
	}
	return nil
}

func (db *DB) fill(ctx context.Context, f func(*Bulk) error) error {
	for _, pragma := range whileMaking {
		if _, err := db.write.ExecContext(ctx, pragma); err != nil {
			return fmt.Errorf("%s: %w", pragma, classify(err))
		}
	}
	err := db.change(ctx, time.Now(), func(a *appender) error {
		later, err := a.dropIndices(ctx)
		if err != nil {
			return err
		}
		if err := f(&Bulk{a: a}); err != nil {
			return err
		}
		for _, index := range later {
			if _, err := a.exec(ctx, index); err != nil {
				return fmt.Errorf("%s: %w", index, err)
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	_, err = db.write.ExecContext(ctx, "PRAGMA journal_mode = WAL")
	return classify(err)
}

// dropIndices drops the indices that filling a ledger does not need, and returns how they
// are made.
func (a *appender) dropIndices(ctx context.Context) ([]string, error) {
	rows, err := a.QueryContext(ctx, `SELECT name, sql FROM sqlite_schema
		WHERE type = 'index' AND sql IS NOT NULL AND tbl_name IN ('records', 'about', 'texts', 'holds', 'trials')`)
	type index struct{ name, made string }
	all, err := collect(rows, err, func(rows *sql.Rows) (i index, err error) { return i, rows.Scan(&i.name, &i.made) })
	if err != nil {
		return nil, err
	}
	later := make([]string, len(all))
	for i, one := range all {
		later[i] = one.made
		if _, err := a.exec(ctx, "DROP INDEX "+one.name); err != nil {
			return nil, err
		}
	}
	return later, nil
}

// SetTime sets the time of the records that follow.
func (b *Bulk) SetTime(at time.Time) { b.a.at = at }

// Append is [ledger.Store.Append].
func (b *Bulk) Append(ctx context.Context, d ledger.Draft) error {
	content, err := ledger.Canonical(d.Content)
	if err == nil {
		err = appendable(d, content)
	}
	if err == nil {
		_, err = b.a.draft(ctx, d, content)
	}
	return err
}

// Hold appends a whole hold.
func (b *Bulk) Hold(ctx context.Context, begin ledger.Begin, blocks []ledger.Block, end ledger.End) error {
	c := committer{appender: b.a, standing: make(map[string]standing)}
	if err := c.begin(ctx, &begin, unknown); err != nil {
		return fmt.Errorf("hold %s: %w", begin.ID, err)
	}
	for i := range blocks {
		if err := c.block(ctx, &blocks[i]); err != nil {
			return fmt.Errorf("hold %s: %w", begin.ID, err)
		}
	}
	if err := c.end(ctx, end); err != nil {
		return fmt.Errorf("hold %s: %w", begin.ID, err)
	}
	return nil
}

// OpenTicket gives a ticket its number and what it lacks of identities, and records it. Holds
// must not have been given labels of the form of numbers.
func (b *Bulk) OpenTicket(ctx context.Context, t ticket.Ticket) (ticket.Ticket, error) {
	t.ID = fmt.Sprintf("T-%d", firstNumber+b.tickets)
	b.tickets++
	err := b.a.recordVisit(ctx, ledger.TicketRecord{Opened: b.a.at}, &t)
	return t, err
}

// KeepTicket records the change of a ticket.
func (b *Bulk) KeepTicket(ctx context.Context, t ticket.Ticket) error {
	_, err := b.a.keepTicket(ctx, t)
	return err
}

// AddWork is [ledger.Store.AddWork].
func (b *Bulk) AddWork(ctx context.Context, ticketID string, w ticket.Work) (ticket.Work, error) {
	return b.a.addWork(ctx, ticketID, w)
}
