package bench_test

import (
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/hold"
	"boretight/internal/trace"
)

// follower notes what it is told.
type follower struct {
	mu       sync.Mutex
	sink     *memorySink
	readings []trace.Reading
	held     []string
	ended    []bool // of each hold: whether it was on the disk by then
}

func (f *follower) Read(_ string, r trace.Reading) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.readings = append(f.readings, r)
}

func (f *follower) Held(_, id string, h *hold.Hold) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.held = append(f.held, id)
	kept := f.sink.hold(id)
	f.ended = append(f.ended, h.Isolated() && kept != nil && kept.end != nil)
}

func TestAFollowerSeesReadingsAndHoldsThatAreOnTheDisk(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		sink := newMemorySink()
		sink.delay = 700 * time.Millisecond // a slow disk
		f := &follower{sink: sink}
		g := &scripted{readings: oneHold(2, 2750, 0.04, 6, 3)}
		_, events := run(t, bench.Options{Sources: []bench.Source{{Name: "upper", Gauge: g}}, Settings: settings(t), Follower: f}, sink)
		holds := dataOf[bench.HoldData](events)
		require.Len(t, holds, 1)
		assert.Equal(t, []string{holds[0].ID}, f.held)
		assert.Equal(t, []bool{true}, f.ended)
		assert.Equal(t, g.readings, f.readings)
	})
}

func TestAFollowerIsNotToldOfAHoldThatCouldNotBeRecorded(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		sink := newMemorySink()
		sink.fault = assert.AnError
		f := &follower{sink: sink}
		g := &scripted{readings: oneHold(2, 2750, 0.04, 6, 3)}
		_, events := run(t, bench.Options{Sources: []bench.Source{{Name: "upper", Gauge: g}}, Settings: settings(t), Follower: f}, sink)
		require.Len(t, dataOf[bench.HoldData](events), 1)
		assert.Empty(t, f.held)
	})
}
