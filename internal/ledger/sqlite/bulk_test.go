package sqlite_test

import (
	"database/sql"
	"errors"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger/sqlite"
	"boretight/internal/tools/ledgermaker/shop"
)

func TestALedgerMadeInBulkHasAllIndicesAndTriggers(t *testing.T) {
	usual, made := filepath.Join(t.TempDir(), "usual"), filepath.Join(t.TempDir(), "made")
	db, err := sqlite.Open(t.Context(), usual, sqlite.Options{})
	require.NoError(t, err)
	require.NoError(t, db.Close())
	require.NoError(t, shop.Make(t.Context(), made, 60, 1, time.Now()))
	assert.ElementsMatch(t, schemaOf(t, usual), schemaOf(t, made))
}

func TestALedgerWhoseMakingFailsIsRemoved(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger")
	broken := errors.New("broken")
	err := sqlite.Make(t.Context(), path, func(b *sqlite.Bulk) error { return broken })
	assert.ErrorIs(t, err, broken)
	assert.NoFileExists(t, path)
}

// schemaOf returns how all that is in a file was made.
func schemaOf(t *testing.T, path string) []string {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+filepath.ToSlash(path))
	require.NoError(t, err)
	defer db.Close()
	rows, err := db.QueryContext(t.Context(), "SELECT type || ' ' || name || ': ' || coalesce(sql, '') FROM sqlite_schema")
	require.NoError(t, err)
	defer rows.Close()
	var all []string
	for rows.Next() {
		var s string
		require.NoError(t, rows.Scan(&s))
		all = append(all, s)
	}
	require.NoError(t, rows.Err())
	require.NotEmpty(t, all)
	return all
}
