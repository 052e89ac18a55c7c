package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"boretight/internal/config"
	"boretight/internal/decay"
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

type holdsCmd struct {
	Of listed `embed:""`
}

// Help shows an example.
func (holdsCmd) Help() string {
	return `Example:
  boretight holds --joint oboe/upper --limit 5

The newest comes first. boretight export takes one out.`
}

// holdEntry is a hold in a printed list.
type holdEntry struct {
	Schema string `json:"schema"`
	ledger.Entry
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

func (c *holdsCmd) run(ctx context.Context, a app) (status, error) {
	f, err := c.Of.filter()
	if err != nil {
		return usage, err
	}
	store, err := openForReading(ctx, c.Of.Ledger)
	if err != nil {
		return failed, err
	}
	entries, err := store.Holds(ctx, f)
	if err == nil && len(entries) == 0 {
		err = c.Of.nothingFound(ctx, a, store, "holds")
	}
	if err = errors.Join(err, store.Close()); err != nil {
		return failed, err
	}
	for _, e := range entries {
		if c.Of.JSON {
			err = errors.Join(err, printJSON(a.out, holdEntry{"boretight/hold-entry/1", e}))
			continue
		}
		fmt.Fprintf(a.out, "%s  %s  %s\n", e.ID, e.Started.Local().Format("2006-01-02 15:04"), holdWords(e))
	}
	return done, err
}

func holdWords(e ledger.Entry) string {
	of := ""
	if e.Joint != "" {
		of = e.Instrument + "/" + e.Joint
	}
	result := "no leakage rate"
	switch {
	case e.Ended.IsZero():
		result = "being measured"
	case e.Interrupted:
		result = "interrupted"
	case e.SCCM != nil && e.USCCM != nil:
		result = withU(decay.Estimate{Value: *e.SCCM, U: *e.USCCM}, "sccm")
	}
	words := []string{of, e.Section, occasion(e.When), e.Ticket, e.Sign, e.Verdict, result}
	if e.Voided {
		words = append(words, "set aside")
	}
	return inLine(words...)
}

func occasion(when string) string { return strings.ReplaceAll(when, "_", " ") }

// inLine joins what is not empty.
func inLine(words ...string) string {
	var told []string
	for _, w := range words {
		if w != "" {
			told = append(told, w)
		}
	}
	return strings.Join(told, ", ")
}
