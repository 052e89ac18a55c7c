package gauge_test

import (
	"context"
	"fmt"
	"math"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"boretight/internal/gauge"
	"boretight/internal/gauge/frames"
	"boretight/internal/trace"
)

// recorder is a Sink that keeps all it is told and lets a test wait for it.
type recorder struct {
	mu         sync.Mutex
	identities []gauge.Identity
	readings   []trace.Reading
	breaks     []error
	order      string // I, B, and one R for any number of readings in a row
	changed    chan struct{}
}

func newRecorder() *recorder { return &recorder{changed: make(chan struct{}, 1)} }

func (r *recorder) note(c string) {
	if c != "R" || len(r.order) == 0 || r.order[len(r.order)-1] != 'R' {
		r.order += c
	}
	select {
	case r.changed <- struct{}{}:
	default:
	}
}

func (r *recorder) Identify(id gauge.Identity) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.identities = append(r.identities, id)
	r.note("I")
}

func (r *recorder) Take(readings []trace.Reading) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.readings = append(r.readings, readings...)
	r.note("R")
}

func (r *recorder) Break(reason error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.breaks = append(r.breaks, reason)
	r.note("B")
}

// patience is how long a test waits for what must come; it decides nothing else.
const patience = 20 * time.Second

// await returns once n readings have come.
func (r *recorder) await(t *testing.T, n int) {
	t.Helper()
	deadline := time.After(patience)
	for r.count() < n {
		select {
		case <-r.changed:
		case <-deadline:
			require.FailNowf(t, "readings do not come", "%d of %d within %v", r.count(), n, patience)
		}
	}
}

func (r *recorder) count() int {
	r.mu.Lock()
	defer r.mu.Unlock()
	return len(r.readings)
}

// running is a gauge whose Run goes on in the background.
type running struct {
	gauge.Gauge
	stop context.CancelFunc
	done chan error
}

// start runs f until the test ends at the latest.
func start(t *testing.T, g gauge.Gauge, f func(context.Context) error) *running {
	ctx, stop := context.WithCancel(t.Context())
	r := &running{Gauge: g, stop: stop, done: make(chan error, 1)}
	finished := make(chan struct{})
	go func() {
		defer close(finished)
		r.done <- f(ctx)
	}()
	t.Cleanup(func() { stop(); <-finished })
	return r
}

// run opens the address and runs it into sink.
func run(t *testing.T, address string, sink gauge.Sink) *running {
	t.Helper()
	g := open(t, address)
	return start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
}

func open(t *testing.T, address string) gauge.Gauge {
	t.Helper()
	a, err := gauge.ParseAddress(address)
	require.NoError(t, err)
	g, err := gauge.Open(a, gauge.Options{Seed: 1})
	require.NoError(t, err)
	return g
}

// ended returns what Run returned.
func (r *running) ended(t *testing.T) error {
	t.Helper()
	select {
	case err := <-r.done:
		return err
	case <-time.After(patience):
		require.FailNow(t, "the gauge goes on running")
		return nil
	}
}

// identity is the line with which the gauges of these tests identify themselves.
const identity = "$BTID,1,HX-0417,G,-7500,7500,0.5,100*E928\r\n"

// line is a frame with its checksum and line end.
func line(body string) string {
	return fmt.Sprintf("$%s*%04X\r\n", body, frames.Checksum([]byte(body)))
}

// readings returns the lines of readings from one number up to, but without,
// another, 1 ms apart, with a pressure of minus their number.
func readings(from, to uint32) string {
	var out []byte
	for seq := from; seq < to; seq++ {
		out = frames.AppendReading(out, seq, seq*1000, trace.Reading{Pressure: -float64(seq), Celsius: math.NaN()})
	}
	return string(out)
}
