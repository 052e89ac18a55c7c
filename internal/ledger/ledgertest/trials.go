package ledgertest

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/trial"
)

// grown appends a trial of a joint as it was after each of so many holds.
func grown(t *testing.T, s ledger.Store, tr ledger.Trial, holds int) {
	t.Helper()
	for i := range holds {
		tr.Holds = append(tr.Holds, ledger.NewID())
		tr.Result = trial.Trial{Schema: trial.SchemaTrial, Holds: i + 1}
		_, err := s.Append(t.Context(), tr.Draft())
		require.NoError(t, err)
	}
}

func grownTrials(t *testing.T, s ledger.Store) {
	of := func(joint string) ledger.Trial {
		return ledger.Trial{ID: ledger.NewID(), Instrument: "oboe", Joint: joint, Of: "oboe/" + joint, Ticket: "T-1"}
	}
	first, second, third := of("upper"), of("lower"), of("upper")
	grown(t, s, first, 2)
	grown(t, s, second, 1)
	grown(t, s, third, 3)
	grown(t, s, first, 4) // again, after the others

	list := func(f ledger.Filter) (got []string) {
		entries, err := s.Trials(t.Context(), f)
		require.NoError(t, err)
		for _, e := range entries {
			got = append(got, fmt.Sprintf("%s %d", e.ID, e.Result.Holds))
		}
		return got
	}
	now := []string{first.ID + " 4", third.ID + " 3", second.ID + " 1"}
	assert.Equal(t, now, list(ledger.Filter{}))
	assert.Equal(t, now, list(ledger.Filter{Ticket: "T-1"}))
	assert.Equal(t, now[:2], list(ledger.Filter{Instrument: "oboe", Joint: "upper"}))
	assert.Equal(t, now[1:], list(ledger.Filter{Before: first.ID}))
	assert.Equal(t, now[2:], list(ledger.Filter{Before: third.ID}), "the first one's older records are no trials of their own")
}

func prefixes(t *testing.T, s ledger.Store) {
	w, stop := Start(t, s)
	defer stop()
	one, two := Begin("north"), Begin("north")
	one.ID, two.ID = "019ab8c2-7d3e-7a52-9f10-3b5c1e8a4d27", "019ab8c2-9f00-7a52-9f10-3b5c1e8a4d27"
	Write(t, w, one, 3, Outcome(trial.Pass, 1))
	Write(t, w, two, 3, Outcome(trial.Pass, 1))
	tr := ledger.Trial{ID: "019ab8c2-a000-7a52-9f10-3b5c1e8a4d27", Holds: []string{one.ID, two.ID}}
	for range 2 {
		_, err := s.Append(t.Context(), tr.Draft())
		require.NoError(t, err)
	}
	for prefix, want := range map[string]string{one.ID: one.ID, "019ab8c2-7": one.ID, "019AB8C2-9": two.ID} {
		got, err := s.FindHold(t.Context(), prefix)
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
	_, err := s.FindHold(t.Context(), "019ab8c2")
	assert.ErrorIs(t, err, ledger.ErrAmbiguous)
	_, err = s.FindHold(t.Context(), tr.ID)
	assert.ErrorIs(t, err, ledger.ErrNotFound)
	_, err = s.FindHold(t.Context(), "%")
	assert.ErrorIs(t, err, ledger.ErrNotFound)

	got, err := s.FindTrial(t.Context(), "019ab8c2")
	require.NoError(t, err, "the holds of the trial begin like it and are none")
	assert.Equal(t, tr, got.Trial)
	_, err = s.FindTrial(t.Context(), one.ID)
	assert.ErrorIs(t, err, ledger.ErrNotFound)
	tr.ID = "019ab8c2-b000-7a52-9f10-3b5c1e8a4d27"
	_, err = s.Append(t.Context(), tr.Draft())
	require.NoError(t, err)
	_, err = s.FindTrial(t.Context(), "019ab8c2")
	assert.ErrorIs(t, err, ledger.ErrAmbiguous)
	_, err = s.FindTrial(t.Context(), "019ab8c2-b")
	assert.NoError(t, err)
}
