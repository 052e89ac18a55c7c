package sqlite

import (
	"context"
	"database/sql"
	"errors"

	"boretight/internal/ledger"
	"boretight/internal/ticket"
)

const (
	ticketQuery     = "SELECT id, at_us, chain, n, opened_us, closed_us, instrument, customer FROM tickets WHERE id = $1"
	instrumentQuery = "SELECT id, at_us, chain, n FROM instruments WHERE id = $1"
	customerQuery   = "SELECT id, at_us, chain, n, name, contact FROM customers WHERE id = $1"
	wordsQuery      = "SELECT word, template FROM words WHERE ticket = $1 ORDER BY word"
	personQuery     = `SELECT coalesce(n.body, ''), coalesce(c.body, '') FROM customers p
		LEFT JOIN texts n ON n.id = p.name LEFT JOIN texts c ON c.id = p.contact WHERE p.id = $1`
)

func (s *source) prepareVisits(ctx context.Context) (err error) {
	for _, q := range [...]string{ticketQuery, instrumentQuery, customerQuery, wordsQuery, personQuery} {
		if s.visits[q], err = s.tx.PrepareContext(ctx, q); err != nil {
			return err
		}
	}
	return nil
}

func (s *source) ListedTicket(ctx context.Context, id string) (*ledger.ListedTicket, error) {
	var t ledger.ListedTicket
	var at, opened int64
	var closed sql.NullInt64
	err := s.visits[ticketQuery].QueryRowContext(ctx, id).
		Scan(&t.ID, &at, &t.Newest.Chain, &t.Newest.N, &opened, &closed, &t.Instrument, &t.Customer)
	t.At, t.Opened = micro(at), micro(opened)
	if closed.Valid {
		t.Closed = micro(closed.Int64)
	}
	return orNone(&t, err)
}

func (s *source) ListedInstrument(ctx context.Context, id string) (*ledger.ListedInstrument, error) {
	var i ledger.ListedInstrument
	var at int64
	err := s.visits[instrumentQuery].QueryRowContext(ctx, id).Scan(&i.ID, &at, &i.Newest.Chain, &i.Newest.N)
	i.At = micro(at)
	return orNone(&i, err)
}

func (s *source) ListedCustomer(ctx context.Context, id string) (*ledger.ListedCustomer, error) {
	var c ledger.ListedCustomer
	var at int64
	err := s.visits[customerQuery].QueryRowContext(ctx, id).Scan(&c.ID, &at, &c.Newest.Chain, &c.Newest.N, &c.Name, &c.Contact)
	c.At = micro(at)
	return orNone(&c, err)
}

// orNone makes nil of what is not there.
func orNone[T any](row *T, err error) (*T, error) {
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	return row, err
}

func (s *source) WordsListed(ctx context.Context, ticketID string) ([]ledger.Word, error) {
	rows, err := s.visits[wordsQuery].QueryContext(ctx, ticketID)
	return collect(rows, err, func(rows *sql.Rows) (w ledger.Word, err error) { return w, rows.Scan(&w.Word, &w.Template) })
}

func (s *source) Customer(ctx context.Context, id string) (ticket.Customer, error) {
	c := ticket.Customer{ID: id}
	err := s.visits[personQuery].QueryRowContext(ctx, id).Scan(&c.Name, &c.Contact)
	if errors.Is(err, sql.ErrNoRows) {
		err = ledger.ErrNotFound
	}
	return c, err
}

func (s *source) TicketTotals(ctx context.Context) (n ledger.TicketTotals, err error) {
	return n, s.tx.QueryRowContext(ctx, `SELECT (SELECT count(*) FROM tickets), (SELECT count(*) FROM instruments),
		(SELECT count(*) FROM customers), (SELECT count(*) FROM words)`).Scan(&n.Tickets, &n.Instruments, &n.Customers, &n.Words)
}
