package main

import (
	"context"
	"fmt"
	"log/slog"
	"sync/atomic"
	"time"

	"boretight/internal/ledger"
	"boretight/internal/rig"
)

// known is what a ledger knows beside its holds: how many records it has, of the rig, and
// which limits the shop has set. A bench looks at it without waiting for the disk.
type known struct {
	store   ledger.Store
	count   int64     // of the ledger's records when it was last read; as reader, for one goroutine
	reader  rigReader // of rigs
	records atomic.Int64
	rigs    atomic.Pointer[[]rig.Record]
	limits  atomic.Pointer[[]ledger.Limit]
}

// readKnown reads it for the first time.
func readKnown(ctx context.Context, store ledger.Store) (*known, error) {
	k := &known{store: store, count: -1, reader: rigReader{}}
	return k, k.read(ctx)
}

// read reads what is new; nothing while nothing at all was written.
func (k *known) read(ctx context.Context) error {
	count, err := k.store.Count(ctx) // first: what is written meanwhile is read next time
	if err != nil {
		return fmt.Errorf("count the ledger's records: %w", err)
	}
	k.records.Store(count)
	if count == k.count {
		return nil
	}
	rigs, err := k.reader.records(ctx, k.store)
	if err != nil {
		return err
	}
	limits, err := limitsInForce(ctx, k.store)
	if err != nil {
		return err
	}
	k.rigs.Store(&rigs)
	k.limits.Store(&limits)
	k.count = count
	return nil
}

// knownInterval is how soon a bench that is at work knows of what another program has
// recorded. With a check each day for three years a look takes 20 ms if something was
// written since the last, and next to nothing if not.
const knownInterval = 2 * time.Second

// follow reads again and again until ctx ends. What cannot be read stays as it was.
func (k *known) follow(ctx context.Context, log *slog.Logger) {
	tick := time.NewTicker(knownInterval)
	defer tick.Stop()
	said := ""
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		err := k.read(ctx)
		if err == nil || ctx.Err() != nil {
			said = ""
			continue
		}
		if said != err.Error() {
			said = err.Error()
			log.Warn("cannot read what the ledger knows of rig and limits; what was read before counts on", "error", err)
		}
	}
}

func (k *known) rigRecords() []rig.Record      { return *k.rigs.Load() }
func (k *known) limitsInForce() []ledger.Limit { return *k.limits.Load() }
