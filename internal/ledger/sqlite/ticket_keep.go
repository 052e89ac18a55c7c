package sqlite

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"boretight/internal/ledger"
	"boretight/internal/ticket"
)

// firstNumber is that of the first ticket of a shop.
const firstNumber = 1001

// KeepTicket implements [ledger.Store]. The number is given within the transaction, so that
// two programs never give the same one.
func (db *DB) KeepTicket(ctx context.Context, t ticket.Ticket) (ticket.Ticket, error) {
	kept := t
	err := db.change(ctx, time.Now(), func(a *appender) error {
		id, err := a.keepTicket(ctx, t)
		if err != nil {
			return err
		}
		kept, err = readTicket(ctx, a, id)
		return err
	})
	if err != nil {
		return t, fmt.Errorf("keep ticket %s in ledger %s: %w", cmp.Or(t.ID, "(new)"), db.path, err)
	}
	return kept, nil
}

// keepTicket returns the number of the ticket that it has kept.
func (a *appender) keepTicket(ctx context.Context, t ticket.Ticket) (string, error) {
	if t.ID == "" {
		number, err := a.nextTicket(ctx)
		if err != nil {
			return "", err
		}
		t.ID = number
		return number, a.recordVisit(ctx, ledger.TicketRecord{Opened: a.at}, &t)
	}
	before, err := ticketRecord(ctx, a, t.ID)
	if err != nil {
		return "", err
	}
	return t.ID, a.recordVisit(ctx, before, &t)
}

// recordVisit records a ticket that has its number, with its customer, and gives both and
// the instrument the identities that they lack. before is how it was recorded last.
func (a *appender) recordVisit(ctx context.Context, before ledger.TicketRecord, t *ticket.Ticket) error {
	if t.Opened.IsZero() {
		t.Opened = before.Opened
	}
	if t.Instrument == before.Instrument() {
		// A later visit may have told more of it, which an old one does not take back.
		t.Instrument = ticket.Instrument{ID: before.InstrumentID}
	}
	if err := a.fillInstrument(ctx, &t.Instrument); err != nil {
		return err
	}
	if err := t.Validate(); err != nil {
		return err
	}
	if err := a.keepCustomer(ctx, &t.Customer); err != nil {
		return err
	}
	return a.recordTicket(ctx, before, *t)
}

// nextTicket returns the number after the highest that was ever given or used as a label.
func (a *appender) nextTicket(ctx context.Context) (string, error) {
	highest := int64(firstNumber - 1)
	for _, l := range [...]struct{ table, label string }{{"tickets", "id"}, {"holds", "ticket"}, {"trials", "ticket"}} {
		var n int64
		// The conditions are those of the index on the number, without which this is slow.
		err := a.QueryRowContext(ctx, fmt.Sprintf(`SELECT CAST(substr(%[2]s, 3) AS INTEGER) FROM %[1]s INDEXED BY %[1]s_number
			WHERE %[2]s GLOB 'T-[0-9]*' AND length(%[2]s) <= 17 AND NOT substr(%[2]s, 3) GLOB '*[^0-9]*'
			ORDER BY CAST(substr(%[2]s, 3) AS INTEGER) DESC LIMIT 1`, l.table, l.label)).Scan(&n)
		if err != nil && !errors.Is(err, sql.ErrNoRows) {
			return "", fmt.Errorf("look for the highest number in %s: %w", l.table, err)
		}
		highest = max(highest, n)
	}
	return fmt.Sprintf("T-%d", highest+1), nil
}

// fillInstrument gives a new instrument its identity, and one of which nothing but that is
// given what is known of it.
func (a *appender) fillInstrument(ctx context.Context, i *ticket.Instrument) error {
	if i.ID == "" {
		i.ID = ledger.NewID()
		return nil
	}
	known, err := instrument(ctx, a, i.ID)
	if err != nil {
		return fmt.Errorf("instrument %s: %w", i.ID, err)
	}
	if *i == (ticket.Instrument{ID: i.ID}) {
		*i = known
	}
	return nil
}

// keepCustomer records a customer who is new or changed. Of whom nothing but the identity is
// given stays as recorded.
func (a *appender) keepCustomer(ctx context.Context, c *ticket.Customer) error {
	var before ledger.CustomerRecord
	switch {
	case *c == ticket.Customer{}:
		return nil
	case c.ID == "":
		c.ID = ledger.NewID()
	default:
		known, err := customerRecord(ctx, a, c.ID)
		if err != nil {
			return fmt.Errorf("customer %s: %w", c.ID, err)
		}
		if c.Name == "" && c.Contact == "" {
			return nil
		}
		before = known
	}
	texts := texts{in: a}
	r := ledger.CustomerRecord{ID: c.ID}
	var err error
	if r.Name, err = texts.keep(ctx, before.Name, c.Name); err != nil {
		return err
	}
	if r.Contact, err = texts.keep(ctx, before.Contact, c.Contact); err != nil {
		return err
	}
	if len(texts.fresh) == 0 && same(r.Name, before.Name) && same(r.Contact, before.Contact) {
		return nil
	}
	return a.add(ctx, ledger.Draft{Kind: ledger.CustomerKept, Content: r, Texts: texts.fresh})
}

// recordTicket appends the ticket's record. Texts that are as they were before keep their
// references.
func (a *appender) recordTicket(ctx context.Context, before ledger.TicketRecord, t ticket.Ticket) error {
	texts := texts{in: a}
	r := ledger.NewTicketRecord(t)
	var err error
	for _, text := range [...]struct {
		to, old **ledger.TextRef
		now     string
	}{{&r.Complaint, &before.Complaint, t.Complaint}, {&r.Condition, &before.Condition, t.Condition}, {&r.Remark, &before.Remark, t.Remark}} {
		if *text.to, err = texts.keep(ctx, *text.old, text.now); err != nil {
			return err
		}
	}
	return a.add(ctx, ledger.Draft{Kind: ledger.TicketKept, Content: r, Texts: texts.fresh})
}

// AddWork implements [ledger.Store].
func (db *DB) AddWork(ctx context.Context, ticketID string, w ticket.Work) (ticket.Work, error) {
	added := w
	err := db.change(ctx, time.Now(), func(a *appender) (err error) {
		added, err = a.addWork(ctx, ticketID, w)
		return err
	})
	if err != nil {
		return w, fmt.Errorf("add work to ticket %s in ledger %s: %w", ticketID, db.path, err)
	}
	return added, nil
}

func (a *appender) addWork(ctx context.Context, ticketID string, w ticket.Work) (ticket.Work, error) {
	if err := w.Validate(); err != nil {
		return w, err
	}
	if _, err := ticketRecord(ctx, a, ticketID); err != nil {
		return w, err
	}
	w.ID = ledger.NewID()
	if w.At.IsZero() {
		w.At = a.at
	}
	r := ledger.NewWorkRecord(ticketID, w)
	w.At = r.At
	did := ledger.NewText(w.Did)
	r.Did = new(did.Ref())
	return w, a.add(ctx, ledger.Draft{Kind: ledger.WorkDone, Content: r, Texts: []ledger.Text{did}})
}

// add appends a record within the transaction.
func (a *appender) add(ctx context.Context, d ledger.Draft) error {
	content, err := ledger.Canonical(d.Content)
	if err != nil {
		return err
	}
	_, err = a.draft(ctx, d, content)
	return err
}

// texts collects the erasable texts that a record brings with it.
type texts struct {
	in    querier
	fresh []ledger.Text
}

// keep returns the reference to a text: the old one if it reads so already.
func (t *texts) keep(ctx context.Context, old *ledger.TextRef, now string) (*ledger.TextRef, error) {
	before, err := body(ctx, t.in, old)
	switch {
	case err != nil:
		return nil, err
	case now == before:
		return old, nil
	case now == "":
		return nil, nil
	}
	text := ledger.NewText(now)
	t.fresh = append(t.fresh, text)
	return new(text.Ref()), nil
}

func same(a, b *ledger.TextRef) bool { return a == b || a != nil && b != nil && *a == *b }
