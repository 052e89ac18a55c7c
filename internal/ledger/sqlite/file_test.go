package sqlite_test

import (
	"crypto/sha256"
	"database/sql"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/ledger/ledgertest"
	"boretight/internal/ledger/sqlite"
	"boretight/internal/trial"
)

// files returns the names of a folder with a hash of each file.
func files(t testing.TB, dir string) map[string][32]byte {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	all := make(map[string][32]byte)
	for _, e := range entries {
		b, err := os.ReadFile(filepath.Join(dir, e.Name()))
		require.NoError(t, err)
		all[e.Name()] = sha256.Sum256(b)
	}
	return all
}

// made makes a ledger with one hold and returns its path and the hold.
func made(t testing.TB) (path, hold string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "ledger.db")
	db := open(t, path)
	hold = oneHold(t, db)
	require.NoError(t, db.Close())
	return path, hold
}

func oneHold(t testing.TB, db *sqlite.DB) string {
	t.Helper()
	w, stop := ledgertest.Start(t, db)
	defer stop()
	b := ledgertest.Begin("north")
	ledgertest.Write(t, w, b, 200, ledgertest.Outcome(trial.Pass, 2))
	return b.ID
}

// look does what commands that only look do.
func look(t *testing.T, path, hold string) ledger.Report {
	t.Helper()
	db, err := sqlite.OpenReadOnly(t.Context(), path)
	require.NoError(t, err)
	h, err := db.Hold(t.Context(), hold)
	require.NoError(t, err)
	assert.NotEmpty(t, h.Trace.Readings)
	_, err = db.Holds(t.Context(), ledger.Filter{})
	require.NoError(t, err)
	r := ledgertest.Sound(t, db)
	_, err = db.Append(t.Context(), ledger.NoteDraft(hold, "no"))
	require.ErrorIs(t, err, ledger.ErrReadOnly)
	require.NoError(t, db.Close())
	return r
}

func TestOnlyTheLedgersFileRemains(t *testing.T) {
	path, _ := made(t)
	assert.Len(t, files(t, filepath.Dir(path)), 1)
	opened := open(t, path)
	require.NoError(t, opened.Close())
	assert.Len(t, files(t, filepath.Dir(path)), 1)
}

func TestReadingLeavesNoTrace(t *testing.T) {
	t.Run("in a closed ledger", func(t *testing.T) {
		path, hold := made(t)
		before := files(t, filepath.Dir(path))
		look(t, path, hold)
		assert.Equal(t, before, files(t, filepath.Dir(path)))
	})
	t.Run("in a read-only file in a read-only folder", func(t *testing.T) {
		path, hold := made(t)
		protect(t, path)
		before := files(t, filepath.Dir(path))
		look(t, path, hold)
		assert.Equal(t, before, files(t, filepath.Dir(path)))
	})
	t.Run("beside a writer", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "ledger.db")
		db := opened(t, path)
		hold := oneHold(t, db)
		before := contents(t, path)
		look(t, path, hold)
		assert.Equal(t, before, contents(t, path))
		oneHold(t, db) // the writer is not disturbed
		ledgertest.Sound(t, db)
	})
	t.Run("in the files that a killed program left", func(t *testing.T) {
		path, hold := killed(t)
		before := contents(t, path)
		r := look(t, path, hold)
		assert.EqualValues(t, 1, r.Holds)
		assert.Equal(t, before, contents(t, path))
	})
}

// contents returns file and journal; the index of the journal (-shm) holds nothing.
func contents(t testing.TB, path string) [2][]byte {
	t.Helper()
	var both [2][]byte
	for i, p := range []string{path, path + "-wal"} {
		b, err := os.ReadFile(p)
		require.NoError(t, err)
		both[i] = b
	}
	return both
}

// killed returns a ledger as a killed program leaves it: with a journal that is not
// folded in.
func killed(t testing.TB) (path, hold string) {
	t.Helper()
	living := filepath.Join(t.TempDir(), "ledger.db")
	db := opened(t, living)
	hold = oneHold(t, db)
	path = filepath.Join(t.TempDir(), "ledger.db")
	for _, suffix := range []string{"", "-wal"} {
		b, err := os.ReadFile(living + suffix)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(path+suffix, b, 0o644))
	}
	return path, hold
}

// protect takes the permission to write from a file and its folder.
func protect(t testing.TB, path string) {
	t.Helper()
	require.NoError(t, os.Chmod(path, 0o444))
	require.NoError(t, os.Chmod(filepath.Dir(path), 0o555))
	t.Cleanup(func() {
		assert.NoError(t, os.Chmod(filepath.Dir(path), 0o755))
		assert.NoError(t, os.Chmod(path, 0o644))
	})
}

func TestWhatIsNotALedgerIsRefusedAndLeftAlone(t *testing.T) {
	dir := t.TempDir()
	write := func(name, content string) string {
		p := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(p, []byte(content), 0o644))
		return p
	}
	foreign := filepath.Join(dir, "foreign.db")
	other, err := sql.Open("sqlite", foreign)
	require.NoError(t, err)
	_, err = other.Exec("PRAGMA journal_mode = WAL; CREATE TABLE a (b)")
	require.NoError(t, err)
	require.NoError(t, other.Close())

	for name, path := range map[string]string{
		"a text file":                 write("notes.txt", "pads, corks, springs\n"),
		"a long file":                 write("long", string(make([]byte, 9000))),
		"SQLite file of another kind": foreign,
		"a folder":                    dir,
	} {
		t.Run(name, func(t *testing.T) {
			before := map[string][32]byte{}
			if path != dir {
				before = files(t, dir)
			}
			_, err := sqlite.Open(t.Context(), path, sqlite.Options{})
			assert.ErrorIs(t, err, ledger.ErrNotLedger)
			assert.ErrorContains(t, err, path)
			_, err = sqlite.OpenReadOnly(t.Context(), path)
			assert.ErrorIs(t, err, ledger.ErrNotLedger)
			if path != dir {
				assert.Equal(t, before, files(t, dir))
			}
		})
	}
}

func TestOpeningForReadingMakesNothing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger.db")
	_, err := sqlite.OpenReadOnly(t.Context(), path)
	require.ErrorIs(t, err, os.ErrNotExist)
	assert.Empty(t, files(t, filepath.Dir(path)))
}

func TestAReadOnlyFileIsNotOpenedForWriting(t *testing.T) {
	path, _ := made(t)
	require.NoError(t, os.Chmod(path, 0o444))
	_, err := sqlite.Open(t.Context(), path, sqlite.Options{})
	require.ErrorIs(t, err, ledger.ErrReadOnly)

	_, err = sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "no", "ledger.db"), sqlite.Options{})
	assert.ErrorIs(t, err, os.ErrNotExist)
	assert.ErrorContains(t, err, "make it first")
}

func TestALockedLedgerSaysSo(t *testing.T) {
	path, _ := made(t)
	other, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	defer other.Close()
	other.SetMaxOpenConns(1)
	_, err = other.Exec("BEGIN EXCLUSIVE")
	require.NoError(t, err)
	_, err = sqlite.Open(t.Context(), path, sqlite.Options{})
	assert.ErrorIs(t, err, ledger.ErrLocked)
}
