package bench_test

import (
	"context"
	"math"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/ledger"
	"boretight/internal/trace"
	"boretight/internal/trial"
)

// hung is a book of trials on a disk that does not answer. asked counts what was asked of it.
type hung struct{ asked map[string]int }

var _ bench.Trials = hung{}

func (h hung) wait(ctx context.Context, what string) error {
	h.asked[what]++
	<-ctx.Done()
	return context.Cause(ctx)
}

func (h hung) Keep(ctx context.Context, _ ledger.Trial) error { return h.wait(ctx, "keep") }

func (h hung) Known(ctx context.Context, _ ledger.Trial) (trial.Repeatability, error) {
	return trial.Repeatability{}, h.wait(ctx, "known")
}

func (h hung) Voided(ctx context.Context, _ []string) ([]string, error) {
	return nil, h.wait(ctx, "voided")
}

func TestATrialOnADiskThatDoesNotAnswerWaitsOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		disk := hung{map[string]int{}}
		rest := oneHold(60, 2750, 0.04, 8, 4)
		both := several(rest, inPressure(rest), rest, inPressure(rest))
		_, events := run(t, bench.Options{
			Sources: []bench.Source{{Name: "upper", Gauge: &scripted{readings: both}}}, Settings: settings(t), Trials: disk,
		}, newMemorySink())
		var held time.Time
		trials := 0
		for _, e := range events {
			switch e.Data.(type) {
			case bench.HoldData:
				held = e.at
			case bench.TrialData:
				trials++
				assert.LessOrEqual(t, e.at.Sub(held), 20*time.Second)
			}
		}
		assert.Equal(t, 4, trials, "all are shown")
		assert.Equal(t, 2, disk.asked["voided"], "of holds that are alike only: the third and the fourth")
	})
}

// What a hold waits is counted from its end, so holds that come faster than a disk gives up
// do not pile up, and the last of them is not far behind.
func TestHoldsDoNotPileUpBeforeADiskThatDoesNotAnswer(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		many := several(slices.Repeat([][]trace.Reading{oneHold(2, 2750, 0.04, 4, 1)}, 10)...)
		began := time.Now()
		_, events := run(t, bench.Options{
			Sources: []bench.Source{{Name: "upper", Gauge: &scripted{readings: many}}}, Settings: settings(t),
			Trials: hung{map[string]int{}},
		}, newMemorySink())
		last := events[len(events)-1].at.Sub(began)
		measured := time.Duration(math.Ceil(many[len(many)-1].Seconds())) * time.Second
		require.Len(t, dataOf[bench.TrialData](events), 10)
		for _, e := range events {
			if h, ok := e.Data.(bench.HoldData); ok {
				assert.LessOrEqual(t, e.at.Sub(h.Ended), 25*time.Second)
			}
		}
		assert.LessOrEqual(t, last, measured+25*time.Second)
	})
}
