package bench_test

import (
	"context"
	"errors"
	"slices"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/decay"
	"boretight/internal/gauge"
	"boretight/internal/ledger"
	"boretight/internal/quantity"
	"boretight/internal/trace"
)

// run works a bench of one gauge through a script of readings in fake time and
// returns all events with the fake time at which each came.
func run(t *testing.T, o bench.Options, sink *memorySink) (*bench.Bench, []timed) {
	t.Helper()
	return runWith(t, o, sink, func(*bench.Bench) {})
}

// runWith is run with somebody who is given the bench before it begins.
func runWith(t *testing.T, o bench.Options, sink *memorySink, given func(*bench.Bench)) (*bench.Bench, []timed) {
	t.Helper()
	writer := ledger.NewWriter(sink, ledger.WriterOptions{})
	writing, stop := context.WithCancel(t.Context())
	var background sync.WaitGroup
	background.Go(func() {
		if err := writer.Run(writing); sink.fault == nil {
			assert.NoError(t, err)
		}
	})
	o.Recorder = writer
	b, err := bench.New(o)
	require.NoError(t, err)
	given(b)
	var events []timed
	subscription := b.Subscribe(10000)
	background.Go(func() {
		for e := range subscription.C {
			events = append(events, timed{e, time.Now()})
		}
	})
	require.NoError(t, b.Run(t.Context()))
	stop()
	background.Wait()
	assert.Zero(t, subscription.Missed())
	return b, events
}

type timed struct {
	bench.Event
	at time.Time
}

func dataOf[T any](events []timed) []T {
	var all []T
	for _, e := range events {
		if d, ok := e.Data.(T); ok {
			all = append(all, d)
		}
	}
	return all
}

func settings(t *testing.T) bench.Settings {
	t.Helper()
	limit, err := quantity.ParseLeakRate("2.5sccm")
	require.NoError(t, err)
	return bench.Settings{
		Setup: bench.Setup{Bench: "one", At: 2500},
		Fit: decay.Setup{
			Volume:      decay.Input{Value: 34.2e-6, U: 0.3e-6},
			Bore:        decay.Input{Value: 0.5e-3},
			Ambient:     decay.Input{Value: 98300, U: 100},
			Temperature: decay.Input{Value: 295.65, U: 0.5},
			SpanU:       -1,
		},
		Limit: limit,
	}
}

func TestAHoldOfAGaugeThatHasNotSaidWhoItIsSaysSo(t *testing.T) {
	const note = "The gauge had not said who it is: its readings were taken as gauge pressure."
	for _, unnamed := range []bool{false, true} {
		synctest.Test(t, func(t *testing.T) {
			g := &scripted{readings: oneHold(2, 2750, 0.04, 4, 4), unnamed: unnamed}
			_, events := run(t, bench.Options{
				Sources:  []bench.Source{{Name: "upper", Gauge: g}},
				Settings: settings(t),
			}, newMemorySink())
			holds := dataOf[bench.HoldData](events)
			require.Len(t, holds, 1)
			assert.Equal(t, unnamed, slices.Contains(holds[0].Notes, note))
		})
	}
}

func TestAHoldIsRecordedWholeBeforeItIsPublished(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sink := newMemorySink()
		sink.delay = 700 * time.Millisecond // a slow disk
		g := &scripted{readings: oneHold(14, 2750, 0.04, 8, 4)}
		b, events := run(t, bench.Options{
			Sources:  []bench.Source{{Name: "upper", Gauge: g}},
			Settings: settings(t),
		}, sink)

		holds := dataOf[bench.HoldData](events)
		require.Len(t, holds, 1)
		h := holds[0]
		assert.Empty(t, h.Unrecorded)
		require.NotNil(t, h.LeakRate)
		assert.Equal(t, "upper", h.Gauge)
		assert.EqualValues(t, "pass", h.Verdict)
		assert.LessOrEqual(t, len(h.Trace), 600)

		kept := sink.hold(h.ID)
		require.NotNil(t, kept.end, "the hold has an end in the ledger")
		for _, e := range events {
			if e.Kind == bench.EventHold {
				assert.False(t, e.at.Before(kept.ended), "published before it was on the disk")
			}
		}
		first, last := kept.readings[0], kept.readings[len(kept.readings)-1]
		assert.InDelta(t, 14-10, first.Seconds(), 0.1, "from 10 s before the draw")
		assert.InDelta(t, 14+0.5+8+2, last.Seconds(), 0.6, "to 2 s after the vent")
		assert.Len(t, kept.readings, int((last.T-first.T)/(10*time.Millisecond))+1, "no reading is missing or twice")

		s := b.Snapshot()
		assert.Len(t, s.Holds, 1)
		assert.EqualValues(t, 1, s.Verdicts["pass"])
		require.NotNil(t, s.Gauges[0].Trial)
		assert.Equal(t, 1, s.Gauges[0].Trial.Holds)
		assert.Nil(t, s.Gauges[0].Estimate, "no running estimate after the end")
		assert.Empty(t, s.Ledger.Problem)
	})
}

func TestReadingsReachThePageWithin50Milliseconds(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		start := time.Now()
		readings := oneHold(3, 2750, 0.04, 5, 3)
		_, events := run(t, bench.Options{
			Sources: []bench.Source{{Name: "upper", Gauge: &scripted{readings: readings}}},
		}, newMemorySink())
		n := 0
		for _, e := range events {
			d, ok := e.Data.(bench.ReadingData)
			if !ok {
				continue
			}
			n += len(d.Readings)
			for _, r := range d.Readings {
				late := e.at.Sub(start) - time.Duration(r.T*float64(time.Second))
				assert.LessOrEqual(t, late, 50*time.Millisecond, "reading at %v s", r.T)
			}
		}
		assert.Equal(t, len(readings), n)
	})
}

func TestAFastGaugeIsThinnedForThePageOnly(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		readings := sampled(1000, 3, 2750, 0.04, 5, 3)
		sink := newMemorySink()
		_, events := run(t, bench.Options{
			Sources: []bench.Source{{Name: "upper", Gauge: &scripted{readings: readings}}},
		}, sink)
		drawn := 0
		for _, d := range dataOf[bench.ReadingData](events) {
			drawn += len(d.Readings)
		}
		seconds := readings[len(readings)-1].Seconds()
		assert.LessOrEqual(t, float64(drawn), 201*seconds)
		assert.GreaterOrEqual(t, float64(drawn), 100*seconds)
		holds := dataOf[bench.HoldData](events)
		require.Len(t, holds, 1)
		assert.Greater(t, len(sink.hold(holds[0].ID).readings), 9000)
	})
}

func TestAGaugeThatGoesAwayInMidHoldLeavesACutHold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sink := newMemorySink()
		all := oneHold(3, 2750, 0.04, 8, 4)
		g := &scripted{readings: all[:950]} // 6 s into the hold
		g.then = func(s gauge.Sink) error {
			s.Break(errors.New("unplugged"))
			return gauge.ErrEnded
		}
		_, events := run(t, bench.Options{
			Sources:  []bench.Source{{Name: "upper", Gauge: g}},
			Settings: settings(t),
		}, sink)
		holds := dataOf[bench.HoldData](events)
		require.Len(t, holds, 1)
		require.NotNil(t, holds[0].Hold)
		assert.Equal(t, "cut", holds[0].Hold.Ending)
		require.NotNil(t, holds[0].LeakRate, "six seconds are enough for a leakage rate")
		assert.Contains(t, holds[0].Notes, "The hold was cut short: unplugged.")
		assert.NotNil(t, sink.hold(holds[0].ID).end)
	})
}

func TestAGaugeThatGoesAwayAfterTheVentCutsNothingShort(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		all := oneHold(3, 2750, 0.04, 8, 4)
		vented := slices.IndexFunc(all[500:], func(r trace.Reading) bool { return r.Pressure > -100 }) + 500
		g := &scripted{readings: all[:vented+50]} // half a second into the rest after the vent
		g.then = func(s gauge.Sink) error {
			s.Break(errors.New("unplugged"))
			return gauge.ErrEnded
		}
		_, events := run(t, bench.Options{
			Sources:  []bench.Source{{Name: "upper", Gauge: g}},
			Settings: settings(t),
		}, newMemorySink())
		holds := dataOf[bench.HoldData](events)
		require.Len(t, holds, 1)
		require.NotNil(t, holds[0].Hold)
		assert.Equal(t, "vented", holds[0].Hold.Ending)
		for _, note := range holds[0].Notes {
			assert.NotContains(t, note, "cut short")
		}
	})
}

func TestOverSixKilopascalsWarnsAtOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		start := time.Now()
		readings := oneHold(3, 6500, 0.2, 5, 3)
		_, events := run(t, bench.Options{
			Sources: []bench.Source{{Name: "upper", Gauge: &scripted{readings: readings}}},
		}, newMemorySink())
		var crossed time.Duration
		for _, r := range readings {
			if r.Pressure < -6001 {
				crossed = r.T
				break
			}
		}
		require.NotZero(t, crossed)
		var warned, cleared bool
		for _, e := range events {
			d, ok := e.Data.(bench.StateData)
			switch {
			case !ok:
			case d.Warning != "" && !warned:
				warned = true
				assert.Contains(t, d.Warning, "6 kPa")
				assert.InDelta(t, crossed.Seconds(), e.at.Sub(start).Seconds(), 0.05)
			case warned && d.Warning == "":
				cleared = true
			}
		}
		assert.True(t, warned)
		assert.True(t, cleared, "the warning goes when the pressure has been let down")
	})
}

func TestRunningEstimatesComeFourTimesASecondWithTheWedge(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		_, events := run(t, bench.Options{
			Sources:  []bench.Source{{Name: "upper", Gauge: &scripted{readings: oneHold(3, 2750, 0.04, 8, 4)}}},
			Settings: settings(t),
		}, newMemorySink())
		estimates := dataOf[bench.EstimateData](events)
		require.Greater(t, len(estimates), 15)
		assert.Less(t, len(estimates), 40)
		last := estimates[len(estimates)-1]
		require.NotNil(t, last.Outcome.LeakRate)
		assert.NotEmpty(t, last.Curve)
		require.NotEmpty(t, last.Wedge)
		assert.Greater(t, last.Wedge[len(last.Wedge)-1].Pressure, last.Wedge[0].Pressure, "suction leaks towards rest")
	})
}

func TestAHoldThatCannotBeRecordedIsShownAsSuch(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, events := run(t, bench.Options{
			Sources:  []bench.Source{{Name: "upper", Gauge: &scripted{readings: oneHold(3, 2750, 0.04, 8, 40)}}},
			Settings: settings(t),
		}, &memorySink{fault: ledger.ErrNoSpace})
		holds := dataOf[bench.HoldData](events)
		require.Len(t, holds, 1)
		assert.NotEmpty(t, holds[0].Unrecorded)
		assert.NotNil(t, holds[0].LeakRate, "the person still sees what was measured")
		assert.NotEmpty(t, b.Snapshot().Ledger.Problem)
	})
}

func TestAChangeOfSettingsStartsANewTrial(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var b *bench.Bench
		first, second := oneHold(3, 2750, 0.04, 8, 4), oneHold(3, 2750, 0.04, 8, 4)
		g := &scripted{readings: append(first, later(second, first)...)}
		change := func(r trace.Reading) {
			if r.T == first[len(first)-1].T {
				s := settings(t)
				s.Setup.Joint = "lower"
				assert.NoError(t, b.Change("upper", s))
			}
		}
		g.after = change
		sink := newMemorySink()
		writer := ledger.NewWriter(sink, ledger.WriterOptions{})
		writing, stop := context.WithCancel(t.Context())
		var background sync.WaitGroup
		background.Go(func() { assert.NoError(t, writer.Run(writing)) })
		var err error
		b, err = bench.New(bench.Options{
			Sources: []bench.Source{{Name: "upper", Gauge: g}}, Settings: settings(t), Recorder: writer,
		})
		require.NoError(t, err)
		require.NoError(t, b.Run(t.Context()))
		stop()
		background.Wait()
		s := b.Snapshot()
		assert.Len(t, s.Holds, 2)
		require.NotNil(t, s.Gauges[0].Trial)
		assert.Equal(t, 1, s.Gauges[0].Trial.Holds)
		assert.Equal(t, "lower", sink.hold(s.Holds[0].ID).begin.Joint)
	})
}

func TestAGaugeThatFailsForGood(t *testing.T) {
	fault := errors.New("no permission")
	for name, needed := range map[string]bool{
		"ends the run when gauges are needed":           true,
		"is shown, and others go on, when they are not": false,
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				b, err := bench.New(bench.Options{
					Sources:    []bench.Source{{Name: "upper", Gauge: &scripted{then: func(gauge.Sink) error { return fault }}}},
					Recorder:   ledger.NewWriter(newMemorySink(), ledger.WriterOptions{}),
					NeedGauges: needed,
				})
				require.NoError(t, err)
				err = b.Run(t.Context())
				if needed {
					assert.ErrorIs(t, err, fault)
					return
				}
				assert.NoError(t, err)
			})
		})
	}
}

func TestNewRefusesWhatCannotWork(t *testing.T) {
	t.Parallel()
	writer := ledger.NewWriter(newMemorySink(), ledger.WriterOptions{})
	one := bench.Source{Name: "upper", Gauge: &scripted{}}
	for name, o := range map[string]bench.Options{
		"no gauge":               {Recorder: writer},
		"no recorder":            {Sources: []bench.Source{one}},
		"two gauges of one name": {Recorder: writer, Sources: []bench.Source{one, one}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			_, err := bench.New(o)
			assert.ErrorContains(t, err, "make a bench: ")
		})
	}
}

func TestWhatWasReadIsThereForAPageThatComesLate(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		readings := oneHold(2, 2700, 0.04, 10, 3)
		var late []bench.Sample
		var b *bench.Bench
		g := &scripted{readings: readings, after: func(r trace.Reading) {
			if r.T == 8*time.Second { // in mid-hold
				late = b.Recent("upper")
			}
		}}
		writer := ledger.NewWriter(newMemorySink(), ledger.WriterOptions{})
		writing, stop := context.WithCancel(t.Context())
		var background sync.WaitGroup
		background.Go(func() { assert.NoError(t, writer.Run(writing)) })
		var err error
		b, err = bench.New(bench.Options{Sources: []bench.Source{{Name: "upper", Gauge: g}}, Recorder: writer, Settings: settings(t)})
		require.NoError(t, err)
		require.NoError(t, b.Run(t.Context()))
		stop()
		background.Wait()
		require.Len(t, late, 801, "all since the start, each reading")
		assert.Zero(t, late[0].T)
		assert.InDelta(t, 8, late[800].T, 1e-9)
		assert.Less(t, late[300].Pressure, -2000.0, "the draw and the hold are in it")
		assert.Empty(t, b.Recent("lower"), "a gauge that is not there")
	})
}
