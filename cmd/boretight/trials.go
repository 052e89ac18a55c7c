package main

import (
	"context"

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
	return list(ctx, a, c.Of, "trials", trialsAsTheyCount, func(e ledger.TrialEntry) (any, string) {
		return trialEntry{"boretight/trial-entry/1", e}, listLine(e.ID, e.At, trialWords(e))
	})
}

// trialsAsTheyCount are the trials asked for, without holds that were set aside.
func trialsAsTheyCount(ctx context.Context, store ledger.Store, f ledger.Filter) ([]ledger.TrialEntry, error) {
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
	return inLine(e.Of, e.Section, e.Closure, occasion(e.When), e.Ticket, e.Result.Sign, holdsOf(e.Trial), string(e.Result.Verdict), result)
}
