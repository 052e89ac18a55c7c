package gauge_test

import (
	"context"
	"errors"
	"io"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge"
	"boretight/internal/gauge/frames"
	"boretight/internal/trace"
)

// even is a port at which readings arrive evenly. A read takes all that has come.
type even struct {
	period time.Duration
	made   time.Time
	reads  int
	told   uint32
	closed chan struct{}
	close  func()
}

func newEven(period time.Duration) *even {
	d := &even{period: period, made: time.Now(), closed: make(chan struct{})}
	d.close = sync.OnceFunc(func() { close(d.closed) })
	return d
}

func (d *even) Read(p []byte) (int, error) {
	select {
	case <-d.closed:
		return 0, errors.New("closed")
	case <-time.After(time.Duration(d.told)*d.period - time.Since(d.made)):
	}
	d.reads++
	var text []byte
	for ; time.Duration(d.told)*d.period <= time.Since(d.made); d.told++ {
		micros := time.Duration(d.told) * d.period / time.Microsecond
		text = frames.AppendReading(text, d.told, uint32(micros), trace.Reading{Pressure: 12.5, Celsius: 22})
	}
	return copy(p, text), nil
}

func (d *even) Write(p []byte) (int, error) { return len(p), nil }

func (d *even) Close() error { d.close(); return nil }

// latenesses notes how long after it was made each reading was taken.
type latenesses struct {
	made time.Time
	all  []time.Duration
}

func (s *latenesses) Identify(gauge.Identity) {}

func (s *latenesses) Take(readings []trace.Reading) {
	for _, r := range readings {
		s.all = append(s.all, time.Since(s.made)-r.T)
	}
}

func (s *latenesses) Break(error) {}

func TestAFastGaugeIsReadInLumps(t *testing.T) {
	for _, c := range []struct {
		name         string
		period       time.Duration
		reads, taken int
		latest       time.Duration
	}{
		{"1 kHz waits for some readings at once", time.Millisecond, 102, 1000, 10 * time.Millisecond},
		{"100 Hz is read as it comes", 10 * time.Millisecond, 100, 100, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				d := newEven(c.period)
				sink := &latenesses{made: d.made}
				g := fake(d, io.Discard)
				r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
				time.Sleep(time.Second - time.Microsecond)
				r.stop()
				require.NoError(t, r.ended(t))
				assert.LessOrEqual(t, d.reads, c.reads)
				assert.InDelta(t, c.taken, len(sink.all), float64(c.taken)/100, "what came is taken")
				for _, late := range sink.all {
					require.LessOrEqual(t, late, c.latest)
				}
			})
		})
	}
}
