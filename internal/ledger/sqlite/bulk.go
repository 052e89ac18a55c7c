package sqlite

import (
	"context"
	"fmt"
	"time"

	"boretight/internal/ledger"
	"boretight/internal/ticket"
)

// Bulk appends many records in one transaction, at times of the caller's choice: for tools
// that make ledgers. A program that measures uses a [ledger.Writer].
type Bulk struct{ a *appender }

// Bulk runs f in one transaction, which is committed when f returns nil.
func (db *DB) Bulk(ctx context.Context, f func(*Bulk) error) error {
	err := db.change(ctx, time.Now(), func(a *appender) error { return f(&Bulk{a}) })
	if err != nil {
		return fmt.Errorf("append in bulk to ledger %s: %w", db.path, err)
	}
	return nil
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

// Commit is [ledger.Sink.Commit] but for its time.
func (b *Bulk) Commit(ctx context.Context, writer string, steps []ledger.Step) error {
	c := committer{appender: b.a, batch: ledger.Batch{Writer: writer, Steps: steps}, standing: make(map[string]standing), refused: make(map[string]error)}
	if err := c.run(ctx); err != nil {
		return err
	}
	for id, err := range c.refused {
		return fmt.Errorf("hold %s: %w", id, err)
	}
	return nil
}

// KeepTicket is [ledger.Store.KeepTicket].
func (b *Bulk) KeepTicket(ctx context.Context, t ticket.Ticket) (ticket.Ticket, error) {
	return b.a.keepTicket(ctx, t)
}

// AddWork is [ledger.Store.AddWork].
func (b *Bulk) AddWork(ctx context.Context, ticketID string, w ticket.Work) (ticket.Work, error) {
	return b.a.addWork(ctx, ticketID, w)
}
