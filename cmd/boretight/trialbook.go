package main

import (
	"context"
	"math"
	"slices"
	"sync"

	"boretight/internal/bench"
	"boretight/internal/ledger"
	"boretight/internal/rig"
	"boretight/internal/trial"
)

// trialBook keeps a bench's trials in its ledger, and remembers what earlier ones saw of
// the rig. Its methods may be called from any goroutine.
type trialBook struct {
	book *book

	mu sync.Mutex
	// earlier are trials that tell how a rig repeats, the newest first; nil before they
	// are read.
	earlier []ledger.Trial
	read    bool
}

var _ bench.Trials = (*trialBook)(nil)

// Keep implements [bench.Trials].
func (b *trialBook) Keep(ctx context.Context, t ledger.Trial) error {
	if _, err := b.book.store.Append(ctx, t.Draft()); err != nil {
		return err
	}
	b.book.records.Add(1)
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.read {
		b.earlier = slices.DeleteFunc(b.earlier, func(e ledger.Trial) bool { return e.ID == t.ID })
		b.earlier = slices.Insert(b.earlier, 0, t)
	}
	return nil
}

// Voided implements [bench.Trials].
func (b *trialBook) Voided(ctx context.Context, holds []string) ([]string, error) {
	return b.book.store.Voided(ctx, holds)
}

// mostEarlier is how many trials are looked through for those like the present one.
const mostEarlier = 100

// Known implements [bench.Trials].
func (b *trialBook) Known(ctx context.Context, t ledger.Trial) (trial.Repeatability, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if !b.read {
		entries, err := b.book.store.Trials(ctx, ledger.Filter{Limit: mostEarlier})
		if err != nil {
			return trial.Repeatability{}, err
		}
		for _, e := range entries {
			voided, err := b.book.store.Voided(ctx, e.Holds)
			if err != nil {
				return trial.Repeatability{}, err
			}
			if len(voided) == 0 {
				b.earlier = append(b.earlier, e.Trial)
			}
		}
		b.read = true
	}
	b.earlier = b.earlier[:min(len(b.earlier), mostEarlier)]
	var seen []trial.Repeatability
	for _, e := range b.earlier {
		if e.ID != t.ID && e.Result.Repeatability != nil && tellsOf(e, t) {
			seen = append(seen, *e.Result.Repeatability)
		}
	}
	return trial.KnownOf(seen), nil
}

// alikeRates is how many times as much one joint may leak as another for their holds to
// scatter alike: what pads and fingers do grows with the leak. Common practice, no source.
const alikeRates = 3

// tellsOf reports whether a trial's scatter tells of another trial: it was of the same rig,
// sign and stated difference, on a joint that leaks about as much. A rig of which
// nothing is told is never the same.
func tellsOf(earlier, t ledger.Trial) bool {
	a, b := earlier.Result, t.Result
	if t.Rig == (rig.Identity{}) || earlier.Rig != t.Rig || a.Sign != b.Sign || a.At != b.At || a.LeakRate == nil || b.LeakRate == nil {
		return false
	}
	one, other := size(*a.LeakRate), size(*b.LeakRate)
	return one <= alikeRates*other && other <= alikeRates*one
}

// size is how much a joint leaks, or as little as can be said of it.
func size(r trial.LeakRate) float64 { return math.Max(math.Abs(r.Value), r.U) }
