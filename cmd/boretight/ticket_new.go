package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"strings"

	"boretight/internal/ledger"
	"boretight/internal/ticket"
)

type ticketNewCmd struct {
	Instrument string   `placeholder:"KIND" help:"Kind of instrument, such as oboe; boretight catalog list has them."`
	Joint      []string `placeholder:"NAME" help:"Joint that is to be measured; may be repeated. All of the instrument when not given."`
	Maker      string   `placeholder:"NAME" help:"Maker."`
	Model      string   `placeholder:"NAME" help:"Model."`
	Serial     string   `placeholder:"NUMBER" help:"Serial number. One that was here before with this kind is the same instrument."`
	Another    bool     `help:"It is another instrument, though one with that serial number was here before."`
	Customer   string   `placeholder:"NAME" help:"Whose it is. Erasable."`
	Contact    string   `placeholder:"TEXT" help:"Telephone or mail. Erasable."`
	Complaint  string   `placeholder:"TEXT" help:"What is wrong, as told. Erasable."`
	Condition  string   `placeholder:"TEXT" help:"What was seen when it came in. Erasable."`
	Ledger     string   `placeholder:"FILE" help:"Ledger to record into; the usual one when not given."`
	JSON       bool     `name:"json" help:"Print the ticket as one JSON object."`
}

// Help shows an example.
func (ticketNewCmd) Help() string {
	return `Example:
  boretight ticket new --instrument oboe --maker Hallwell --serial 2214 \
    --customer "Ada Fenwick" --complaint "low notes come late"
  boretight hold --ticket T-1001 --joint oboe/upper --when as_found --gauge …

On a terminal and without --instrument it asks field by field.`
}

func (c *ticketNewCmd) run(ctx context.Context, a app) (status, error) {
	if c.Instrument == "" && terminal(a.in) {
		if err := c.ask(ctx, readLines(ctx, a.in), a.err); err != nil {
			return failed, err
		}
	}
	t, err := c.told()
	if err != nil {
		return failed, err
	}
	err = withBook(ctx, c.Ledger, func(b *book) (err error) {
		if !c.Another {
			if t, err = seenBefore(ctx, b.store, t); err != nil {
				return err
			}
		}
		t, err = keepTicket(ctx, b, t)
		return err
	})
	if err != nil {
		return failed, err
	}
	if c.JSON {
		return done, printJSON(a.out, lineOf(t))
	}
	_, err = fmt.Fprintf(a.out, "%s opened: %s, %s\n", t.ID, whichOne(t.Instrument), strings.Join(t.Joints, ", "))
	return done, err
}

// told is the ticket that the flags tell.
func (c *ticketNewCmd) told() (ticket.Ticket, error) {
	t := ticket.Ticket{
		Instrument: ticket.Instrument{Template: c.Instrument, Maker: c.Maker, Model: c.Model, Serial: c.Serial},
		Customer:   ticket.Customer{Name: c.Customer, Contact: c.Contact},
		Complaint:  c.Complaint, Condition: c.Condition,
	}
	const hint = "boretight catalog list has the kinds and joints"
	if c.Instrument == "" {
		return t, &usageError{err: errors.New("open a ticket: no kind of instrument given; name it with --instrument"), hint: hint}
	}
	known, err := catalogued{}.load()
	if err != nil {
		return t, err
	}
	of, err := known.Instrument(c.Instrument)
	if err != nil {
		return t, &usageError{err: fmt.Errorf("--instrument: %w", err), hint: hint}
	}
	if t.Joints, err = jointsTold(of, c.Joint); err != nil {
		return t, &usageError{err: err, hint: hint}
	}
	return t, misToldTicket(t.Validate())
}

// seenBefore makes the instrument of a new ticket the one of that kind and serial number
// that was here before, if there is one; what was not told anew is taken from then.
func seenBefore(ctx context.Context, store ledger.Store, t ticket.Ticket) (ticket.Ticket, error) {
	if t.Instrument.Serial == "" {
		return t, nil
	}
	entries, err := store.Instruments(ctx, ledger.InstrumentFilter{Search: t.Instrument.Serial})
	if err != nil {
		return t, fmt.Errorf("look whether the instrument was here before: %w", err)
	}
	for _, e := range entries {
		i := &t.Instrument
		if e.Template != i.Template || !strings.EqualFold(e.Serial, i.Serial) || i.Maker != "" && !strings.EqualFold(e.Maker, i.Maker) {
			continue
		}
		i.ID, i.Maker, i.Model = e.ID, cmp.Or(i.Maker, e.Maker), cmp.Or(i.Model, e.Model)
		switch {
		case t.Customer.Name == "" && t.Customer.Contact == "":
			t.Customer = e.Customer
		case strings.EqualFold(t.Customer.Name, e.Customer.Name):
			t.Customer.ID, t.Customer.Contact = e.Customer.ID, cmp.Or(t.Customer.Contact, e.Customer.Contact)
		}
		return t, nil
	}
	return t, nil
}
