package main

import (
	"context"
	"strings"

	"boretight/internal/decay"
	"boretight/internal/ledger"
)

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

func (c *holdsCmd) run(ctx context.Context, a app) (status, error) {
	fetch := func(ctx context.Context, store ledger.Store, f ledger.Filter) ([]ledger.Entry, error) {
		return store.Holds(ctx, f)
	}
	return list(ctx, a, c.Of, "holds", fetch, func(e ledger.Entry) (any, string) {
		return holdEntry{"boretight/hold-entry/1", e}, listLine(e.ID, e.Started, holdWords(e))
	})
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
