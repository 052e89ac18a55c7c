package main

import (
	"database/sql"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	_ "modernc.org/sqlite"
)

// newLedger makes a ledger with the made-up shop's holds.
func newLedger(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "shop.boretight")
	r := runHere(t.Context(), "", "demo", "--seed-only", "--ledger", path)
	require.Equal(t, done, r.status, r.err)
	return path
}

// directly opens a ledger's file behind the program's back.
func directly(t *testing.T, path string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	db.SetMaxOpenConns(1)
	t.Cleanup(func() { db.Close() })
	return db
}

func TestALedgerOfANewerProgramIsRefused(t *testing.T) {
	t.Parallel()
	path := newLedger(t)
	_, err := directly(t, path).Exec("PRAGMA user_version=9999")
	require.NoError(t, err)
	for _, args := range [][]string{
		{"check", "--ledger", path},
		{"hold", "--gauge", "replay:absent.csv", "--ledger", path},
	} {
		r := runHere(t.Context(), "", args...)
		assert.Equal(t, failed, r.status)
		assert.Contains(t, r.err, "boretight: error: ")
		assert.Contains(t, r.err, "newer")
		assert.Contains(t, r.err, "boretight: hint: ")
	}
}

func TestALockedLedgerIsSaidToBeLocked(t *testing.T) {
	t.Parallel()
	path := newLedger(t)
	db := directly(t, path)
	_, err := db.Exec("PRAGMA journal_mode=DELETE")
	require.NoError(t, err)
	_, err = db.Exec("BEGIN EXCLUSIVE")
	require.NoError(t, err)
	r := runHere(t.Context(), "", "hold", "--gauge", "replay:absent.csv", "--ledger", path)
	assert.Equal(t, failed, r.status)
	assert.Contains(t, r.err, "locked")
	assert.Contains(t, r.err, "boretight: hint: close the program that has it open")
}

func TestADamagedLedgerFailsItsCheck(t *testing.T) {
	t.Parallel()
	path := newLedger(t)
	db := directly(t, path)
	// The file's own guard against that is taken away and put back.
	var guard, text string
	require.NoError(t, db.QueryRow(`SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'blocks' AND sql LIKE '%BEFORE UPDATE%'`).Scan(&guard, &text))
	_, err := db.Exec("DROP TRIGGER " + guard)
	require.NoError(t, err)
	result, err := db.Exec("UPDATE blocks SET data = zeroblob(length(data)) WHERE rowid = (SELECT min(rowid) FROM blocks)")
	require.NoError(t, err)
	_, err = db.Exec(text)
	require.NoError(t, err)
	n, err := result.RowsAffected()
	require.NoError(t, err)
	require.EqualValues(t, 1, n)
	r := runHere(t.Context(), "", "check", "--json", "--ledger", path)
	assert.Equal(t, notTight, r.status)
	assert.Contains(t, r.out, `"ok":false,"first_fault":"`)
	r = runHere(t.Context(), "", "check", "--ledger", path)
	assert.Contains(t, r.out, "DAMAGED")
}

func TestCheckingChangesNothing(t *testing.T) {
	t.Parallel()
	path := newLedger(t)
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, done, runHere(t.Context(), "", "check", "--ledger", path).status)
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, before, after)
	entries, err := os.ReadDir(filepath.Dir(path))
	require.NoError(t, err)
	assert.Len(t, entries, 1)
}
