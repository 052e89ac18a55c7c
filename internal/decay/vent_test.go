package decay

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/hold"
	"boretight/internal/trace"
)

// leaking is a laminar decay from 2.7 kPa, s being its time constant.
func leaking(tau float64) func(float64) float64 {
	return func(t float64) float64 { return 2700 * math.Exp(-t/tau) }
}

// letOut is a decay that is vented at a time in s.
func letOut(delta func(float64) float64, at float64) func(float64) float64 {
	return func(t float64) float64 {
		if t < at {
			return delta(t)
		}
		return delta(at) * math.Exp(-(t-at)/0.04)
	}
}

// heldBy is a hold as a gauge of the given interval in s and noise in Pa would see it.
func heldBy(sign hold.Sign, interval, noise, seconds float64, delta func(float64) float64) *hold.Hold {
	h := &hold.Hold{Sign: sign, Interval: interval, Noise: noise, Isolation: 3}
	random := rand.New(rand.NewPCG(2, 6))
	for t := 0.0; t < seconds; t += interval {
		h.Readings = append(h.Readings, reading(3+t, sign.Float()*(delta(t)+noise*random.NormFloat64())))
	}
	h.Held = hold.Span{To: len(h.Readings)}
	return h
}

// Found at the moment or up to 0.4 s before it: what is looked at is as long as that.
func TestALateVentIsFoundWhateverIsLeft(t *testing.T) {
	const tau = 3
	for _, sign := range []hold.Sign{hold.Suction, hold.Pressure} {
		for _, interval := range []float64{0.001, 0.01, 0.05} {
			for _, left := range []float64{0.2, 0.1, 0.05, 0.03, 0.02} {
				at := -tau * math.Log(left)
				h := heldBy(sign, interval, 0.5, at+2, letOut(leaking(tau), at))
				got, found := lateVent(h)
				if assert.True(t, found, "%v %g s %g", sign, interval, left) {
					assert.LessOrEqual(t, got, at+0.1, "%v %g s %g", sign, interval, left)
					assert.Greater(t, got, at-0.4, "%v %g s %g", sign, interval, left)
				}
			}
		}
	}
}

// Shut again too early, or with the air in the bore still cold, a vent leaves something.
func TestALateVentNeedNotLetEverythingOut(t *testing.T) {
	const tau, at, left = 3.0, 7.0, 0.2
	h := heldBy(hold.Suction, 0.01, 0.5, at+2, func(t float64) float64 {
		if t < at {
			return leaking(tau)(t)
		}
		return leaking(tau)(at) * (left + (1-left)*math.Exp(-(t-at)/0.04))
	})
	got, found := lateVent(h)
	require.True(t, found)
	assert.InDelta(t, at-0.2, got, 0.3)
}

func TestNoVentIsFoundWhereNoneWas(t *testing.T) {
	for _, tau := range []float64{0.25, 0.4, 1, 2, 4, 8, 30} {
		for _, noise := range []float64{0.2, 2, 10} {
			h := heldBy(hold.Suction, 0.01, noise, min(8*tau, 20), leaking(tau))
			at, found := lateVent(h)
			assert.False(t, found, "%g s and %g Pa of noise: at %g s", tau, noise, at)
		}
	}
}

// A great difference let out is a vent to the finder of holds as well, and so much
// later here that nothing more is cut off.
func TestAnEarlyVentCostsNothingMore(t *testing.T) {
	for _, at := range []float64{1, 2, 4, 7} { // 88 to 42 % left
		got, found := lateVent(heldBy(hold.Suction, 0.01, 0.5, at+4, letOut(leaking(8), at)))
		if found {
			assert.Greater(t, got, at+changeMargin)
		}
	}
}

func TestAVentThatIsLostInTheNoiseIsNotLookedFor(t *testing.T) {
	const tau, at = 3.0, 12.0 // 49 Pa left
	_, found := lateVent(heldBy(hold.Suction, 0.01, 2, 14, letOut(leaking(tau), at)))
	assert.True(t, found)
	_, found = lateVent(heldBy(hold.Suction, 0.01, 10, 14, letOut(leaking(tau), at)))
	assert.False(t, found, "49 Pa are not clear of 10 Pa of noise")
}

func TestALateVentGoesByUsableReadings(t *testing.T) {
	const at = 9.0
	h := heldBy(hold.Suction, 0.01, 0.5, 11, letOut(leaking(3), at))
	for i := 50; i < len(h.Readings); i += 7 { // wild values that the gauge itself disowns
		h.Readings[i].Pressure, h.Readings[i].Status = 0, trace.Faulty
	}
	got, found := lateVent(h)
	require.True(t, found)
	assert.InDelta(t, at-0.2, got, 0.25)

	for i := range h.Readings {
		h.Readings[i].Status = trace.Faulty
	}
	_, found = lateVent(h)
	assert.False(t, found)
}

// The finder may end the hold at the vent, and the vent shows only in what comes after.
func TestALateVentIsSeenInWhatComesAfterTheHold(t *testing.T) {
	const at = 9.0
	h := heldBy(hold.Suction, 0.01, 0.5, 11, letOut(leaking(3), at))
	h.Held.To = int((at - 0.02) / 0.01)
	_, found := lateVent(h)
	assert.True(t, found)
	h.Readings = h.Readings[:h.Held.To]
	_, found = lateVent(h)
	assert.False(t, found, "without it there is nothing to go by")
}
