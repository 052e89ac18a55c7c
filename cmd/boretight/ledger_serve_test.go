package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
)

// looked returns what the page is told of the ledger's copies, once ready says so.
func looked(t *testing.T, address string, ready func(bench.CopiesState) bool) bench.CopiesState {
	t.Helper()
	var s bench.Snapshot
	require.Eventually(t, func() bool {
		require.NoError(t, json.Unmarshal([]byte(get(t, address+"api/v1/snapshot?holds=0")), &s))
		require.NotNil(t, s.Ledger.Copies)
		return ready(*s.Ledger.Copies)
	}, 30*time.Second, 50*time.Millisecond, "the copies never came to that")
	return *s.Ledger.Copies
}

// TestALedgerIsCopiedAndNotReplacedBesideServe looks at a ledger's daily copies, makes
// one by hand while holds are recorded, and puts it back after the end.
func TestALedgerIsCopiedAndNotReplacedBesideServe(t *testing.T) {
	t.Parallel()
	dir, folder := t.TempDir(), t.TempDir()
	ledger, byHand := filepath.Join(dir, "shop.boretight"), filepath.Join(t.TempDir(), "copy.boretight")
	p := start(t, programPath(t), "demo", "--ledger", ledger, "--copies", folder)
	address := p.line(10 * time.Second)
	state := looked(t, address, func(s bench.CopiesState) bool { return s.Kept == 1 })
	assert.Equal(t, folder, state.Folder)
	assert.Empty(t, state.Problem)
	assert.Less(t, state.Age, 60.0)
	assert.Contains(t, get(t, address), "last copy just now")

	r := runHere(t.Context(), "", "ledger", "copy", "--ledger", ledger, byHand)
	require.Equal(t, done, r.status, r.err)
	assert.Contains(t, r.out, "a sound copy of")
	assert.Equal(t, done, runHere(t.Context(), "", "check", "--ledger", byHand).status)

	r = runHere(t.Context(), "", "ledger", "replace", "--ledger", ledger, byHand)
	assert.Equal(t, failed, r.status)
	assert.Contains(t, r.err, "locked by another program")
	assert.Contains(t, r.err, "boretight: hint: stop boretight serve")

	assert.Zero(t, p.stop(syscall.SIGTERM))
	require.Equal(t, done, runHere(t.Context(), "", "ledger", "replace", "--ledger", ledger, byHand).status)
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, entries, 2, "the ledger, and the one that was there")
	entries, err = os.ReadDir(folder)
	require.NoError(t, err)
	require.Len(t, entries, 1)
	assert.Equal(t, done, runHere(t.Context(), "", "check", "--ledger", filepath.Join(folder, entries[0].Name())).status)
}

func TestServeGoesOnWithoutItsFolderOfCopies(t *testing.T) {
	t.Parallel()
	missing := filepath.Join(t.TempDir(), "stick")
	p := start(t, programPath(t), "serve", "--gauge", "sim:silent", "--listen", "127.0.0.1:0", "--copies", missing)
	address := p.line(10 * time.Second)
	state := looked(t, address, func(s bench.CopiesState) bool { return s.Problem != "" })
	assert.Contains(t, state.Problem, missing+" is not there: plug its disk in or make the folder")
	assert.Contains(t, get(t, address), "no copy yet")
	assert.Equal(t, "ready\n", get(t, address+"readyz"), "holds are recorded all the same")
	assert.NoDirExists(t, missing)
	assert.Zero(t, p.stop(syscall.SIGTERM))
}

func TestTheDemoMakesNoCopiesAmongTheShops(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	p := start(t, "env", "BORETIGHT_COPIES="+folder, programPath(t), "demo", "--listen", "127.0.0.1:0")
	assert.Contains(t, get(t, p.line(10*time.Second)), "no copies are made")
	assert.Zero(t, p.stop(syscall.SIGTERM))
	entries, err := os.ReadDir(folder)
	require.NoError(t, err)
	assert.Empty(t, entries)
}

func TestADamagedCopyDoesNotReplaceALedger(t *testing.T) {
	t.Parallel()
	ledger, damaged := newLedger(t), newLedger(t)
	db := directly(t, damaged)
	_, err := db.Exec("DROP TRIGGER holds_delete")
	require.NoError(t, err)
	before, err := os.ReadFile(ledger)
	require.NoError(t, err)
	r := runHere(t.Context(), "", "ledger", "replace", "--ledger", ledger, damaged)
	assert.Equal(t, notTight, r.status)
	assert.Contains(t, r.err, "the trigger holds_delete, which protects what is stored, is missing")
	assert.Contains(t, r.err, "boretight: hint: choose another copy")
	after, err := os.ReadFile(ledger)
	require.NoError(t, err)
	assert.Equal(t, before, after)

	r = runHere(t.Context(), "", "ledger", "copy", "--ledger", damaged, filepath.Join(t.TempDir(), "copy"))
	assert.Equal(t, notTight, r.status)
	assert.Contains(t, r.err, "boretight: hint: an older copy can be put in its place")

	newer := newLedger(t)
	_, err = directly(t, newer).Exec("PRAGMA user_version=9999")
	require.NoError(t, err)
	r = runHere(t.Context(), "", "ledger", "replace", "--ledger", ledger, newer)
	assert.Equal(t, failed, r.status)
	assert.Contains(t, r.err, "boretight: hint: install the program's newer version")
}
