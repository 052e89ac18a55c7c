package decay_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
	"boretight/internal/gauge/sim"
)

// opening adds a seat to a scene that leaks so many times what the joint does, from a
// time since isolation on.
func opening(t *testing.T, s sim.Scenario, tau, times, from float64) sim.Scenario {
	t.Helper()
	leak, err := sim.NewLeak(times*2500*s.Joint.Volume()/tau, 0.1, 2500, sim.Suction, room)
	require.NoError(t, err)
	s.Events.Openings = []sim.Opening{{Leak: leak, From: from, Over: 0.02}}
	return s
}

func TestALeakThatOpensAfterTwoSecondsLeavesAResult(t *testing.T) {
	for _, tau := range []float64{5, 12, 40} {
		for _, from := range []float64{2.05, 2.2, 3, 6} {
			t.Run(fmt.Sprintf("after %g s of %g s", from, tau), func(t *testing.T) {
				h, truth := found(t, opening(t, scene(t, tau, 0.1), tau, 1, from))
				r := decay.Fit(h, told(truth))
				assert.True(t, r.Disturbed)
				require.NotNil(t, r.LeakRate, r.Notes)
				end := h.Readings[r.Used.To-1].Seconds() - h.Isolation
				assert.LessOrEqual(t, end, from+0.05, "the stretch ends before the leak opened")
				assert.GreaterOrEqual(t, end, min(from-0.9, 1.8), "and not long before")
				assert.InEpsilon(t, truth.LeakRate, r.LeakRate.Value, 0.15)
				assert.InDelta(t, truth.LeakRate, r.LeakRate.Value, 3*r.LeakRate.U)
			})
		}
	}
}

// In its first moments a hold's warmth could hide a leak that opens: a fit of it all
// would follow the leak with what is free in it for the warmth.
// A whole hold bent by a great opening says nothing of its first seconds.
func TestAGreatOpeningLateInAHoldLeavesAResult(t *testing.T) {
	for seed := range uint64(8) {
		s := scene(t, 12, 0.1)
		s.Seed, s.Holds[0].Seconds = seed, 16
		h, truth := found(t, opening(t, s, 12, 5, 5))
		r := decay.Fit(h, told(truth))
		assert.True(t, r.Disturbed)
		require.NotNil(t, r.LeakRate, r.Notes)
		assert.InDelta(t, truth.LeakRate, r.LeakRate.Value, 3*r.LeakRate.U)
	}
}

func TestALeakThatOpensEarlierLeavesNone(t *testing.T) {
	for _, from := range []float64{0.3, 0.6, 1, 1.3, 1.6} {
		t.Run(fmt.Sprintf("after %g s", from), func(t *testing.T) {
			h, truth := found(t, opening(t, scene(t, 12, 0.1), 12, 1, from))
			assert.InDelta(t, truth.Isolated, h.Isolation, 0.06, "it is not taken for the valve")
			r := decay.Fit(h, told(truth))
			assert.True(t, r.Disturbed)
			assert.Nil(t, r.LeakRate)
			assert.True(t, noted(r, "shorter than 2 s"), r.Notes)
		})
	}
}

// Whether it is told, or taken for a last touch of the pump.
func TestAnEarlyKnockDoesNoHarm(t *testing.T) {
	for _, at := range []float64{0.5, 0.9, 1.3} {
		t.Run(fmt.Sprintf("after %g s", at), func(t *testing.T) {
			s := scene(t, 25, 0.1)
			s.Events.Bumps = []sim.Bump{{At: at, Seconds: 0.2, Volume: 60 / room.Ambient * s.Joint.Volume()}}
			h, truth := found(t, s)
			r := decay.Fit(h, told(truth))
			require.NotNil(t, r.LeakRate, r.Notes)
			assert.InDelta(t, truth.LeakRate, r.LeakRate.Value, 3*r.LeakRate.U)
		})
	}
}

func TestASmallOpeningIsFoundToo(t *testing.T) {
	s := scene(t, 30, 0.1)
	s.Sensor.Noise, s.Holds[0].Seconds = 0.3, 20
	h, truth := found(t, opening(t, s, 30, 0.09, 7))
	r := decay.Fit(h, told(truth))
	assert.True(t, r.Disturbed, r.Notes)
	require.NotNil(t, r.LeakRate, r.Notes)
	assert.InDelta(t, truth.LeakRate, r.LeakRate.Value, 3*r.LeakRate.U)
}

func TestKnocks(t *testing.T) {
	for _, pascals := range []float64{12, 96} {
		for count := 1; count <= 5; count++ {
			t.Run(fmt.Sprintf("%d of %g Pa", count, pascals), func(t *testing.T) {
				s := scene(t, 25, 0.1)
				s.Holds[0].Seconds = 16
				for i := range count {
					s.Events.Bumps = append(s.Events.Bumps, sim.Bump{
						At: 2.5 + 2.5*float64(i), Seconds: 0.2, Volume: pascals / room.Ambient * s.Joint.Volume(),
					})
				}
				h, truth := found(t, s)
				r := decay.Fit(h, told(truth))
				assert.True(t, r.Disturbed, "found, whatever is made of it: %v", r.Notes)
				require.NotNil(t, r.LeakRate, r.Notes)
				assert.InDelta(t, truth.LeakRate, r.LeakRate.Value, 3*r.LeakRate.U)
			})
		}
	}
}

func TestTheEndOfAHolesDecayIsNoVent(t *testing.T) {
	for _, tau := range []float64{0.5, 0.7, 1} {
		h, truth := found(t, scene(t, tau, 1))
		r := decay.Fit(h, told(truth))
		require.NotNil(t, r.LeakRate, r.Notes)
		assert.False(t, r.Disturbed, "%g s: %v", tau, r.Notes)
		assert.InDelta(t, truth.LeakRate, r.LeakRate.Value, 2.5*r.LeakRate.U, "%g s", tau)
		assert.Less(t, r.DeltaEnd, 0.1*r.DeltaStart, "%g s: all of it counts", tau)
	}
}

func TestASingleReadingThatNoPressureMadeIsLeftOut(t *testing.T) {
	h, truth := found(t, scene(t, 12, 0.1))
	want := decay.Fit(h, told(truth))
	h.Readings[h.Held.From+10].Pressure = 0
	r := decay.Fit(h, told(truth))
	require.NotNil(t, r.LeakRate, r.Notes)
	assert.False(t, r.Disturbed, r.Notes)
	assert.True(t, noted(r, "1 of the readings stood far apart"), r.Notes)
	assert.InDelta(t, want.LeakRate.Value, r.LeakRate.Value, 0.1*want.LeakRate.U)
}
