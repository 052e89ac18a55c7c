package sqlite

import (
	"context"
	"fmt"
	"time"

	"boretight/internal/ledger"
)

// Append implements [ledger.Store].
func (db *DB) Append(ctx context.Context, d ledger.Draft) (ledger.Record, error) {
	var r ledger.Record
	content, err := ledger.Canonical(d.Content)
	if err == nil {
		err = appendable(d, content)
	}
	if err == nil {
		err = db.change(ctx, time.Now(), func(a *appender) (err error) {
			r, err = a.draft(ctx, d, content)
			return err
		})
	}
	if err != nil {
		return ledger.Record{}, fmt.Errorf("append %s record to ledger %s: %w", d.Kind, db.path, err)
	}
	return r, nil
}

// appendable refuses what only a writer may append, and texts that the content
// does not refer to.
func appendable(d ledger.Draft, content []byte) error {
	switch d.Kind {
	case "", ledger.ChainBegin, ledger.HoldBegin, ledger.HoldEnd:
		return fmt.Errorf("records of kind %q are not appended on their own", d.Kind)
	}
	for _, t := range d.Texts {
		if !ledger.Names(content, t.ID) || !ledger.Names(content, t.Ref().SHA256.String()) {
			return fmt.Errorf("the content does not refer to text %s", t.ID)
		}
	}
	return nil
}

func (a *appender) draft(ctx context.Context, d ledger.Draft, content []byte) (ledger.Record, error) {
	r, err := a.record(ctx, d.Kind, content, d.About)
	if err != nil {
		return r, err
	}
	for _, t := range d.Texts {
		if _, err := a.exec(ctx, "INSERT INTO texts (id, chain, n, salt, body) VALUES ($1, $2, $3, $4, $5)",
			t.ID, r.Chain, r.N, t.Salt, t.Text); err != nil {
			return r, fmt.Errorf("text %s: %w", t.ID, err)
		}
	}
	switch d.Kind {
	case ledger.HoldVoid:
		return r, a.void(ctx, content)
	case ledger.TrialDone:
		return r, a.listTrial(ctx, r)
	case ledger.TicketKept:
		return r, a.listTicket(ctx, r)
	case ledger.CustomerKept:
		return r, a.listCustomer(ctx, r)
	}
	return r, nil
}

// void marks the hold in the list.
func (a *appender) void(ctx context.Context, content []byte) error {
	var v ledger.Void
	if err := decode(content, &v); err != nil {
		return err
	}
	res, err := a.exec(ctx, "UPDATE holds SET voided = 1 WHERE id = $1", v.ID)
	if err != nil {
		return err
	}
	if n, err := res.RowsAffected(); err != nil || n == 0 {
		return fmt.Errorf("hold %s: %w", v.ID, ledger.ErrNotFound)
	}
	return nil
}
