package decay_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
)

// grow calls do with the hold as it was every fifth of a second.
func grow(h *hold.Hold, do func(part *hold.Hold, since float64)) {
	part := *h
	part.After, part.Ending, part.Held.To = hold.Span{}, hold.Cut, h.Held.From
	for since := 0.2; part.Held.To < h.Held.To; since += 0.2 {
		for part.Held.To < h.Held.To && h.Readings[part.Held.To].Seconds() < h.Isolation+since {
			part.Held.To++
		}
		part.Readings = h.Readings[:part.Held.To]
		do(&part, since)
	}
}

func TestRunningComesToWhatTheFitSays(t *testing.T) {
	for _, name := range []string{"small-laminar", "wide", "fast", "mixed-law", "tight", "coarse"} {
		family, err := sim.FamilyNamed(name)
		require.NoError(t, err)
		for i := range uint64(3) {
			s := family.Draw(rand.New(rand.NewPCG(5, i)))
			h, truth := found(t, s)
			running := decay.NewRunning(told(truth))
			var last decay.Result
			looks := 0
			grow(h, func(part *hold.Hold, since float64) {
				if r, ok := running.Look(part); ok {
					require.NotNil(t, r.LeakRate)
					last = r
					looks++
				}
			})
			require.Positive(t, looks, "%s %d", name, i)
			// Judged by the same readings: without the rest after the vent.
			alone := *h
			alone.Readings, alone.After, alone.Ending = h.Readings[:h.Held.To], hold.Span{}, hold.Cut
			want := decay.Fit(&alone, told(truth))
			require.NotNil(t, want.LeakRate)
			assert.InDelta(t, want.LeakRate.Value, last.LeakRate.Value, 0.5*want.LeakRate.U, "%s %d", name, i)
			assert.InEpsilon(t, want.LeakRate.U, last.LeakRate.U, 0.3, "%s %d", name, i)
			assert.NotEmpty(t, running.Curve(), "%s %d", name, i)
		}
	}
}

func TestRunningSaysNothingSoonAfterALeakHasOpened(t *testing.T) {
	family, err := sim.FamilyNamed("doubles")
	require.NoError(t, err)
	for i := range uint64(6) {
		s := family.Draw(rand.New(rand.NewPCG(6, i)))
		h, truth := found(t, s)
		running := decay.NewRunning(told(truth))
		opened := truth.Disturbed - h.Isolation
		before, after := 0, math.NaN()
		grow(h, func(part *hold.Hold, since float64) {
			_, ok := running.Look(part)
			switch {
			case since < opened && ok:
				before++
			case since >= opened && !ok && math.IsNaN(after):
				after = since - opened
			}
		})
		assert.Positive(t, before, "hold %d", i)
		assert.Less(t, after, 2.0, "hold %d: seconds until nothing is said", i)
	}
}

func TestRunningNeedsSomethingToSee(t *testing.T) {
	h, truth := found(t, scene(t, 12, 0.1))
	running := decay.NewRunning(told(truth))
	grow(h, func(part *hold.Hold, since float64) {
		if _, ok := running.Look(part); since < 0.8 {
			assert.False(t, ok, "%g s after isolation", since)
		}
	})
	never := *h
	never.Held = hold.Span{}
	_, ok := running.Look(&never)
	assert.False(t, ok)
}

func BenchmarkLook(b *testing.B) {
	family, err := sim.FamilyNamed("small-laminar")
	require.NoError(b, err)
	s := family.Draw(rand.New(rand.NewPCG(1, 3)))
	s.Sensor.Rate, s.Holds[0].Seconds = 100, 20
	h, truth := found(b, s)
	looks := 0
	for b.Loop() {
		running := decay.NewRunning(told(truth))
		looks = 0
		grow(h, func(part *hold.Hold, _ float64) {
			running.Look(part)
			looks++
		})
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N*looks), "µs/look")
}
