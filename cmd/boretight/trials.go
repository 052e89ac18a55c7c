package main

import (
	"context"
	"errors"
	"fmt"

	"boretight/internal/ledger"
)

type trialsCmd struct {
	Of listed `embed:""`
}

// Help shows an example.
func (trialsCmd) Help() string {
	return `Example:
  boretight trials --ticket T-17

Each trial once, as it is now; the one that last gained a hold comes first. boretight
compare sets two against each other.`
}

// trialEntry is a trial in a printed list.
type trialEntry struct {
	Schema string `json:"schema"`
	ledger.TrialEntry
}

func (c *trialsCmd) run(ctx context.Context, a app) (status, error) {
	f, err := c.Of.filter()
	if err != nil {
		return usage, err
	}
	store, err := openForReading(ctx, c.Of.Ledger)
	if err != nil {
		return failed, err
	}
	entries, err := c.entries(ctx, store, f)
	if err == nil && len(entries) == 0 {
		err = c.Of.nothingFound(ctx, a, store, "trials")
	}
	if err = errors.Join(err, store.Close()); err != nil {
		return failed, err
	}
	for _, e := range entries {
		if c.Of.JSON {
			err = errors.Join(err, printJSON(a.out, trialEntry{"boretight/trial-entry/1", e}))
			continue
		}
		fmt.Fprintf(a.out, "%s  %s  %s\n", e.ID, e.At.Local().Format("2006-01-02 15:04"), trialWords(e))
	}
	return done, err
}

// entries are the trials asked for as they count now.
func (c *trialsCmd) entries(ctx context.Context, store ledger.Store, f ledger.Filter) ([]ledger.TrialEntry, error) {
	entries, err := store.Trials(ctx, f)
	if err != nil {
		return nil, err
	}
	for i, e := range entries {
		if entries[i].Result, err = withoutVoided(ctx, store, e.Trial); err != nil {
			return nil, err
		}
	}
	return entries, nil
}

func trialWords(e ledger.TrialEntry) string {
	result := "no leakage rate"
	if e.Result.SCCM != nil {
		result = withU(*e.Result.SCCM, "sccm")
	}
	holds := counting(e.Result.Holds, "hold")
	return inLine(e.Of, e.Section, e.Closure, occasion(e.When), e.Ticket, e.Result.Sign, holds, string(e.Result.Verdict), result)
}
