package bench_test

import (
	"errors"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/gauge"
)

// fast is a gauge whose clock runs twice as fast until a time.
type fast struct {
	*scripted
	over atomic.Bool
}

func (g *fast) Stats() gauge.Stats {
	s := g.scripted.Stats()
	if !g.over.Load() {
		s.Clock.Ratio = 2
	}
	return s
}

func TestWhatWasWrongWithTheClockAtTheEndOfAHoldIsNoted(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		held := oneHold(2, 2750, 0.04, 4, 0)
		g := &fast{scripted: &scripted{readings: held}}
		// The clock begins anew before the verdict is there.
		g.then = func(sink gauge.Sink) error {
			sink.Break(errors.New("the gauge restarted"))
			g.over.Store(true)
			time.Sleep(time.Second)
			return gauge.ErrEnded
		}
		_, events := run(t, bench.Options{
			Sources:  []bench.Source{{Name: "upper", Gauge: g}},
			Settings: settings(t),
		}, newMemorySink())
		holds := dataOf[bench.HoldData](events)
		require.Len(t, holds, 1)
		assert.Contains(t, holds[0].Notes, "About time: "+gauge.Clock{Ratio: 2}.Trouble()+".")
	})
}
