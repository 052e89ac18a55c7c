package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"boretight/internal/ledger"
	"boretight/internal/ticket"
)

// Ticket implements [ledger.Store].
func (db *DB) Ticket(ctx context.Context, id string) (ticket.Ticket, error) {
	t, err := view(ctx, db, func(tx *sql.Tx) (ticket.Ticket, error) { return readTicket(ctx, tx, id) })
	if err != nil {
		return t, fmt.Errorf("read ticket %s of ledger %s: %w", id, db.path, classify(err))
	}
	return t, nil
}

// Instrument implements [ledger.Store].
func (db *DB) Instrument(ctx context.Context, id string) (ticket.Instrument, error) {
	i, err := instrument(ctx, db.read, id)
	if err != nil {
		return i, fmt.Errorf("read instrument %s of ledger %s: %w", id, db.path, classify(err))
	}
	return i, nil
}

// view reads several things as they are at one moment.
func view[T any](ctx context.Context, db *DB, f func(*sql.Tx) (T, error)) (T, error) {
	tx, err := db.read.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		var none T
		return none, err
	}
	defer tx.Rollback()
	return f(tx)
}

func readTicket(ctx context.Context, q querier, id string) (ticket.Ticket, error) {
	r, err := ticketRecord(ctx, q, id)
	if err != nil {
		return ticket.Ticket{}, err
	}
	t := ticket.Ticket{ID: r.ID, Opened: r.Opened, Instrument: r.Instrument(), Joints: r.Joints, Closed: r.Closed}
	if r.CustomerID != "" {
		if t.Customer, err = customer(ctx, q, r.CustomerID); err != nil {
			return t, err
		}
	}
	for to, ref := range map[*string]*ledger.TextRef{&t.Complaint: r.Complaint, &t.Condition: r.Condition, &t.Remark: r.Remark} {
		if *to, err = body(ctx, q, ref); err != nil {
			return t, err
		}
	}
	t.Work, err = work(ctx, q, id)
	return t, err
}

// work returns what was done in a visit, oldest first.
func work(ctx context.Context, q querier, ticketID string) ([]ticket.Work, error) {
	rows, err := q.QueryContext(ctx, "SELECT "+recordColumns+` FROM about a CROSS JOIN records r ON r.chain = a.chain AND r.n = a.n
		WHERE a.subject = $1 AND +r.kind = $2 ORDER BY r.at_us, r.chain, r.n`, ticketID, string(ledger.WorkDone))
	records, err := collect(rows, err, scanRecords)
	if err != nil {
		return nil, err
	}
	var done []ticket.Work
	for _, one := range records {
		var r ledger.WorkRecord
		if err := decode(one.Content, &r); err != nil {
			return nil, err
		}
		did, err := body(ctx, q, r.Did)
		if err != nil {
			return nil, err
		}
		done = append(done, ticket.Work{ID: r.ID, At: r.At, Joint: r.Joint, Seat: r.Seat, Did: did})
	}
	slices.SortStableFunc(done, func(a, b ticket.Work) int { return a.At.Compare(b.At) })
	return done, nil
}

// ticketRecord returns a ticket's newest record, or [ledger.ErrNotFound].
func ticketRecord(ctx context.Context, q querier, id string) (r ledger.TicketRecord, err error) {
	return r, newestContent(ctx, q, "tickets", id, &r)
}

func customerRecord(ctx context.Context, q querier, id string) (r ledger.CustomerRecord, err error) {
	return r, newestContent(ctx, q, "customers", id, &r)
}

func instrument(ctx context.Context, q querier, id string) (ticket.Instrument, error) {
	var r ledger.TicketRecord
	err := newestContent(ctx, q, "instruments", id, &r)
	return r.Instrument(), err
}

// newestContent decodes the record that a list names for an identity.
func newestContent(ctx context.Context, q querier, list, id string, to any) error {
	var content []byte
	err := q.QueryRowContext(ctx, "SELECT r.content FROM "+list+
		" l JOIN records r ON r.chain = l.chain AND r.n = l.n WHERE l.id = $1", id).Scan(&content)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return ledger.ErrNotFound
	case err != nil:
		return err
	}
	return decode(content, to)
}

// customer returns a customer with what was not erased.
func customer(ctx context.Context, q querier, id string) (ticket.Customer, error) {
	c := ticket.Customer{ID: id}
	r, err := customerRecord(ctx, q, id)
	if err != nil {
		return c, fmt.Errorf("customer %s: %w", id, err)
	}
	if c.Name, err = body(ctx, q, r.Name); err != nil {
		return c, err
	}
	c.Contact, err = body(ctx, q, r.Contact)
	return c, err
}

// body returns a text; it is empty when there is none or it was erased.
func body(ctx context.Context, q querier, ref *ledger.TextRef) (string, error) {
	if ref == nil {
		return "", nil
	}
	var s sql.NullString
	err := q.QueryRowContext(ctx, "SELECT body FROM texts WHERE id = $1", ref.ID).Scan(&s)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return "", fmt.Errorf("text %s: %w", ref.ID, err)
	}
	return s.String, nil
}
