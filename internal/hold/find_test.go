package hold_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/trace"
)

var draws = map[string]sim.DrawKind{
	"smooth": sim.Smooth, "linear": sim.Linear, "syringe": sim.Syringe, "strokes": sim.Strokes, "plateau": sim.Plateau,
}

func TestIsolationIsFoundInEveryDrawOfBothSignsAtEveryRate(t *testing.T) {
	for name, kind := range draws {
		for _, sign := range []sim.Sign{sim.Suction, sim.Pressure} {
			for _, rate := range []float64{20, 100, 1000} {
				t.Run(fmt.Sprintf("%s %v at %g Hz", name, sign, rate), func(t *testing.T) {
					t.Parallel()
					s := oboe(25, sign)
					s.Holds[0].Draw.Kind = kind
					s.Sensor.Rate = rate
					tr, truths := run(t, s)
					h := one(t, tr)
					wantHold(t, h, truths[0], 1/rate)
				})
			}
		}
	}
}

// wantHold compares a hold on clean data with what was simulated.
func wantHold(t *testing.T, h *hold.Hold, truth sim.Truth, interval float64) {
	t.Helper()
	// 50 ms, or one interval where readings are further apart than that.
	assert.InDelta(t, truth.Isolated, h.Isolation, max(0.05, interval), "isolation")
	assert.Equal(t, truth.Sign.String(), h.Sign.String())
	assert.Equal(t, hold.Vented, h.Ending)
	assert.InEpsilon(t, interval, h.Interval, 0.01)
	assert.Zero(t, h.Lost)
	assert.Zero(t, h.Unusable)
	assert.InDelta(t, 0, h.RestLevel, 0.5)

	at := func(i int) float64 { return h.Readings[i].Seconds() }
	require.True(t, h.Isolated())
	assert.GreaterOrEqual(t, at(h.Held.From), h.Isolation)
	assert.Less(t, at(h.Held.From), h.Isolation+1.001*interval)
	assert.Less(t, at(h.Held.To-1), truth.Vented, "no held reading lies in the vent")
	assert.Greater(t, at(h.Held.To-1), truth.Vented-0.2, "hardly any of the hold is thrown away")
	require.NotZero(t, h.Before.Len())
	assert.Greater(t, at(h.Before.To-1)-at(h.Before.From), 1.5, "most of the rest is used")
	require.NotZero(t, h.After.Len())
	assert.Greater(t, at(h.After.From), truth.Vented+0.1, "the rest after the vent begins when the vent is over")
	assert.Greater(t, at(h.After.To-1)-at(h.After.From), 1.0)
	assert.InDelta(t, truth.DeltaVented, h.Delta(h.Held.To-1), 15, "Δp is positive in the sense of the sign")
}

func TestHoldsOfAVeryTightJointAreFound(t *testing.T) {
	for name, kind := range draws {
		if kind == sim.Plateau {
			continue // a pump that holds the level of a joint that does not leak cannot be told from the joint
		}
		t.Run(name, func(t *testing.T) {
			s := oboe(20e3, sim.Suction)
			s.Holds[0].Draw.Kind, s.Holds[0].Seconds = kind, 8
			tr, truths := run(t, s)
			assert.InDelta(t, truths[0].Isolated, one(t, tr).Isolation, 0.05)
		})
	}
}

func TestAnAbsoluteGaugeIsReadLikeAnother(t *testing.T) {
	for _, sign := range []sim.Sign{sim.Suction, sim.Pressure} {
		s := oboe(25, sign)
		s.Air.Ambient = 96_300
		s.Sensor.Absolute = true
		tr, truths := run(t, s)
		h := one(t, tr)
		assert.Equal(t, trace.Absolute, h.Kind)
		assert.Equal(t, sign.String(), h.Sign.String())
		assert.InDelta(t, truths[0].Isolated, h.Isolation, 0.05)
		assert.InDelta(t, 96_300, h.RestLevel, 1)
		assert.InDelta(t, truths[0].DeltaVented, h.Delta(h.Held.To-1), 15)
	}
}

func TestTheZeroOfTheGaugeIsNoPartOfTheDifference(t *testing.T) {
	s := oboe(25, sim.Suction)
	s.Sensor.Zero = -137
	tr, truths := run(t, s)
	h := one(t, tr)
	assert.InDelta(t, -137, h.RestLevel, 0.5)
	assert.InDelta(t, truths[0].DeltaVented, h.Delta(h.Held.To-1), 15)
}

func TestNoiseAtRestIsTheSensors(t *testing.T) {
	for _, noise := range []float64{0.5, 3, 12} {
		s := oboe(25, sim.Suction)
		s.Holds[0].Rest = 6
		s.Sensor.Noise = noise
		tr, _ := run(t, s)
		// 600 readings know their own standard deviation to 3 %; the estimate is robust, not efficient.
		assert.InEpsilon(t, noise, one(t, tr).Noise, 0.2)
	}
	s := oboe(25, sim.Suction)
	s.Sensor.Noise = 0
	tr, _ := run(t, s)
	assert.Positive(t, one(t, tr).Noise, "a sensor without noise still has some, for nothing may divide by 0")
}

func TestLostReadingsAreCountedFromGapsInTime(t *testing.T) {
	s := oboe(25, sim.Suction)
	tr, truths := run(t, s)
	var kept []trace.Reading
	missing := 0
	for i, r := range tr.Readings {
		during := r.Seconds() > truths[0].Isolated+1 && r.Seconds() < truths[0].Vented-1
		if during && (i%10 == 3 || i%50 == 4) {
			missing++
			continue
		}
		kept = append(kept, r)
	}
	tr.Readings = kept
	h := one(t, tr)
	require.NotZero(t, missing)
	assert.Equal(t, missing, h.Lost)
	assert.Equal(t, h.Lost, h.LostIn(h.Held))
	assert.InDelta(t, 0.01, h.Interval, 1e-9)
	assert.InDelta(t, truths[0].Isolated, h.Isolation, 0.05)
}

func TestReadingsThatTheGaugeDisownsAreCountedAndNotUsed(t *testing.T) {
	s := oboe(25, sim.Suction)
	tr, truths := run(t, s)
	var saturated, faulty int
	for i := range tr.Readings {
		r := &tr.Readings[i]
		if r.Seconds() < truths[0].Isolated+2 || r.Seconds() > truths[0].Vented-1 {
			continue
		}
		switch {
		case i%20 == 3:
			r.Status, r.Pressure = trace.Saturated, -7500
			saturated++
		case i%20 == 7:
			r.Status, r.Pressure = trace.Faulty, 0
			faulty++
		case i%20 == 9:
			r.Pressure = math.NaN() // without a word of it
			faulty++
		}
	}
	h := one(t, tr)
	assert.Equal(t, saturated, h.Saturated)
	assert.Equal(t, saturated+faulty, h.Unusable)
	assert.Equal(t, h.Held.Len()-h.Unusable, h.UsableIn(h.Held))
	assert.Zero(t, h.Lost, "a reading that came is not lost")
	assert.InDelta(t, truths[0].Isolated, h.Isolation, 0.05)
	assert.InDelta(t, truths[0].Vented, h.Readings[h.Held.To-1].Seconds(), 0.2)
}

func TestASupplyThatIsLowSpoilsNoReading(t *testing.T) {
	tr, _ := run(t, oboe(25, sim.Suction))
	for i := range tr.Readings {
		tr.Readings[i].Status = trace.SupplyLow
	}
	assert.Zero(t, one(t, tr).Unusable)
}

func TestSaturationInTheDrawIsCountedApart(t *testing.T) {
	s := oboe(8, sim.Suction)
	s.Sensor.Min, s.Sensor.Max = -2400, 2400
	tr, _ := run(t, s)
	for _, h := range hold.Find(tr) {
		sound(t, h)
		assert.NotZero(t, h.Clipped+h.Saturated)
	}
}
