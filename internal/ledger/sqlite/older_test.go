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

// undo takes back what a migration made.
var undo = map[int]string{
	2: "DROP TABLE trials",
	3: `DROP TABLE words; DROP TABLE customers; DROP TABLE instruments; DROP TABLE tickets;
		DROP INDEX holds_class; DROP INDEX holds_number; DROP INDEX trials_class; DROP INDEX trials_number;
		ALTER TABLE holds DROP COLUMN closure; ALTER TABLE trials DROP COLUMN section; ALTER TABLE trials DROP COLUMN occasion;
		CREATE INDEX holds_joint ON holds (instrument, joint, id); CREATE INDEX holds_verdict ON holds (verdict, id);
		CREATE INDEX trials_joint ON trials (joint, instrument, at_us, chain, n)`,
}

// older makes a ledger one of an older schema.
func older(t *testing.T, path string, schema int) {
	t.Helper()
	raw := rawOpen(t, path)
	for v := len(undo) + 1; v > schema; v-- {
		_, err := raw.Exec(undo[v])
		require.NoError(t, err, "schema %d", v)
	}
	_, err := raw.Exec("DELETE FROM goose_db_version WHERE version_id > ?", schema)
	require.NoError(t, err)
	_, err = raw.Exec("PRAGMA user_version = " + string(rune('0'+schema)))
	require.NoError(t, err)
	require.NoError(t, raw.Close())
	names, err := fs.Glob(sqlite.Migrations(), "*.sql")
	require.NoError(t, err)
	m := fstest.MapFS{}
	for _, name := range names[:schema] {
		data, err := fs.ReadFile(sqlite.Migrations(), name)
		require.NoError(t, err)
		m[name] = &fstest.MapFile{Data: data}
	}
	db, err := sqlite.OpenWith(t.Context(), path, m)
	require.NoError(t, err, "it is one")
	require.NoError(t, db.Close())
}

// A ledger of before there were tickets gets what its lists lack from its records.
func TestListsAreFilledUpFromOlderRecords(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger.db")
	db := open(t, path)
	w, stop := ledgertest.Start(t, db)
	b := ledgertest.Begin("north")
	ledgertest.Write(t, w, b, 3, ledgertest.Outcome(trial.Pass, 1))
	tr := ledger.Trial{ID: ledger.NewID(), Section: "trill keys", When: "as_left", Ticket: "T-1200"}
	_, err := db.Append(t.Context(), tr.Draft())
	require.NoError(t, err)
	stop()
	require.NoError(t, db.Close())

	older(t, path, 2)
	db = opened(t, path)
	ledgertest.Sound(t, db)
	assert.FileExists(t, path+".before-v3")
	holds, err := db.Holds(t.Context(), ledger.Filter{Section: "trill keys"})
	require.NoError(t, err)
	require.Len(t, holds, 1)
	assert.Equal(t, b.Closure, holds[0].Closure)
	trials, err := db.Trials(t.Context(), ledger.Filter{Section: "trill keys", When: "as_left"})
	require.NoError(t, err)
	require.Len(t, trials, 1)
	kept, err := db.KeepTicket(t.Context(), ledgertest.Visit())
	require.NoError(t, err)
	assert.Equal(t, "T-1201", kept.ID)
}
