package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"slices"

	"boretight/internal/ledger"
	"boretight/internal/ticket"
)

// newer lets an upsert replace a row only by what comes later in the order of (UTC, chain,
// n): a clock that was set back does not make an older record the newest.
const newer = ` ON CONFLICT (id) DO UPDATE SET %[2]s
	WHERE (excluded.at_us, excluded.chain, excluded.n) > (%[1]s.at_us, %[1]s.chain, %[1]s.n)`

// newest refuses a change that [newer] did not take: it would be recorded and count for nothing.
func (a *appender) newest(res sql.Result) error {
	if n, err := res.RowsAffected(); err != nil || n > 0 {
		return err
	}
	return fmt.Errorf("%w: it says %s UTC: set it and try again", ledger.ErrClock, a.at.UTC().Format("2 January 2006 15:04"))
}

// listTicket puts a ticket and its instrument into their lists, or in the place of what they
// were before.
func (a *appender) listTicket(ctx context.Context, r ledger.Record) error {
	t, err := ledger.NewListedTicket(r)
	if err != nil {
		return err
	}
	res, err := a.exec(ctx, `INSERT INTO tickets (id, at_us, chain, n, opened_us, closed_us, instrument, customer)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`+fmt.Sprintf(newer, "tickets", `at_us = excluded.at_us, chain = excluded.chain,
		n = excluded.n, opened_us = excluded.opened_us, closed_us = excluded.closed_us, instrument = excluded.instrument,
		customer = excluded.customer`),
		t.ID, r.At.UnixMicro(), r.Chain, r.N, t.Opened.UnixMicro(), microOrNull(t), t.Instrument, t.Customer)
	if err != nil {
		return fmt.Errorf("list ticket %s: %w", t.ID, err)
	}
	if err := a.newest(res); err != nil {
		return fmt.Errorf("change ticket %s: %w", t.ID, err)
	}
	_, err = a.exec(ctx, `INSERT INTO instruments (id, at_us, chain, n) VALUES ($1, $2, $3, $4)`+
		fmt.Sprintf(newer, "instruments", "at_us = excluded.at_us, chain = excluded.chain, n = excluded.n"),
		t.Instrument, r.At.UnixMicro(), r.Chain, r.N)
	if err != nil {
		return fmt.Errorf("list instrument %s: %w", t.Instrument, err)
	}
	return a.listWords(ctx, t.ID)
}

func microOrNull(t ledger.ListedTicket) sql.NullInt64 {
	return sql.NullInt64{Int64: t.Closed.UnixMicro(), Valid: !t.Closed.IsZero()}
}

// listCustomer puts a customer into the list, and makes his tickets found by his words.
func (a *appender) listCustomer(ctx context.Context, r ledger.Record) error {
	c, err := ledger.NewListedCustomer(r)
	if err != nil {
		return err
	}
	res, err := a.exec(ctx, `INSERT INTO customers (id, at_us, chain, n, name, contact) VALUES ($1, $2, $3, $4, $5, $6)`+
		fmt.Sprintf(newer, "customers", `at_us = excluded.at_us, chain = excluded.chain, n = excluded.n, name = excluded.name, contact = excluded.contact`),
		c.ID, r.At.UnixMicro(), r.Chain, r.N, c.Name, c.Contact)
	if err != nil {
		return fmt.Errorf("list customer %s: %w", c.ID, err)
	}
	if err := a.newest(res); err != nil {
		return fmt.Errorf("change customer %s: %w", c.ID, err)
	}
	return a.listWordsOf(ctx, c.ID)
}

// listWordsOf makes the words of a customer's tickets anew.
func (a *appender) listWordsOf(ctx context.Context, customer string) error {
	rows, err := a.QueryContext(ctx, "SELECT id FROM tickets WHERE customer = $1", customer)
	ids, err := collect(rows, err, scanText)
	if err != nil {
		return err
	}
	for _, id := range ids {
		if err := a.listWords(ctx, id); err != nil {
			return err
		}
	}
	return nil
}

// listWords makes the words of a ticket anew.
func (a *appender) listWords(ctx context.Context, id string) error {
	t, err := ticketRecord(ctx, a, id)
	if err != nil {
		return err
	}
	var c ticket.Customer
	if t.CustomerID != "" {
		if c, err = customer(ctx, a, t.CustomerID); err != nil {
			return err
		}
	}
	if err := a.changeWords(ctx, id, ledger.Words(t, c)); err != nil {
		return fmt.Errorf("list words of ticket %s: %w", id, err)
	}
	return nil
}

// changeWords writes only what is different: mostly a ticket is kept with the same words.
func (a *appender) changeWords(ctx context.Context, id string, words []ledger.Word) error {
	rows, err := a.QueryContext(ctx, "SELECT word, template FROM words WHERE ticket = $1", id)
	listed, err := collect(rows, err, func(rows *sql.Rows) (w ledger.Word, err error) {
		return w, rows.Scan(&w.Word, &w.Template)
	})
	if err != nil {
		return err
	}
	for _, w := range listed {
		if slices.Contains(words, w) {
			continue
		}
		if _, err := a.exec(ctx, "DELETE FROM words WHERE word = $1 AND ticket = $2", w.Word, id); err != nil {
			return err
		}
	}
	for _, w := range words {
		if slices.Contains(listed, w) {
			continue
		}
		if _, err := a.exec(ctx, "INSERT INTO words (word, ticket, template) VALUES ($1, $2, $3)", w.Word, id, number(w.Template)); err != nil {
			return err
		}
	}
	return nil
}
