//go:build unix

package sqlite_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/ledger/sqlite"
)

func TestWhoMayReadALedgerStaysWhenItIsReplaced(t *testing.T) {
	path, _ := made(t)
	from, _ := made(t)
	require.NoError(t, os.Chmod(path, 0o640))
	_, err := sqlite.Replace(t.Context(), path, from, replacedAt)
	require.NoError(t, err)
	info, err := os.Stat(path)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o640), info.Mode().Perm())
}

func TestALedgerThatWasReplacedMeanwhileIsNotOpened(t *testing.T) {
	for range 5 { // the opener meets the lock most times, not always
		path, hold := made(t)
		from, _ := made(t)
		release, err := sqlite.Seize(t.Context(), path)
		require.NoError(t, err)
		waiting := make(chan error)
		go func() {
			db, err := sqlite.Open(t.Context(), path, sqlite.Options{})
			if err == nil {
				err = db.Close()
			}
			waiting <- err
		}()
		_, err = sqlite.Swap(from, path, path+".aside")
		require.NoError(t, err)
		require.NoError(t, release())
		// It was opened after all when it came late, as the new one; never as the old one.
		if err := <-waiting; err != nil {
			require.ErrorIs(t, err, ledger.ErrLocked)
		}
		require.NoFileExists(t, path+"-wal")
		assert.Len(t, origins(t, path+".aside"), 1, "nobody wrote to the one put aside")
		look(t, path+".aside", hold)
	}
}
