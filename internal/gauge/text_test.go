package gauge_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge"
	"boretight/internal/gauge/text"
	"boretight/internal/trace"
)

// fakeText is a gauge of dialect text on a device of a test's own.
func fakeText(t *testing.T, options string, log io.Writer, devices ...io.ReadWriteCloser) gauge.Gauge {
	t.Helper()
	a, err := gauge.ParseAddress("serial:fake?dialect=text" + options)
	require.NoError(t, err)
	return gauge.NewFakeAt(a, func() (io.ReadWriteCloser, error) {
		d := devices[0]
		devices = devices[1:]
		return d, nil
	}, gauge.Options{Logger: slog.New(slog.NewTextHandler(log, nil))})
}

// printed returns so many lines, each as its own text.
func printed(format string, from, to int) []string {
	var out []string
	for n := from; n < to; n++ {
		out = append(out, fmt.Sprintf(format, n))
	}
	return out
}

func TestAGaugeThatPrintsNumbersIsRead(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sink := newRecorder()
		d := newScript(20*time.Millisecond, printed("T=22.5 C P=%d.5 mbar\r\n", 0, 101)...)
		g := fakeText(t, "&unit=mbar&field=2&sign=-", io.Discard, d)
		r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
		sink.await(t, 100)
		assert.Equal(t, gauge.PhaseReading, r.Stats().Phase)
		r.stop()
		require.NoError(t, r.ended(t))
		assert.Equal(t, "IR", sink.order)
		assert.Equal(t, []gauge.Identity{{Kind: trace.Gauge, Told: true}}, sink.identities)
		assert.Empty(t, d.writes(), "who cannot say who it is is not asked")
		first, last := sink.readings[0], sink.readings[99]
		assert.Equal(t, -150.0, first.Pressure, "the very first line may be an end")
		assert.Equal(t, -10050.0, last.Pressure)
		assert.False(t, last.HasTemperature())
		assert.Zero(t, first.T)
		assert.InDelta(t, (99 * 20 * time.Millisecond).Seconds(), last.Seconds(), 1e-6)
		assert.EqualValues(t, 100, r.Stats().Readings)
	})
}

func TestTheAddressSaysThatAGaugeIsAbsolute(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sink := newRecorder()
		g := fakeText(t, "&kind=absolute", io.Discard, newScript(time.Millisecond, "\n", "14.5 psia\n"))
		r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
		sink.await(t, 1)
		r.stop()
		require.NoError(t, r.ended(t))
		assert.Equal(t, []gauge.Identity{{Kind: trace.Absolute, Told: true}}, sink.identities)
		assert.Equal(t, trace.Absolute, r.Stats().Identity.Kind)
		assert.InDelta(t, 99973.98, sink.readings[0].Pressure, 0.01)
	})
}

func TestLinesThatAreOfNoUseSayWhyTheyAre(t *testing.T) {
	for _, c := range []struct {
		name, options, line string
		want                error
	}{
		{"no number", "&unit=Pa", "hello\r\n", text.ErrNoNumber},
		{"another unit", "&unit=Pa", "1.5 kPa\r\n", text.ErrOtherUnit},
		{"no unit", "", "1.5\r\n", text.ErrNoUnit},
		{"no line ends", "&unit=Pa", strings.Repeat("5", 100), text.ErrTooLong},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				texts := make([]string, 1000)
				for i := range texts {
					texts[i] = c.line
				}
				var log bytes.Buffer
				g := fakeText(t, c.options, &log, newScript(20*time.Millisecond, texts...))
				r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, newRecorder()) })
				time.Sleep(2 * time.Second)
				assert.Equal(t, gauge.PhaseUndecodable, r.Stats().Phase)
				assert.Contains(t, r.Stats().Trouble, c.want.Error())
				err := r.ended(t)
				require.ErrorIs(t, err, gauge.ErrUndecodable)
				assert.ErrorIs(t, err, c.want)
				assert.Equal(t, 1, strings.Count(log.String(), c.want.Error()), "said once")
			})
		})
	}
}

func TestTimeGoesOnOverAnInterruptionOfAGaugeWithoutAClock(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sink := newRecorder()
		first := newScript(10*time.Millisecond, printed("%d Pa\n", 0, 201)...)
		second := newScript(10*time.Millisecond, printed("%d Pa\n", 0, 201)...)
		g := fakeText(t, "", io.Discard, first, second)
		one := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
		sink.await(t, 200)
		one.stop()
		require.NoError(t, one.ended(t))
		time.Sleep(5 * time.Second)
		two := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
		sink.await(t, 400)
		two.stop()
		require.NoError(t, two.ended(t))
		gap := sink.readings[200].T - sink.readings[199].T
		assert.InDelta(t, 5, gap.Seconds(), 0.05)
		for i := range 399 {
			require.Greater(t, sink.readings[i+1].T, sink.readings[i].T)
		}
	})
}

func TestAGaugeWithoutAnEvenRateIsLoggedOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var log bytes.Buffer
		sink := newRecorder()
		d := &restless{newScript(0, printed("%d Pa\n", 0, 6001)...), rand.New(rand.NewPCG(1, 1))}
		g := fakeText(t, "", &log, d)
		r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
		time.Sleep(12 * time.Minute)
		sink.await(t, 6000)
		r.stop()
		require.NoError(t, r.ended(t))
		assert.Equal(t, 1, strings.Count(log.String(), "the gauge keeps no even rate; its readings are timed by their arrival"))
	})
}

// restless is a script with a period that keeps changing.
type restless struct {
	*script
	random *rand.Rand
}

// Read implements io.Reader.
func (d *restless) Read(p []byte) (int, error) {
	d.period = time.Duration(10+d.random.IntN(180)) * time.Millisecond
	return d.script.Read(p)
}

func TestLinesThatBecomeUselessInMidStreamEndWhatWasGoingOn(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var log bytes.Buffer
		sink := newRecorder()
		texts := slices.Concat(printed("%d Pa\n", 0, 50), printed("%d.5 kPa\n", 0, 40), printed("%d Pa\n", 50, 60))
		g := fakeText(t, "&unit=Pa", &log, newScript(100*time.Millisecond, texts...))
		r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
		time.Sleep(50*100*time.Millisecond + gauge.SilentAfter + 300*time.Millisecond)
		synctest.Wait()
		assert.Equal(t, "IRB", sink.order)
		assert.Equal(t, gauge.PhaseUndecodable, r.Stats().Phase)
		assert.False(t, r.Stats().Up)
		assert.Equal(t, text.ErrOtherUnit.Error()+` (the lines say "kPa")`, r.Stats().Trouble)
		sink.await(t, 55)
		r.stop()
		require.NoError(t, r.ended(t))
		assert.Equal(t, "IRBR", sink.order, "and they go on")
		require.Len(t, sink.breaks, 1)
		assert.ErrorIs(t, sink.breaks[0], text.ErrOtherUnit)
		assert.Equal(t, 1, strings.Count(log.String(), text.ErrOtherUnit.Error()), "said once")
	})
}

func TestASlowGaugeIsToldSoonWhatIsWrongWithItsLines(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		g := fakeText(t, "", io.Discard, newScript(500*time.Millisecond, printed("%d.5\n", 0, 100)...))
		r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, newRecorder()) })
		time.Sleep(2100 * time.Millisecond)
		assert.Equal(t, gauge.PhaseUndecodable, r.Stats().Phase)
		assert.Equal(t, text.ErrNoUnit.Error(), r.Stats().Trouble)
		r.stop()
		require.NoError(t, r.ended(t))
	})
}

func TestAGreetingOfSomeLinesDoesNotEndTheRun(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sink := newRecorder()
		d := newScript(gauge.DecodeWithin, "\n# one\n# two\n# three\n# four\n", "1.5 Pa\n2.5 Pa\n")
		g := fakeText(t, "", io.Discard, d)
		r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
		sink.await(t, 1)
		r.stop()
		require.NoError(t, r.ended(t))
		assert.Equal(t, "IR", sink.order)
	})
}
