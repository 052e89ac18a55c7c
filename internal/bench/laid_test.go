package bench_test

import (
	"errors"
	"slices"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/trial"
)

// Somebody sets the first of two holds aside while the trial of both is on its way to the disk.
func TestAHoldIsSetAsideAfterTheTrialOfTheOneThatJustEnded(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var b *bench.Bench
		var asking sync.WaitGroup
		book := &trialBook{}
		book.slow = func() {
			if len(book.kept) != 1 {
				return
			}
			first := book.kept[0].Holds[0]
			asking.Go(func() {
				assert.NoError(t, b.SetAside(t.Context(), first, "a finger slipped", func() ([]trial.Trial, error) {
					if assert.Len(t, book.kept, 2, "the trial of both is kept") {
						without := book.kept[1].Result
						without.Holds, without.Verdict = 1, trial.Inconclusive
						return []trial.Trial{without}, nil
					}
					return nil, nil
				}))
			})
			time.Sleep(time.Second) // of the bubble: whoever could go on has done so
		}
		b, events := runWith(t, bench.Options{
			Sources:  []bench.Source{{Name: "upper", Gauge: &scripted{readings: several(suctionHold(), suctionHold())}}},
			Settings: settings(t), Trials: book,
		}, newMemorySink(), func(made *bench.Bench) { b = made })
		asking.Wait()

		s := b.Snapshot()
		require.Len(t, s.Holds, 2)
		assert.Equal(t, []string{"", "a finger slipped"}, []string{s.Holds[0].Voided, s.Holds[1].Voided})
		require.NotNil(t, s.Gauges[0].Trial)
		assert.Equal(t, trial.Inconclusive, s.Gauges[0].Trial.Verdict, "the bench shows the trial without it")
		trials, holds := dataOf[bench.TrialData](events), dataOf[bench.HoldData](events)
		assert.Equal(t, 1, trials[len(trials)-1].Holds, "and says so last")
		assert.Equal(t, "a finger slipped", holds[len(holds)-1].Voided)
	})
}

func TestAHoldThatCouldNotBeSetAsideIsShownAsItWas(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, _ := run(t, bench.Options{
			Sources:  []bench.Source{{Name: "upper", Gauge: &scripted{readings: suctionHold()}}},
			Settings: settings(t),
		}, newMemorySink())
		full := errors.New("the disk is full")
		hold := b.Snapshot().Holds[0]
		assert.ErrorIs(t, b.SetAside(t.Context(), hold.ID, "a finger slipped", func() ([]trial.Trial, error) { return nil, full }), full)
		assert.False(t, slices.ContainsFunc(b.Snapshot().Holds, func(h bench.HoldData) bool { return h.Voided != "" }))
	})
}
