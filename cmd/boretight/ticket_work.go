package main

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"boretight/internal/ticket"
)

type ticketWorkCmd struct {
	ID     string `arg:"" placeholder:"TICKET" help:"Ticket, such as T-1001."`
	Did    string `arg:"" placeholder:"WHAT" help:"What was done. Erasable."`
	Joint  string `placeholder:"NAME" help:"Joint that it was done to; the whole instrument when not given."`
	Seat   string `placeholder:"NAME" help:"Seat that it was done to."`
	Ledger string `placeholder:"FILE" help:"Ledger to record into; the usual one when not given."`
	JSON   bool   `name:"json" help:"Print the ticket as one JSON object."`
}

// Help shows an example.
func (ticketWorkCmd) Help() string {
	return `Example:
  boretight ticket work T-1001 "replaced the pad, leveled the seat" --joint upper --seat G#`
}

func (c *ticketWorkCmd) run(ctx context.Context, a app) (status, error) {
	id, err := ticketTold(c.ID)
	if err != nil {
		return usage, err
	}
	w := ticket.Work{Joint: c.Joint, Seat: c.Seat, Did: c.Did}
	if mistold := misToldTicket(w.Validate()); mistold != nil {
		return usage, mistold
	}
	var t ticket.Ticket
	err = changeTicket(ctx, c.Ledger, id, func(b *book, now ticket.Ticket) error {
		if t = now; w.Joint != "" && !slices.Contains(t.Joints, w.Joint) {
			return &usageError{err: fmt.Errorf("add work to ticket %s: --joint %s: it has no such joint, but %s", id, w.Joint, strings.Join(t.Joints, ", "))}
		}
		w, err := b.store.AddWork(ctx, id, w)
		t.Work = append(t.Work, w)
		return aboutTicket(err)
	})
	if err != nil {
		return failed, err
	}
	if c.JSON {
		return done, printJSON(a.out, lineOf(t))
	}
	_, err = fmt.Fprintf(a.out, "%s: %s noted\n", t.ID, inLine(c.Joint, c.Seat, c.Did))
	return done, err
}

type ticketCloseCmd struct {
	ID     string  `arg:"" placeholder:"TICKET" help:"Ticket, such as T-1001."`
	Remark *string `placeholder:"TEXT" help:"What there is to say at closing. Erasable."`
	Reopen bool    `help:"Open it again instead."`
	Ledger string  `placeholder:"FILE" help:"Ledger to record into; the usual one when not given."`
	JSON   bool    `name:"json" help:"Print the ticket as one JSON object."`
}

// Help shows an example.
func (ticketCloseCmd) Help() string {
	return `Example:
  boretight ticket close T-1001 --remark "play in slowly"
  boretight ticket close T-1001 --reopen`
}

func (c *ticketCloseCmd) run(ctx context.Context, a app) (status, error) {
	id, err := ticketTold(c.ID)
	if err != nil {
		return usage, err
	}
	doing, did := "close", "closed"
	if c.Reopen {
		doing, did = "open again", "opened again"
	}
	var t ticket.Ticket
	err = changeTicket(ctx, c.Ledger, id, func(b *book, now ticket.Ticket) (err error) {
		if t = now; t.Open() == c.Reopen {
			return &hintedError{
				err:  fmt.Errorf("%s ticket %s: it is %s already", doing, id, map[bool]string{true: "open", false: "closed"}[c.Reopen]),
				hint: "boretight ticket show " + id + " tells more",
			}
		}
		t.Closed = time.Time{}
		if !c.Reopen {
			t.Closed = time.Now().UTC()
		}
		if c.Remark != nil {
			t.Remark = *c.Remark
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
	_, err = fmt.Fprintf(a.out, "%s %s\n", t.ID, did)
	return done, err
}
