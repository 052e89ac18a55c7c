package main

import (
	"io/fs"
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
	"boretight/internal/tools/ledgermaker/shop"
)

func TestTheShopsLedgerIsSoundAndItsPagesAreMeasured(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	require.NoError(t, shop.Make(t.Context(), path, 200, 1, time.Now()))
	db, err := sqlite.OpenReadOnly(t.Context(), path)
	require.NoError(t, err)
	r := ledgertest.Sound(t, db)
	assert.EqualValues(t, 204, r.Holds, "whole tickets of six holds")
	assert.Zero(t, r.Interrupted)
	tickets, err := db.Tickets(t.Context(), ledger.TicketFilter{})
	require.NoError(t, err)
	require.Len(t, tickets, 34)
	assert.Equal(t, "T-1034", tickets[0].ID)
	assert.NotEmpty(t, tickets[0].Customer)
	open, err := db.Tickets(t.Context(), ledger.TicketFilter{Open: true})
	require.NoError(t, err)
	assert.Len(t, open, 30)
	limits, err := db.Records(t.Context(), ledger.LimitSet)
	require.NoError(t, err)
	assert.Len(t, limits, 8)
	require.NoError(t, db.Close())

	var table strings.Builder
	require.NoError(t, measure(t.Context(), path, &table))
	assert.Contains(t, table.String(), "open tickets")
	assert.Greater(t, strings.Count(table.String(), "\n"), 50)
}

func TestNoFileIsOverwritten(t *testing.T) {
	path := filepath.Join(t.TempDir(), "mine")
	require.NoError(t, os.WriteFile(path, []byte("mine"), 0o600))
	assert.ErrorIs(t, shop.Make(t.Context(), path, 6, 1, time.Now()), fs.ErrExist)
	kept, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "mine", string(kept))
}

func TestAllPagesOfTheProgramAreAskedFor(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	require.NoError(t, shop.Make(t.Context(), path, 300, 1, time.Now()))
	all, err := addresses(t.Context(), path)
	require.NoError(t, err)
	names := map[string]bool{}
	for _, a := range all {
		assert.False(t, names[a.name], "%s twice", a.name)
		names[a.name] = true
		assert.NotContains(t, a.path, "=&", "%s asks for nothing", a.name)
	}
	for _, want := range []string{"/", "/holds", "/tickets/ID/compare", "/print/slip/ID", "/trials, words “m fail”", "/metrics"} {
		assert.True(t, names[want], want)
	}
}

func TestShareOfAnswers(t *testing.T) {
	var a answers
	for i := range 20 {
		a.took = append(a.took, time.Duration(i+1)*time.Millisecond)
	}
	assert.Equal(t, 11*time.Millisecond, a.at(0.5))
	assert.Equal(t, 20*time.Millisecond, a.at(0.95))
	assert.Equal(t, 20*time.Millisecond, a.at(1))
}
