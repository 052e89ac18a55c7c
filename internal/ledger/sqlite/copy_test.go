package sqlite_test

import (
	"encoding/json"
	"io/fs"
	"os"
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

// origins returns the first records of all chains of a ledger.
func origins(t testing.TB, path string) []ledger.Record {
	t.Helper()
	db := open(t, path)
	defer func() { require.NoError(t, db.Close()) }()
	ledgertest.Sound(t, db)
	rs, err := db.Records(t.Context(), ledger.ChainBegin)
	require.NoError(t, err)
	return rs
}

func TestACopyStartsAChainOfItsOwn(t *testing.T) {
	raw := func(t *testing.T, from, to string) {
		b, err := os.ReadFile(from)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(to, b, 0o644))
	}
	own := func(t *testing.T, from, to string) {
		db := open(t, from)
		require.NoError(t, db.Copy(t.Context(), to))
		require.NoError(t, db.Close())
	}
	for name, c := range map[string]struct {
		copy   func(t *testing.T, from, to string)
		chains int
	}{
		"copied to another name": {raw, 2},
		"written by copy":        {own, 2},
		"deleted and put back from a backup": {func(t *testing.T, from, to string) {
			raw(t, from, to+".backup")
			require.NoError(t, os.Remove(from))
			raw(t, to+".backup", to)
		}, 2},
		"overwritten in place with a file made by copy": {func(t *testing.T, from, to string) {
			own(t, from, to+".backup")
			require.NoError(t, os.Rename(from, to))
			raw(t, to+".backup", to)
		}, 2},
		"moved": {func(t *testing.T, from, to string) { require.NoError(t, os.Rename(from, to)) }, 1},
	} {
		t.Run(name, func(t *testing.T) {
			from, _ := made(t)
			to := filepath.Join(t.TempDir(), "ledger.db")
			c.copy(t, from, to)
			first := origins(t, to)
			require.Len(t, first, c.chains)
			assert.Len(t, origins(t, to), c.chains, "opening once more changes nothing")
			if c.chains == 2 {
				var o ledger.Origin
				require.NoError(t, json.Unmarshal(first[1].Content, &o))
				require.NotNil(t, o.From)
				assert.Equal(t, first[0].Chain, o.From.Chain)
				assert.EqualValues(t, 3, o.From.N, "the head of the copy")
			}
		})
	}
}

func TestACopyMadeWhileAHoldIsWritten(t *testing.T) {
	db := opened(t, filepath.Join(t.TempDir(), "ledger.db"))
	w, stop := ledgertest.Start(t, db)
	defer stop()
	b := ledgertest.Begin("north")
	require.NoError(t, w.BeginHold(b))
	require.NoError(t, w.AppendReadings(b.ID, ledgertest.Readings(0, 100, 100)))
	oneHold(t, db)
	for open := false; !open; { // until the begin is on the disk
		list, err := db.Holds(t.Context(), ledger.Filter{})
		require.NoError(t, err)
		open = len(list) == 2
	}
	path := filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, db.Copy(t.Context(), path))
	require.ErrorIs(t, db.Copy(t.Context(), path), fs.ErrExist)
	assert.Len(t, files(t, filepath.Dir(path)), 1)

	read, err := sqlite.OpenReadOnly(t.Context(), path)
	require.NoError(t, err)
	assert.EqualValues(t, 1, ledgertest.Sound(t, read).Interrupted, "nobody writes to the copy")
	require.NoError(t, read.Close())

	r, err := w.EndHold(b.ID, ledgertest.Outcome(trial.Pass, 2))
	require.NoError(t, err)
	require.NoError(t, r.Wait(t.Context()))
	assert.Zero(t, ledgertest.Sound(t, db).Interrupted)
}

// newer are the migrations of a later program.
func newer(t testing.TB) fs.FS {
	t.Helper()
	m := fstest.MapFS{"00004_more.sql": {Data: []byte("-- +goose Up\nPRAGMA user_version = 4;\nCREATE TABLE more (a TEXT) STRICT;\n")}}
	names, err := fs.Glob(sqlite.Migrations(), "*.sql")
	require.NoError(t, err)
	require.NotEmpty(t, names)
	for _, name := range names {
		b, err := fs.ReadFile(sqlite.Migrations(), name)
		require.NoError(t, err)
		m[name] = &fstest.MapFile{Data: b}
	}
	return m
}

func TestAnOlderLedgerIsCopiedThenMigrated(t *testing.T) {
	path, hold := made(t)
	db, err := sqlite.OpenWith(t.Context(), path, newer(t))
	require.NoError(t, err)
	_, err = db.Hold(t.Context(), hold)
	require.NoError(t, err)
	assert.EqualValues(t, 1, ledgertest.Sound(t, db).Holds)
	require.NoError(t, db.Close())

	kept := path + ".before-v4"
	before := files(t, filepath.Dir(path))
	assert.Len(t, before, 2)
	look(t, kept, hold) // of the old schema: this program can read it

	_, err = sqlite.Open(t.Context(), path, sqlite.Options{})
	require.ErrorIs(t, err, ledger.ErrNewer)
	assert.ErrorContains(t, err, "schema 4, known up to 3")
	_, err = sqlite.OpenReadOnly(t.Context(), path)
	require.ErrorIs(t, err, ledger.ErrNewer)
	assert.Equal(t, before, files(t, filepath.Dir(path)), "a refused ledger is left as it was")
}

func TestAFailedMigrationLeavesTheLedger(t *testing.T) {
	path, hold := made(t)
	m := newer(t).(fstest.MapFS)
	m["00004_more.sql"].Data = []byte("-- +goose Up\nPRAGMA user_version = 4;\nCREATE TABLE more (a TEXT) STRICT;\nSELECT nonsense;\n")
	_, err := sqlite.OpenWith(t.Context(), path, m)
	require.Error(t, err)
	look(t, path, hold)
}

func TestAnInterruptedMakingIsGoneOnWith(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger.db")
	_, err := sqlite.OpenWith(t.Context(), path, fstest.MapFS{
		"00001_broken.sql": {Data: []byte("-- +goose Up\nSELECT nonsense;\n")}})
	require.Error(t, err)
	ledgertest.Sound(t, opened(t, path))

	empty := filepath.Join(t.TempDir(), "empty.db")
	require.NoError(t, os.WriteFile(empty, nil, 0o644))
	ledgertest.Sound(t, opened(t, empty))
}

func TestAJournalThatCannotBeReadInPlace(t *testing.T) {
	path, hold := killed(t)
	db, err := sqlite.StepAside(t.Context(), path)
	require.NoError(t, err)
	_, err = db.Hold(t.Context(), hold)
	require.NoError(t, err)
	assert.EqualValues(t, 1, ledgertest.Sound(t, db).Holds)
	require.NoError(t, db.Close())
	assert.NoDirExists(t, db.Aside())
	assert.Len(t, files(t, filepath.Dir(path)), 2)
}

func TestCopiesMadeWhileRecordsAreAppended(t *testing.T) {
	path, _ := made(t)
	db := opened(t, path)
	stop, stopped := make(chan struct{}), make(chan error)
	go func() {
		for {
			select {
			case <-stop:
				stopped <- nil
				return
			default:
			}
			if _, err := db.Append(t.Context(), ledger.NoteDraft("T-17", "a note")); err != nil {
				stopped <- err
				return
			}
		}
	}()
	dir := t.TempDir()
	last := int64(0)
	for i := range 5 {
		dst := filepath.Join(dir, string(rune('a'+i)))
		// Also as a command does it that runs beside the writer.
		beside, err := sqlite.OpenReadOnly(t.Context(), path)
		require.NoError(t, err)
		r, err := beside.CopyAudited(t.Context(), dst)
		require.NoError(t, err)
		require.NoError(t, beside.Close())
		assert.GreaterOrEqual(t, r.Records, last)
		last = r.Records
		read, err := sqlite.OpenReadOnly(t.Context(), dst)
		require.NoError(t, err)
		assert.Equal(t, r, ledgertest.Sound(t, read))
		require.NoError(t, read.Close())
	}
	close(stop)
	require.NoError(t, <-stopped)
	assert.Greater(t, last, int64(3), "records were appended meanwhile")
	assert.Len(t, files(t, dir), 5, "and nothing else")
}

func TestACopyOfAClosedLedgerLeavesNoTraceBesideIt(t *testing.T) {
	path, hold := made(t)
	before := files(t, filepath.Dir(path))
	db, err := sqlite.OpenReadOnly(t.Context(), path)
	require.NoError(t, err)
	defer db.Close()
	dst := filepath.Join(t.TempDir(), "copy")
	require.NoError(t, db.Copy(t.Context(), dst))
	assert.Equal(t, before, files(t, filepath.Dir(path)))
	look(t, dst, hold)

	// A writer comes while the file is read as unchanging.
	late := opened(t, path)
	oneHold(t, late)
	r, err := db.CopyAudited(t.Context(), dst+"-2")
	require.NoError(t, err)
	assert.EqualValues(t, 2, r.Holds)
}

func TestACopyToARelativePath(t *testing.T) {
	path, hold := made(t)
	t.Chdir(t.TempDir())
	require.NoError(t, opened(t, path).Copy(t.Context(), "copy"))
	look(t, "copy", hold)
}

func TestADamagedLedgerGivesNoCopy(t *testing.T) {
	path, _ := made(t)
	spoilBlock(t, path)
	db, err := sqlite.OpenReadOnly(t.Context(), path)
	require.NoError(t, err)
	defer db.Close()
	dst := filepath.Join(t.TempDir(), "copy")
	err = db.Copy(t.Context(), dst)
	require.ErrorIs(t, err, ledger.ErrDamaged)
	assert.ErrorContains(t, err, "running SHA-256")
	assert.Empty(t, files(t, filepath.Dir(dst)))
}

func TestALineIsCommonToALedgerAndItsCopies(t *testing.T) {
	path, _ := made(t)
	db := opened(t, path)
	line, err := db.Line(t.Context())
	require.NoError(t, err)
	dst := filepath.Join(t.TempDir(), "copy")
	require.NoError(t, db.Copy(t.Context(), dst))
	copied, err := opened(t, dst).Line(t.Context())
	require.NoError(t, err)
	assert.Equal(t, line, copied)
}
