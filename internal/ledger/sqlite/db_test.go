package sqlite_test

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"boretight/internal/ledger"
	"boretight/internal/ledger/ledgertest"
	"boretight/internal/ledger/sqlite"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func TestContract(t *testing.T) {
	ledgertest.Run(t, func(t *testing.T) ledgertest.Open {
		path := filepath.Join(t.TempDir(), "a ledger #1?.db")
		return func(t testing.TB) ledger.Store { return open(t, path) }
	})
}

// open opens a ledger that the test closes.
func open(t testing.TB, path string) *sqlite.DB {
	t.Helper()
	db, err := sqlite.Open(t.Context(), path, sqlite.Options{})
	require.NoError(t, err)
	return db
}

// opened opens a ledger that is closed at the end of the test.
func opened(t testing.TB, path string) *sqlite.DB {
	t.Helper()
	db := open(t, path)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	return db
}
