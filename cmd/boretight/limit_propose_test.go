package main

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/trial"
)

// manyTrials is a ledger of endless passed trials of one joint, one a ticket.
type manyTrials struct{ ledger.Store }

func (manyTrials) Trials(_ context.Context, f ledger.Filter) ([]ledger.TrialEntry, error) {
	all := make([]ledger.TrialEntry, f.Limit)
	for i := range all {
		t := ledger.Trial{ID: ledger.NewID(), Of: f.Of(), When: f.When, Closure: "all keys closed"}
		t.Ticket = t.ID
		t.Result = trial.Trial{At: 2500, Sign: "suction", Verdict: trial.Pass, LeakRate: new(trial.LeakRate)}
		t.Result.LeakRate.Value = 1e-3
		all[i] = ledger.TrialEntry{Trial: t}
	}
	return all, nil
}

func (manyTrials) Voided(context.Context, []string) ([]string, error) { return nil, nil }

func TestALimitIsProposedFromTheNewestTrialsAsLeft(t *testing.T) {
	c := limitProposeCmd{Joint: "oboe/upper", Of: limitOf{Sign: "suction"}}
	joints, closure, _, err := c.passed(t.Context(), manyTrials{})
	require.NoError(t, err)
	assert.Len(t, joints, newestTrials)
	assert.Equal(t, "all keys closed", closure)
}
