package sim_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/sim"
)

// clarinet is a leaking clarinet upper joint in one whole hold.
func clarinet(t testing.TB) sim.Scenario {
	t.Helper()
	leak, err := sim.NewLeak(3e-3, 0.1, 2500, sim.Suction, sim.Air{})
	require.NoError(t, err)
	return sim.Scenario{
		Name:  "clarinet",
		Joint: sim.Joint{Segments: []sim.Segment{sim.Tube(7.4e-3, 39e-6)}},
		Leaks: []sim.Leak{leak},
		Holds: []sim.Hold{{Rest: 1.5, Draw: sim.Draw{To: 2700}, Seconds: 10, After: 1.5}},
	}
}

func TestEqualScenariosGiveEqualReadings(t *testing.T) {
	s := clarinet(t)
	s.Sensor = sim.Sensor{Noise: 2, Correlated: 1, Memory: 0.8, Wander: 0.1, Jitter: 1e-4, Lost: 0.1, Burst: 3}
	first, _ := run(t, s)
	again, _ := run(t, s)
	// NaN temperatures are not equal to themselves; the rest must be.
	require.Len(t, again.Readings, len(first.Readings))
	for i := range first.Readings {
		require.Equal(t, first.Readings[i].T, again.Readings[i].T)
		require.Equal(t, math.Float64bits(first.Readings[i].Pressure), math.Float64bits(again.Readings[i].Pressure))
	}
	s.Seed++
	other, _ := run(t, s)
	assert.NotEqual(t, first.Readings[5].Pressure, other.Readings[5].Pressure)
}

func TestEveryKindOfDrawEndsAtItsPressure(t *testing.T) {
	for _, kind := range []sim.DrawKind{sim.Smooth, sim.Linear, sim.Syringe, sim.Strokes, sim.Plateau, sim.Instant} {
		for _, sign := range []sim.Sign{sim.Suction, sim.Pressure} {
			s := clarinet(t)
			s.Holds[0].Draw.Kind, s.Holds[0].Sign = kind, sign
			s.Holds[0].Seconds, s.Sensor.Rate = 0.5, 10_000
			tr, truths := run(t, s)
			assert.InDelta(t, 2700, truths[0].DeltaIsolated, 1e-6, "kind %d, %v", kind, sign)
			// A step heats the gas at once, so that even 0.1 ms costs some 20 Pa.
			seen := math.Abs(deltaAt(t, tr, truths[0].Isolated+1e-4))
			assert.InDelta(t, 2700, seen, 30, "kind %d, %v: the trace must show it when the truth says so", kind, sign)
		}
	}
}

func TestTruthSaysWhatHappened(t *testing.T) {
	s := clarinet(t)
	tr, truths := run(t, s)
	got := truths[0]
	assert.InEpsilon(t, 3e-3, got.LeakRate, 1e-9)
	assert.InEpsilon(t, 2500*39e-6/3e-3, got.TimeConstant, 1e-9)
	assert.InDelta(t, 0.1, got.InertialShare, 1e-6)
	assert.InDelta(t, 2.5, got.Isolated, 1e-9)
	assert.InDelta(t, 12.5, got.Vented, 1e-9)
	assert.InDelta(t, deltaAt(t, tr, got.Vented), got.DeltaVented, 0.5)
	assert.True(t, math.IsNaN(got.Disturbed))
	assert.InDelta(t, 0, deltaAt(t, tr, 13.9), 1e-6, "vented and still open")
}

func TestAVentShutEarlyShowsItsRebound(t *testing.T) {
	s := clarinet(t)
	s.Leaks = nil
	s.Holds[0].Vent = sim.Vent{Tau: 0.03, Open: 0.2}
	tr, truths := run(t, s)
	// Air let back in is compressed and warm; shut in, it cools below ambient.
	assert.Greater(t, deltaAt(t, tr, truths[0].Vented+1.4), 100.0)
}

func TestDrawnAgainWithoutVent(t *testing.T) {
	s := clarinet(t)
	again := s.Holds[0]
	again.Rest = 0
	s.Holds[0].Vent.None, s.Holds[0].After = true, 0
	s.Holds = append(s.Holds, again)
	tr, truths := run(t, s)
	assert.True(t, math.IsNaN(truths[0].Vented))
	assert.InDelta(t, 13.5, truths[1].Isolated, 1e-9)
	assert.Greater(t, deltaAt(t, tr, 12.5), 1000.0, "still drawn when the second draw begins")
	assert.InDelta(t, 2700, truths[1].DeltaIsolated, 1e-6)
}

func TestAnOpeningIsSeenFromItsMomentOn(t *testing.T) {
	s := clarinet(t)
	s.Events.Openings = []sim.Opening{{From: 5, Over: 0.02, Leak: s.Leaks[0]}}
	tr, truths := run(t, s)
	quiet, _ := run(t, clarinet(t))
	at := truths[0].Isolated
	assert.InDelta(t, deltaAt(t, quiet, at+4.9), deltaAt(t, tr, at+4.9), 1e-3)
	// Twice the leak: the fall over the next seconds is nearly twice as deep.
	once := deltaAt(t, quiet, at+5) - deltaAt(t, quiet, at+7)
	twice := deltaAt(t, tr, at+5) - deltaAt(t, tr, at+7)
	assert.InDelta(t, 2, twice/once, 0.15)
	assert.InDelta(t, at+5, truths[0].Disturbed, 1e-9)
	assert.InEpsilon(t, 2*truths[0].LeakRate, truths[0].LeakRateAfter, 1e-9)
}

func TestWhatCannotBeSimulatedIsRefusedWithTheReason(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*sim.Scenario)
		want  string
	}{
		"no bore":              {func(s *sim.Scenario) { s.Joint.Segments = nil }, `simulate "clarinet": the joint has no segments`},
		"bore without radius":  {func(s *sim.Scenario) { s.Joint.Segments[0].Radius = 0 }, "segment 0 has radius 0 m"},
		"no holds":             {func(s *sim.Scenario) { s.Holds = nil }, "there are no holds"},
		"no draw":              {func(s *sim.Scenario) { s.Holds[0].Draw.To = 0 }, "hold 0 is drawn to 0 Pa"},
		"no time":              {func(s *sim.Scenario) { s.Holds[0].Seconds = 0 }, "hold 0 lasts 0 s"},
		"everything lost":      {func(s *sim.Scenario) { s.Sensor.Lost = 1 }, "loses 1 of its readings"},
		"event without a hold": {func(s *sim.Scenario) { s.Events.Bumps = []sim.Bump{{Hold: 3}} }, "bump 0 belongs to hold 3: there are 1"},
		"lamp on nothing":      {func(s *sim.Scenario) { s.Events.Lamps = []sim.Lamp{{Segment: 2}} }, "lamp 0 shines on segment 2: there are 1"},
	} {
		s := clarinet(t)
		c.spoil(&s)
		_, _, err := s.Run()
		assert.ErrorContains(t, err, c.want, name)
	}
}

func BenchmarkRun(b *testing.B) {
	// 30 s at 100 Hz, one segment.
	s := clarinet(b)
	s.Holds[0].Seconds = 26
	s.Sensor = sim.Sensor{Noise: 1, Correlated: 0.5, Memory: 0.8, Lag: 5e-3, Step: 0.5}
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := s.Run(); err != nil {
			b.Fatal(err)
		}
	}
}

func TestTruthsAreKnownWithoutSimulating(t *testing.T) {
	s := clarinet(t)
	_, seen := run(t, s)
	known, err := s.Truths()
	require.NoError(t, err)
	require.Len(t, known, 1)
	assert.Zero(t, known[0].DeltaIsolated)
	known[0].DeltaIsolated, known[0].DeltaVented = seen[0].DeltaIsolated, seen[0].DeltaVented
	known[0].Disturbed, seen[0].Disturbed = 0, 0 // not a number, so not equal to itself
	assert.Equal(t, seen, known)

	s.Holds = nil
	_, err = s.Truths()
	require.ErrorContains(t, err, "no holds")
}
