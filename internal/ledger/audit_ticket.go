package ledger

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"slices"
	"time"

	"boretight/internal/ticket"
)

// TicketSource is what an audit reads of the lists that tickets and customers make.
type TicketSource interface {
	// ListedTicket returns the row of the list of tickets, or nil; the others likewise.
	ListedTicket(ctx context.Context, id string) (*ListedTicket, error)
	ListedInstrument(ctx context.Context, id string) (*ListedInstrument, error)
	ListedCustomer(ctx context.Context, id string) (*ListedCustomer, error)
	// WordsListed returns the words by which a ticket is found, sorted.
	WordsListed(ctx context.Context, ticketID string) ([]Word, error)
	// Customer returns a customer with what was not erased, or an error that wraps
	// [ErrNotFound].
	Customer(ctx context.Context, id string) (ticket.Customer, error)
	// TicketTotals returns the number of rows of each list.
	TicketTotals(ctx context.Context) (TicketTotals, error)
}

// TicketTotals are the numbers of rows of the lists that tickets and customers make.
type TicketTotals struct {
	Tickets, Instruments, Customers, Words int64
}

// standing says how a row of a list stands to a record: 0 when it names that record, less
// when it names an older one.
func standing(at time.Time, newest Head, r Record) int {
	return cmp.Or(at.Compare(r.At), cmp.Compare(newest.Chain, r.Chain), cmp.Compare(newest.N, r.N))
}

// ticket looks whether the lists have what a ticket record tells, and nothing older. Each row
// is compared with the one record that it names; finish counts that no row names another.
func (a *auditor) ticket(ctx context.Context, where string, r Record) error {
	want, err := NewListedTicket(r)
	if err != nil {
		a.Fault("%s: %v", where, err)
		return nil
	}
	got, err := a.src.ListedTicket(ctx, want.ID)
	switch {
	case err != nil:
		return err
	case got == nil:
		a.Fault("%s: ticket %s is not in the list of tickets", where, want.ID)
	case got.Newest == want.Newest:
		a.visits.Tickets++
		if *got != want {
			a.Fault("%s: the list of tickets differs from it", where)
		}
		if err := a.words(ctx, where, r, want); err != nil {
			return err
		}
	case standing(got.At, got.Newest, r) < 0:
		a.Fault("%s: the list of tickets names an older record of ticket %s", where, want.ID)
	}
	return a.instrument(ctx, where, r, want.Instrument)
}

func (a *auditor) instrument(ctx context.Context, where string, r Record, id string) error {
	got, err := a.src.ListedInstrument(ctx, id)
	switch {
	case err != nil:
		return err
	case got == nil:
		a.Fault("%s: instrument %s is not in the list of instruments", where, id)
	case got.Newest == Head{Chain: r.Chain, N: r.N}:
		a.visits.Instruments++
		if !got.At.Equal(r.At) {
			a.Fault("%s: the list of instruments differs from it", where)
		}
	case standing(got.At, got.Newest, r) < 0:
		a.Fault("%s: the list of instruments names an older record of instrument %s", where, id)
	}
	return nil
}

func (a *auditor) customer(ctx context.Context, where string, r Record) error {
	want, err := NewListedCustomer(r)
	if err != nil {
		a.Fault("%s: %v", where, err)
		return nil
	}
	got, err := a.src.ListedCustomer(ctx, want.ID)
	switch {
	case err != nil:
		return err
	case got == nil:
		a.Fault("%s: customer %s is not in the list of customers", where, want.ID)
	case got.Newest == want.Newest:
		a.visits.Customers++
		if *got != want {
			a.Fault("%s: the list of customers differs from it", where)
		}
	case standing(got.At, got.Newest, r) < 0:
		a.Fault("%s: the list of customers names an older record of customer %s", where, want.ID)
	}
	return nil
}

// words looks whether a ticket is found by its own words and its customer's, and no others:
// what was erased must not be found any more.
func (a *auditor) words(ctx context.Context, where string, r Record, t ListedTicket) error {
	var content TicketRecord
	if err := json.Unmarshal(r.Content, &content); err != nil {
		return err // NewListedTicket could
	}
	var c ticket.Customer
	if t.Customer != "" {
		var err error
		if c, err = a.src.Customer(ctx, t.Customer); err != nil && !errors.Is(err, ErrNotFound) {
			return err
		}
	}
	got, err := a.src.WordsListed(ctx, t.ID)
	if err != nil {
		return err
	}
	a.visits.Words += int64(len(got))
	if !slices.Equal(got, Words(content, c)) {
		a.Fault("%s: ticket %s is listed under other words than its own and its customer's", where, t.ID)
	}
	return nil
}

// ticketsListed looks whether the lists have what the records have not.
func (a *auditor) ticketsListed(ctx context.Context) error {
	got, err := a.src.TicketTotals(ctx)
	if err != nil {
		return err
	}
	for _, l := range [...]struct {
		of        string
		got, want int64
	}{
		{"tickets", got.Tickets, a.visits.Tickets}, {"instruments", got.Instruments, a.visits.Instruments},
		{"customers", got.Customers, a.visits.Customers}, {"words of tickets", got.Words, a.visits.Words},
	} {
		if l.got != l.want {
			a.Fault("the list has %d %s, the records %d that it names", l.got, l.of, l.want)
		}
	}
	return nil
}
