package main

import (
	"context"
	"fmt"
	"log/slog"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/rig"
)

// countedStore counts how often records are asked for, and spoils those seen before.
type countedStore struct {
	ledger.Store
	reads   int
	spoiled int // so many of the oldest can no longer be decoded
}

func (s *countedStore) Records(ctx context.Context, kind ledger.RecordKind) ([]ledger.Record, error) {
	s.reads++
	records, err := s.Store.Records(ctx, kind)
	if kind == ledger.RigMeasured {
		for i := range records[:s.spoiled] {
			records[i].Content = []byte("{")
		}
	}
	return records, err
}

func TestWhatIsKnownIsReadOnceAndOnlyWhatIsNew(t *testing.T) {
	t.Parallel()
	b, err := openBook(t.Context(), filepath.Join(t.TempDir(), "l.boretight"), slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	defer func() { require.NoError(t, b.close()) }()
	check := func(n int) {
		_, err := keepRig(t.Context(), b.store, rig.Record{
			Kind: rig.KindCheck, Leak: fmt.Sprint(n), ValidFrom: time.Now(), Check: &rig.Watch{State: rig.InControl},
		})
		require.NoError(t, err)
	}
	check(1)
	store := &countedStore{Store: b.store}
	k, err := readKnown(t.Context(), store)
	require.NoError(t, err)
	require.Len(t, k.rigRecords(), 1)

	before := store.reads
	require.NoError(t, k.read(t.Context()))
	assert.Equal(t, before, store.reads, "nothing was written")

	check(2)
	store.spoiled = 1
	require.NoError(t, k.read(t.Context()), "what was read before is not read again")
	require.Len(t, k.rigRecords(), 2)
	records, err := b.store.Count(t.Context())
	require.NoError(t, err)
	assert.Equal(t, records, k.records.Load(), "whoever wrote them")
	assert.Equal(t, "1", k.rigRecords()[0].Leak)
	assert.Equal(t, "2", k.rigRecords()[1].Leak)
}
