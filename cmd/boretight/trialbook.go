package main

import (
	"context"
	"math"
	"slices"

	"boretight/internal/bench"
	"boretight/internal/ledger"
	"boretight/internal/trial"
)

// trialBook keeps a bench's trials in its ledger, and looks there what earlier ones saw of
// the rig. Its methods may be called from any goroutine.
type trialBook struct{ book *book }

var _ bench.Trials = (*trialBook)(nil)

// Keep implements [bench.Trials].
func (b *trialBook) Keep(ctx context.Context, t ledger.Trial) error {
	_, err := b.book.store.Append(ctx, t.Draft())
	return err
}

// Voided implements [bench.Trials].
func (b *trialBook) Voided(ctx context.Context, holds []string) ([]string, error) {
	return b.book.store.Voided(ctx, holds)
}

// mostEarlier is how many trials are looked through for those like the present one.
const mostEarlier = 100

// Known implements [bench.Trials]. It looks each time: another program may have added a
// trial or set a hold aside, and a trial that lost a hold tells nothing more.
func (b *trialBook) Known(ctx context.Context, t ledger.Trial) (trial.Repeatability, error) {
	entries, err := b.book.store.Trials(ctx, ledger.Filter{Limit: mostEarlier})
	if err != nil {
		return trial.Repeatability{}, err
	}
	entries = slices.DeleteFunc(entries, func(e ledger.TrialEntry) bool {
		return e.ID == t.ID || e.Result.Repeatability == nil || !tellsOf(e.Trial, t)
	})
	var holds []string
	for _, e := range entries {
		holds = append(holds, e.Holds...)
	}
	voided, err := b.book.store.Voided(ctx, holds)
	if err != nil {
		return trial.Repeatability{}, err
	}
	var earlier []trial.Trial
	for _, e := range entries {
		if !slices.ContainsFunc(e.Holds, func(id string) bool { return slices.Contains(voided, id) }) {
			earlier = append(earlier, e.Result)
		}
	}
	return trial.KnownOf(trial.Telling(earlier)), nil
}

// alikeRates is how many times as much one joint may leak as another for their holds to
// scatter alike: what pads and fingers do grows with the leak. Common practice, no source.
const alikeRates = 3

// tellsOf reports whether a trial's scatter tells of another trial: it was of the same rig,
// sign and stated difference, on a joint that leaks about as much.
func tellsOf(earlier, t ledger.Trial) bool {
	a, b := earlier.Result, t.Result
	if !sameRig(earlier, t) || a.Sign != b.Sign || a.At != b.At || a.LeakRate == nil || b.LeakRate == nil {
		return false
	}
	one, other := size(*a.LeakRate), size(*b.LeakRate)
	return one <= alikeRates*other && other <= alikeRates*one
}

// sameRig reports whether two trials are shown to be of one rig. A gauge without a serial
// number has but its address, behind which any gauge may be: then hose and stoppers must
// have been named.
func sameRig(earlier, t ledger.Trial) bool {
	named := t.Rig.Gauge != "" && !t.Unnamed && !earlier.Unnamed
	return earlier.Rig == t.Rig && (named || t.Rig.Hose != "" && t.Rig.Stoppers != "")
}

// size is how much a joint leaks, or as little as can be said of it.
func size(r trial.LeakRate) float64 { return math.Max(math.Abs(r.Value), r.U) }
