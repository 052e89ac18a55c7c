package sqlite_test

import (
	"database/sql"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/ledger/ledgertest"
	"boretight/internal/ledger/sqlite"
)

var replacedAt = time.Date(2026, 3, 2, 9, 30, 5, 0, time.UTC)

// behind changes a ledger's file behind the program's back.
func behind(t *testing.T, path string, statements ...string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	for _, s := range statements {
		_, err := db.Exec(s)
		require.NoError(t, err, s)
	}
	require.NoError(t, db.Close())
}

func TestReplacePutsACopyInTheLedgersPlace(t *testing.T) {
	path, older := made(t)
	backup := filepath.Join(t.TempDir(), "backup")
	db := open(t, path)
	require.NoError(t, db.Copy(t.Context(), backup))
	newer := oneHold(t, db)
	require.NoError(t, db.Close())
	before := files(t, filepath.Dir(backup))

	r, err := sqlite.Replace(t.Context(), path, backup, replacedAt)
	require.NoError(t, err)
	assert.EqualValues(t, 1, r.Report.Holds)
	assert.Equal(t, path+".replaced-2026-03-02T093005Z", r.Kept)
	assert.Equal(t, before, files(t, filepath.Dir(backup)), "the copy stays as it was")
	assert.Len(t, files(t, filepath.Dir(path)), 2)
	look(t, path, older)
	look(t, r.Kept, newer)

	first := origins(t, path)
	require.Len(t, first, 2, "a chain of its own")
	assert.Contains(t, string(first[1].Content), first[0].Chain, "which names the old head")

	again, err := sqlite.Replace(t.Context(), path, r.Kept, replacedAt)
	require.NoError(t, err)
	assert.Equal(t, r.Kept+"-2", again.Kept, "within the same second nothing is lost either")
	look(t, path, newer)
}

func TestReplaceWhereThereIsNoLedger(t *testing.T) {
	from, hold := made(t)
	path := filepath.Join(t.TempDir(), "ledger.db")
	r, err := sqlite.Replace(t.Context(), path, from, replacedAt)
	require.NoError(t, err)
	assert.Empty(t, r.Kept)
	assert.Len(t, files(t, filepath.Dir(path)), 1)
	look(t, path, hold)
}

func TestReplaceOfADamagedLedgerKeepsIt(t *testing.T) {
	path, hold := made(t)
	backup := filepath.Join(t.TempDir(), "backup")
	db := open(t, path)
	require.NoError(t, db.Copy(t.Context(), backup))
	require.NoError(t, db.Close())
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	require.NoError(t, err)
	info, err := f.Stat()
	require.NoError(t, err)
	_, err = f.WriteAt(make([]byte, info.Size()-4096), 4096) // all pages but the first
	require.NoError(t, err)
	require.NoError(t, f.Close())

	_, err = sqlite.Replace(t.Context(), path, backup, replacedAt)
	require.NoError(t, err)
	assert.Len(t, files(t, filepath.Dir(path)), 2)
	look(t, path, hold)
}

func TestReplaceFoldsInWhatAKilledProgramLeft(t *testing.T) {
	path, hold := killed(t)
	from, _ := made(t)
	r, err := sqlite.Replace(t.Context(), path, from, replacedAt)
	require.NoError(t, err)
	assert.Len(t, files(t, filepath.Dir(path)), 2, "no journal that would be taken for the new ledger's")
	look(t, r.Kept, hold)
}

func TestReplaceRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(t *testing.T, path, from string) (otherFrom string)
		is    error
		says  string
	}{
		"a copy whose readings were changed": {func(t *testing.T, _, from string) string {
			spoilBlock(t, from)
			return from
		}, ledger.ErrDamaged, "running SHA-256"},
		"a copy of a newer program": {func(t *testing.T, _, from string) string {
			behind(t, from, "PRAGMA user_version = 99")
			return from
		}, ledger.ErrNewer, "schema 99"},
		"a file that is no ledger": {func(t *testing.T, _, from string) string {
			require.NoError(t, os.WriteFile(from, []byte(strings.Repeat("a letter ", 500)), 0o644))
			return from
		}, ledger.ErrNotLedger, "another kind"},
		"a file that is not there": {func(_ *testing.T, _, from string) string {
			return from + ".absent"
		}, os.ErrNotExist, "absent"},
		"the ledger itself": {func(_ *testing.T, path, _ string) string {
			return path
		}, nil, "both are the same file"},
		"to do away with a letter": {func(t *testing.T, path, from string) string {
			require.NoError(t, os.WriteFile(path, []byte(strings.Repeat("a letter ", 500)), 0o644))
			return from
		}, ledger.ErrNotLedger, "move it away by hand"},
		"a ledger that must not be written": {func(t *testing.T, path, from string) string {
			require.NoError(t, os.Chmod(path, 0o444))
			return from
		}, ledger.ErrReadOnly, "permissions"},
	} {
		t.Run(name, func(t *testing.T) {
			path, _ := made(t)
			from, _ := made(t)
			from = c.spoil(t, path, from)
			before := files(t, filepath.Dir(path))
			_, err := sqlite.Replace(t.Context(), path, from, replacedAt)
			require.Error(t, err)
			if c.is != nil {
				require.ErrorIs(t, err, c.is)
			}
			require.ErrorContains(t, err, c.says)
			require.ErrorContains(t, err, path)
			assert.Equal(t, before, files(t, filepath.Dir(path)), "the ledger is as it was, and nothing is beside it")
		})
	}
}

// spoilBlock changes a reading and puts the guard against that back.
func spoilBlock(t *testing.T, path string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	var guard string
	require.NoError(t, db.QueryRow("SELECT sql FROM sqlite_schema WHERE name = 'blocks_update'").Scan(&guard))
	require.NoError(t, db.Close())
	behind(t, path, "DROP TRIGGER blocks_update", "UPDATE blocks SET data = zeroblob(length(data))", guard)
}

func TestReplaceRefusesWhileTheLedgerIsOpen(t *testing.T) {
	from, _ := made(t)
	for name, use := range map[string]func(t *testing.T, path string){
		"by a writer that has nothing to do": func(t *testing.T, path string) { opened(t, path) },
		"by a writer in mid-hold": func(t *testing.T, path string) {
			w, stop := ledgertest.Start(t, opened(t, path))
			t.Cleanup(stop)
			b := ledgertest.Begin("north")
			require.NoError(t, w.BeginHold(b))
			require.NoError(t, w.AppendReadings(b.ID, ledgertest.Readings(0, 100, 100)))
		},
	} {
		t.Run(name, func(t *testing.T) {
			path, hold := made(t)
			use(t, path)
			_, err := sqlite.Replace(t.Context(), path, from, replacedAt)
			require.ErrorIs(t, err, ledger.ErrLocked)
			names, err := os.ReadDir(filepath.Dir(path))
			require.NoError(t, err)
			for _, n := range names {
				assert.NotContains(t, n.Name(), ".new-")
				assert.NotContains(t, n.Name(), ".replaced-")
			}
			look(t, path, hold)
		})
	}
}
