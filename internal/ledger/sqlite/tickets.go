package sqlite

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"

	"boretight/internal/ledger"
)

// Tickets implements [ledger.Store]. A page is a walk along an index of the list of tickets.
func (db *DB) Tickets(ctx context.Context, f ledger.TicketFilter) ([]ledger.TicketEntry, error) {
	found, err := view(ctx, db, func(tx *sql.Tx) ([]ledger.TicketEntry, error) { return tickets(ctx, tx, f) })
	if err != nil {
		return nil, fmt.Errorf("list tickets of ledger %s: %w", db.path, classify(err))
	}
	return found, nil
}

func tickets(ctx context.Context, tx *sql.Tx, f ledger.TicketFilter) ([]ledger.TicketEntry, error) {
	var w where
	w.add("t.instrument = %s", f.Instrument)
	if f.Open {
		w.conditions = append(w.conditions, "t.closed_us IS NULL")
	}
	if f.Before != "" {
		var opened int64
		switch err := tx.QueryRowContext(ctx, "SELECT opened_us FROM tickets WHERE id = $1", f.Before).Scan(&opened); {
		case errors.Is(err, sql.ErrNoRows):
			return nil, fmt.Errorf("before ticket %s: %w", f.Before, ledger.ErrNotFound)
		case err != nil:
			return nil, err
		}
		w.conditions = append(w.conditions, fmt.Sprintf("(t.opened_us, t.id) < (%s, %s)", w.number(opened), w.number(f.Before)))
	}
	from, err := w.search(ctx, tx, f.Search, "tickets t", "t.id")
	if err != nil {
		return nil, err
	}
	order := " ORDER BY t.opened_us DESC, t.id DESC"
	rows, err := tx.QueryContext(ctx, `SELECT r.content, coalesce(x.body, '')
		FROM (SELECT t.id, t.opened_us, t.chain, t.n, t.customer FROM `+from+w.String()+order+" LIMIT "+w.number(cmp.Or(f.Limit, defaultLimit))+`) t
		CROSS JOIN records r ON r.chain = t.chain AND r.n = t.n
		LEFT JOIN customers c ON c.id = t.customer LEFT JOIN texts x ON x.id = c.name`+order, w.args...)
	return collect(rows, err, func(rows *sql.Rows) (e ledger.TicketEntry, err error) {
		var content []byte
		var r ledger.TicketRecord
		if err := rows.Scan(&content, &e.Customer); err != nil {
			return e, err
		}
		err = decode(content, &r)
		e.ID, e.Opened, e.Closed, e.Instrument, e.Joints = r.ID, r.Opened, r.Closed, r.Instrument(), r.Joints
		return e, err
	})
}

// Instruments implements [ledger.Store].
func (db *DB) Instruments(ctx context.Context, f ledger.InstrumentFilter) ([]ledger.InstrumentEntry, error) {
	found, err := view(ctx, db, func(tx *sql.Tx) ([]ledger.InstrumentEntry, error) { return instruments(ctx, tx, f) })
	if err != nil {
		return nil, fmt.Errorf("list instruments of ledger %s: %w", db.path, classify(err))
	}
	return found, nil
}

func instruments(ctx context.Context, tx *sql.Tx, f ledger.InstrumentFilter) ([]ledger.InstrumentEntry, error) {
	var w where
	if f.Before != "" {
		var at, n int64
		var chain string
		switch err := tx.QueryRowContext(ctx, "SELECT at_us, chain, n FROM instruments WHERE id = $1", f.Before).Scan(&at, &chain, &n); {
		case errors.Is(err, sql.ErrNoRows):
			return nil, fmt.Errorf("before instrument %s: %w", f.Before, ledger.ErrNotFound)
		case err != nil:
			return nil, err
		}
		w.conditions = append(w.conditions, fmt.Sprintf("(i.at_us, i.chain, i.n) < (%s, %s, %s)", w.number(at), w.number(chain), w.number(n)))
	}
	from, err := w.searchInstruments(ctx, tx, f.Search)
	if err != nil {
		return nil, err
	}
	order := " ORDER BY i.at_us DESC, i.chain DESC, i.n DESC"
	rows, err := tx.QueryContext(ctx, `SELECT r.content, (SELECT count(*) FROM tickets WHERE instrument = i.id),
			coalesce(t.id, ''), coalesce(t.opened_us, 0), coalesce(c.id, ''), coalesce(name.body, ''), coalesce(contact.body, '')
		FROM (SELECT i.id, i.at_us, i.chain, i.n FROM `+from+w.String()+order+" LIMIT "+w.number(cmp.Or(f.Limit, defaultLimit))+`) i
		CROSS JOIN records r ON r.chain = i.chain AND r.n = i.n
		LEFT JOIN tickets t ON t.id = (SELECT id FROM tickets WHERE instrument = i.id ORDER BY opened_us DESC, id DESC LIMIT 1)
		LEFT JOIN customers c ON c.id = t.customer
		LEFT JOIN texts name ON name.id = c.name LEFT JOIN texts contact ON contact.id = c.contact`+order, w.args...)
	return collect(rows, err, func(rows *sql.Rows) (e ledger.InstrumentEntry, err error) {
		var content []byte
		var r ledger.TicketRecord
		var opened int64
		if err := rows.Scan(&content, &e.Visits, &e.Last, &opened, &e.Customer.ID, &e.Customer.Name, &e.Customer.Contact); err != nil {
			return e, err
		}
		if e.Last != "" { // else its tickets were said to be of another one
			e.Opened = micro(opened)
		}
		err = decode(content, &r)
		e.Instrument = r.Instrument()
		return e, err
	})
}

// HoldCounts implements [ledger.Store].
func (db *DB) HoldCounts(ctx context.Context, ids []string) (map[string]int, error) {
	counts := make(map[string]int, len(ids))
	if len(ids) == 0 {
		return counts, nil
	}
	var w where
	query := "SELECT ticket, count(*) FROM holds WHERE ticket IN " + w.list(ids) + " GROUP BY ticket"
	rows, err := db.read.QueryContext(ctx, query, w.args...)
	_, err = collect(rows, err, func(rows *sql.Rows) (struct{}, error) {
		var id string
		var n int
		err := rows.Scan(&id, &n)
		counts[id] = n
		return struct{}{}, err
	})
	if err != nil {
		return nil, fmt.Errorf("count holds of tickets in ledger %s: %w", db.path, err)
	}
	return counts, nil
}

// Trend implements [ledger.Store].
func (db *DB) Trend(ctx context.Context, instrumentID string) ([]ledger.TrendPoint, error) {
	var w where
	w.add("t.ticket IN (SELECT id FROM tickets WHERE instrument = %s)", instrumentID)
	found, err := trials(ctx, db.read, w, "+t.at_us, t.chain, t.n", -1) // +: not by walking the whole list
	if err != nil {
		return nil, fmt.Errorf("read trend of instrument %s in ledger %s: %w", instrumentID, db.path, classify(err))
	}
	points := make([]ledger.TrendPoint, len(found))
	for i, e := range found {
		points[i] = e.Point()
	}
	return points, nil
}
