package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"boretight/internal/ledger"
)

type ticketListCmd struct {
	Open   bool   `help:"Open ones only."`
	Search string `placeholder:"WORDS" help:"Words that must all occur: number, kind, maker, model, serial number, customer."`
	Limit  int    `default:"100" placeholder:"N" help:"How many to list."`
	Before string `placeholder:"ID" help:"Go on after this ticket, the last one listed before."`
	Ledger string `placeholder:"FILE" help:"Ledger to read; the usual one when not given."`
	JSON   bool   `name:"json" help:"Print one JSON object a ticket, one a line."`
}

// Help shows an example.
func (ticketListCmd) Help() string {
	return `Example:
  boretight ticket list --open
  boretight ticket list --search "oboe fenwick" --json`
}

// ticketEntryLine is a ticket in a printed list. The identity comes first.
type ticketEntryLine struct {
	ID         string         `json:"id"`
	Schema     string         `json:"schema"`
	Opened     time.Time      `json:"opened"`
	Closed     time.Time      `json:"closed,omitzero"`
	Instrument instrumentLine `json:"instrument"`
	Joints     []string       `json:"joints"`
	Customer   string         `json:"customer,omitempty"`
}

func (c *ticketListCmd) run(ctx context.Context, a app) (status, error) {
	if c.Limit < 1 {
		return usage, &usageError{err: fmt.Errorf("--limit %d: want at least 1", c.Limit)}
	}
	store, err := openForReading(ctx, c.Ledger)
	if err != nil {
		return failed, err
	}
	f := ledger.TicketFilter{Limit: c.Limit + 1, Search: c.Search, Open: c.Open, Before: ticketNumber(c.Before)}
	entries, err := store.Tickets(ctx, f)
	if err = errors.Join(aboutTicket(err), store.Close()); err != nil {
		return failed, err
	}
	more := len(entries) > c.Limit
	entries = entries[:min(len(entries), c.Limit)]
	for _, e := range entries {
		if c.JSON {
			err = printJSON(a.out, ticketEntryLine{e.ID, "boretight/ticket-entry/1", e.Opened, e.Closed, instrumentLine(e.Instrument), e.Joints, e.Customer})
		} else {
			_, err = fmt.Fprintln(a.out, ticketEntryText(e))
		}
		if err != nil {
			return failed, err
		}
	}
	switch {
	case more:
		fmt.Fprintf(a.err, "boretight: there are more: --before %s goes on\n", entries[len(entries)-1].ID)
	case len(entries) == 0:
		fmt.Fprintln(a.err, "boretight: "+c.none())
	}
	return done, nil
}

// none says that the list is empty.
func (c *ticketListCmd) none() string {
	text := "no tickets"
	if c.Open {
		text = "no open tickets"
	}
	if c.Search != "" {
		text += " with " + c.Search
	}
	if c.Open {
		text += "; without --open closed ones are listed too"
	}
	return text
}

func ticketEntryText(e ledger.TicketEntry) string {
	state := "open"
	if !e.Closed.IsZero() {
		state = "closed " + e.Closed.Local().Format("2006-01-02")
	}
	words := inLine(whichOne(e.Instrument), strings.Join(e.Joints, " + "), e.Customer, state)
	return fmt.Sprintf("%-7s  %s  %s", e.ID, e.Opened.Local().Format("2006-01-02"), words)
}
