package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"boretight/internal/config"
	"boretight/internal/ledger"
)

// listed is what the lists of holds and of trials are asked for. What the environment
// says of the joint being measured, or of its limit, is not meant for them.
type listed struct {
	Limit  int    `default:"20" placeholder:"N" help:"How many to list."`
	Joint  string `placeholder:"INSTRUMENT/JOINT" help:"Of this joint only."`
	Ticket string `placeholder:"ID" help:"Of this ticket only."`
	Ledger string `placeholder:"FILE" help:"Ledger to read; the usual one when not given."`
	JSON   bool   `name:"json" help:"Print one JSON object each, one a line."`
}

func (l listed) filter() (ledger.Filter, error) {
	of := config.Labels{Joint: l.Joint}
	f := ledger.Filter{Limit: l.Limit, Ticket: l.Ticket, Instrument: of.Instrument(), Joint: of.JointOf()}
	if l.Limit < 1 {
		return f, &usageError{err: fmt.Errorf("--limit %d: want at least 1", l.Limit)}
	}
	if err := of.Validate(); err != nil {
		return f, &usageError{err: err}
	}
	return f, nil
}

// list prints what a ledger has of a kind: what names it in the plural, fetch finds it,
// and row gives the object and the line of each.
func list[E any](ctx context.Context, a app, of listed, what string,
	fetch func(context.Context, ledger.Store, ledger.Filter) ([]E, error), row func(E) (object any, line string)) (status, error) {
	f, err := of.filter()
	if err != nil {
		return usage, err
	}
	store, err := openForReading(ctx, of.Ledger)
	if err != nil {
		return failed, err
	}
	entries, err := fetch(ctx, store, f)
	if err == nil && len(entries) == 0 {
		err = of.nothingFound(ctx, a, store, what)
	}
	if err = errors.Join(err, store.Close()); err != nil {
		return failed, err
	}
	for _, e := range entries {
		object, line := row(e)
		if of.JSON {
			err = errors.Join(err, printJSON(a.out, object))
			continue
		}
		fmt.Fprintln(a.out, line)
	}
	return done, err
}

// listLine is a line of a list for people.
func listLine(id string, at time.Time, words string) string {
	return fmt.Sprintf("%s  %s  %s", id, at.Local().Format("2006-01-02 15:04"), words)
}

// nothingFound says on standard error that a list is empty, and where the ledger has
// nothing at all of the joint asked for, that its name may be mistyped.
func (l listed) nothingFound(ctx context.Context, a app, store ledger.Store, what string) error {
	text := "no " + what + " found"
	if l.Joint != "" {
		text += " of " + l.Joint
	}
	if l.Ticket != "" {
		text += " on ticket " + l.Ticket
	}
	if l.Joint != "" {
		of := config.Labels{Joint: l.Joint}
		heard, err := store.Holds(ctx, ledger.Filter{Limit: 1, Instrument: of.Instrument(), Joint: of.JointOf()})
		if err != nil {
			return err
		}
		if len(heard) == 0 {
			text += "; the ledger has never heard of that joint: look how it is spelt"
		}
	}
	_, err := fmt.Fprintln(a.err, "boretight: "+text)
	return err
}
