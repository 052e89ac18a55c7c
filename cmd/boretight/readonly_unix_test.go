//go:build unix

package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestAReadOnlyLedgerIsNotWrittenButCanBeChecked(t *testing.T) {
	t.Parallel()
	source := newLedger(t)
	text, err := os.ReadFile(source)
	require.NoError(t, err)
	dir, err := os.MkdirTemp("", "boretight-readonly-")
	require.NoError(t, err)
	t.Cleanup(func() { os.RemoveAll(dir) })
	path := filepath.Join(dir, "shop.boretight")
	require.NoError(t, os.WriteFile(path, text, 0o444))
	require.NoError(t, os.Chmod(dir, 0o555))

	p := asAnotherUser(t, path, "hold", "--gauge", "replay:absent.csv")
	assert.Equal(t, int(failed), p.wait())
	assert.Contains(t, p.err.String(), "read-only")
	assert.Contains(t, p.err.String(), "boretight: hint: choose a ledger in a folder that you may write to")

	p = asAnotherUser(t, path, "check")
	assert.Zero(t, p.wait(), p.err)
}
