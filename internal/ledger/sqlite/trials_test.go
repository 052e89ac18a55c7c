package sqlite_test

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/ledger/ledgertest"
	"boretight/internal/trial"
)

// A ledger of before there was a list of trials gets it from its records.
func TestTheListOfTrialsIsMadeFromOlderRecords(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger.db")
	db := open(t, path)
	one := ledger.Trial{ID: ledger.NewID(), Instrument: "oboe", Joint: "upper", Of: "oboe/upper", Ticket: "T-1"}
	two := ledger.Trial{ID: ledger.NewID(), Instrument: "oboe", Joint: "lower", Of: "oboe/lower"}
	for _, tr := range []ledger.Trial{one, two, one} {
		tr.Holds = []string{ledger.NewID()}
		tr.Result = trial.Trial{Schema: trial.SchemaTrial, Verdict: trial.Fail}
		_, err := db.Append(t.Context(), tr.Draft())
		require.NoError(t, err)
	}
	want, err := db.Trials(t.Context(), ledger.Filter{})
	require.NoError(t, err)
	require.Len(t, want, 2)
	require.NoError(t, db.Close())

	older(t, path, 1)
	db = opened(t, path)
	ledgertest.Sound(t, db)
	for _, f := range []ledger.Filter{{}, {Verdict: "fail"}} {
		got, err := db.Trials(t.Context(), f)
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
	got, err := db.Trials(t.Context(), ledger.Filter{Ticket: "T-1", Instrument: "oboe", Joint: "upper"})
	require.NoError(t, err)
	assert.Equal(t, want[:1], got)
}
