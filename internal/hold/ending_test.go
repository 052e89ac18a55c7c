package hold_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/trace"
)

// until keeps the readings before a time in seconds.
func until(tr trace.Trace, t float64) trace.Trace {
	out := trace.Trace{Kind: tr.Kind}
	for _, r := range tr.Readings {
		if r.Seconds() < t {
			out.Readings = append(out.Readings, r)
		}
	}
	return out
}

// without removes the readings from one time in seconds to another.
func without(tr trace.Trace, from, to float64) trace.Trace {
	out := until(tr, from)
	for _, r := range tr.Readings {
		if r.Seconds() >= to {
			out.Readings = append(out.Readings, r)
		}
	}
	return out
}

func TestADifferenceThatGoesByItselfIsExhausted(t *testing.T) {
	for _, sign := range []sim.Sign{sim.Suction, sim.Pressure} {
		s := oboe(0.5, sign)
		s.Holds[0].Seconds = 8
		tr, truths := run(t, s)
		h := one(t, tr)
		assert.Equal(t, hold.Exhausted, h.Ending)
		assert.InDelta(t, truths[0].Isolated, h.Isolation, 0.05)
		assert.Zero(t, h.After.Len(), "nothing was let out")
		// To 2 % of the draw, in time constants of Δ: ln 50 = 3.9.
		assert.InDelta(t, 3.9*0.5, h.Duration().Seconds(), 0.9)
	}
}

func TestANewDrawWithoutVentEndsTheHoldAndBeginsAnother(t *testing.T) {
	for _, sign := range []sim.Sign{sim.Suction, sim.Pressure} {
		s := oboe(20, sign)
		first, second := s.Holds[0], s.Holds[0]
		first.Vent, first.After = sim.Vent{None: true}, 0
		second.Rest, second.Draw.To = 0, 3000
		s.Holds = []sim.Hold{first, second}
		tr, truths := run(t, s)
		holds := hold.Find(tr)
		require.Len(t, holds, 2)
		for i, h := range holds {
			sound(t, h)
			assert.InDelta(t, truths[i].Isolated, h.Isolation, 0.05)
			assert.Equal(t, sign.String(), h.Sign.String())
			require.NotZero(t, h.Before.Len(), "both have a zero")
			assert.Less(t, h.Readings[h.Before.To-1].Seconds(), 2.0, "the rest before the first draw serves both")
			assert.InDelta(t, 0, h.RestLevel, 0.5)
		}
		assert.Equal(t, hold.Redrawn, holds[0].Ending)
		assert.Equal(t, hold.Vented, holds[1].Ending)
		// The second draw begins 6 s after the first isolation.
		end := holds[0].Readings[holds[0].Held.To-1].Seconds()
		assert.InDelta(t, truths[0].Isolated+6, end, 0.15)
		assert.LessOrEqual(t, end, truths[0].Isolated+6, "no held reading lies in the new draw")
	}
}

func TestHoldsInARowDoNotReachIntoEachOther(t *testing.T) {
	s := oboe(20, sim.Suction)
	next := s.Holds[0]
	next.Rest, next.After, next.Sign = 0, 3, sim.Pressure
	last := next
	last.Sign = sim.Suction
	s.Holds[0].After = 3
	s.Holds = append(s.Holds, next, last)
	tr, truths := run(t, s)
	holds := hold.Find(tr)
	require.Len(t, holds, 3)
	for i, h := range holds {
		sound(t, h)
		assert.InDelta(t, truths[i].Isolated, h.Isolation, 0.05)
		assert.Equal(t, truths[i].Sign.String(), h.Sign.String())
		require.NotZero(t, h.Before.Len())
		require.NotZero(t, h.After.Len())
		if i > 0 {
			assert.Greater(t, h.Readings[h.Before.From].Seconds(), truths[i-1].Vented+0.1, "the rest of hold %d begins after the vent before it", i)
			assert.InDelta(t, 0, h.RestLevel, 1)
		}
	}
}

func TestAStreamThatEndsInAHoldCutsIt(t *testing.T) {
	tr, truths := run(t, oboe(25, sim.Suction))
	h := one(t, until(tr, truths[0].Isolated+4))
	assert.Equal(t, hold.Cut, h.Ending)
	assert.InDelta(t, truths[0].Isolated, h.Isolation, 0.05)
	assert.InDelta(t, 4, h.Duration().Seconds(), 0.06)
	assert.Zero(t, h.After.Len())
	assert.Equal(t, len(h.Readings), h.Held.To, "to the very last reading")
}

func TestAStreamThatEndsInADrawHoldsNothing(t *testing.T) {
	s := oboe(25, sim.Suction)
	s.Holds[0].Draw.Kind = sim.Linear
	tr, truths := run(t, s)
	for _, h := range hold.Find(until(tr, truths[0].Isolated-0.1)) {
		sound(t, h)
		assert.False(t, h.Isolated())
		assert.Equal(t, hold.Cut, h.Ending)
	}
}

func TestAStreamThatEndsInTheVentIsVented(t *testing.T) {
	tr, truths := run(t, oboe(25, sim.Suction))
	for _, after := range []float64{0.5, 1, 1.7} {
		h := one(t, until(tr, truths[0].Vented+after))
		assert.Equal(t, hold.Vented, h.Ending, "%g s after it", after)
		assert.Less(t, h.Readings[h.Held.To-1].Seconds(), truths[0].Vented)
	}
}

func TestAGapIsBridgedUpToThreeSeconds(t *testing.T) {
	s := oboe(25, sim.Suction)
	s.Holds[0].Seconds = 12
	tr, truths := run(t, s)
	from := truths[0].Isolated + 4

	h := one(t, without(tr, from, from+2.8))
	assert.Equal(t, hold.Vented, h.Ending)
	assert.InDelta(t, 280, h.Lost, 1)

	h = one(t, without(tr, from, from+3.2))
	assert.Equal(t, hold.Cut, h.Ending, "and what comes after it is no hold, for nobody saw a draw")
	assert.InDelta(t, 4, h.Duration().Seconds(), 0.06)
}

func TestDrawnAndVentedAtOnceHeldNothing(t *testing.T) {
	s := oboe(25, sim.Suction)
	s.Holds[0].Seconds = 0.01
	tr, _ := run(t, s)
	h := one(t, tr)
	assert.False(t, h.Isolated())
	assert.Zero(t, h.Duration())
	assert.True(t, math.IsNaN(h.Isolation))
	assert.Equal(t, hold.Vented, h.Ending)
}

func TestAStreamThatBeginsDrawnInventsNoHold(t *testing.T) {
	tr, truths := run(t, oboe(25, sim.Suction))
	for _, from := range []float64{truths[0].Isolated - 0.5, truths[0].Isolated + 0.5, truths[0].Isolated + 3} {
		assert.Empty(t, hold.Find(without(tr, 0, from)), "from %g s on", from)
	}
}

func TestAHoldIsFoundAfterAStreamThatBeganDrawn(t *testing.T) {
	s := oboe(25, sim.Suction)
	s.Holds = append(s.Holds, s.Holds[0])
	tr, truths := run(t, s)
	h := one(t, without(tr, 0, truths[0].Isolated+2))
	assert.InDelta(t, truths[1].Isolated, h.Isolation, 0.05)
	assert.Greater(t, h.Readings[h.Before.From].Seconds(), truths[0].Vented+0.1)
}

func TestAClockThatStepsBackCutsTheHold(t *testing.T) {
	tr, truths := run(t, oboe(25, sim.Suction))
	first := until(tr, truths[0].Isolated+4)
	again := trace.Trace{Readings: append(first.Readings, tr.Readings...)}
	holds := hold.Find(again)
	require.Len(t, holds, 2)
	for _, h := range holds {
		sound(t, h)
		assert.InDelta(t, truths[0].Isolated, h.Isolation, 0.05)
	}
	assert.Equal(t, hold.Cut, holds[0].Ending)
	assert.Equal(t, hold.Vented, holds[1].Ending)
}

func TestAForgottenJointIsCutInTheEnd(t *testing.T) {
	// An evenly leaking joint, made up, because nobody wants to simulate a quarter of an hour.
	tr := flat(900, func(s float64) float64 {
		switch noise := 0.2 * math.Sin(1e4*s); {
		case s < 2:
			return noise
		case s < 3:
			return noise - 2700*(s-2)
		default:
			return noise - 2700*math.Exp(-(s-3)/3000)
		}
	})
	h := one(t, tr)
	assert.Equal(t, hold.Cut, h.Ending)
	assert.InDelta(t, 600, h.Duration().Seconds(), 1)
	assert.Equal(t, time.Duration(0), h.Readings[0].T)
}
