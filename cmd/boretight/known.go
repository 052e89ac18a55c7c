package main

import (
	"context"
	"log/slog"
	"sync/atomic"
	"time"

	"boretight/internal/ledger"
	"boretight/internal/rig"
)

// known is what a ledger knows beside its holds: of the rig, and which limits the shop
// has set. A bench looks at it without waiting for the disk.
type known struct {
	store  ledger.Store
	rigs   atomic.Pointer[[]rig.Record]
	limits atomic.Pointer[[]ledger.Limit]
}

// readKnown reads it for the first time.
func readKnown(ctx context.Context, store ledger.Store) (*known, error) {
	k := &known{store: store}
	return k, k.read(ctx)
}

func (k *known) read(ctx context.Context) error {
	rigs, err := rigRecords(ctx, k.store)
	if err != nil {
		return err
	}
	limits, err := limitsInForce(ctx, k.store)
	if err != nil {
		return err
	}
	k.rigs.Store(&rigs)
	k.limits.Store(&limits)
	return nil
}

// knownInterval is how soon a bench that is at work knows of what another program has
// recorded. Both are few records and found by their kind.
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
