package sqlite_test

import (
	"io/fs"
	"path/filepath"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/ledger/ledgertest"
	"boretight/internal/ledger/sqlite"
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

	raw := rawOpen(t, path)
	_, err = raw.Exec("DROP TABLE trials; PRAGMA user_version = 1; DELETE FROM goose_db_version WHERE version_id = 2")
	require.NoError(t, err)
	require.NoError(t, raw.Close())
	first, err := fs.ReadFile(sqlite.Migrations(), "00001_ledger.sql")
	require.NoError(t, err)
	older, err := sqlite.OpenWith(t.Context(), path, fstest.MapFS{"00001_ledger.sql": {Data: first}})
	require.NoError(t, err, "it is one")
	require.NoError(t, older.Close())

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
