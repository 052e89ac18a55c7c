package main

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Computed elsewhere, to three figures.
func TestClosedFormsOfTheBound(t *testing.T) {
	for kT, f := range map[float64]float64{0.05: 318, 0.2: 42.8, 0.5: 12.6, 1: 5.79, 2: 3.42, 4: 2.86} {
		assert.InEpsilon(t, f, knownZero(kT), 3e-3, "zero known, kT = %g", kT)
	}
	assert.InEpsilon(t, math.Sqrt(8), knownZero(40), 1e-9, "a long hold")
	assert.InEpsilon(t, math.Sqrt(12/math.Pow(0.01, 3)), knownZero(0.01), 0.01, "a short hold")
	for kT, f := range map[float64]float64{1: 44, 2: 12.4, 4: 5.2, 10: 3.26} {
		assert.InEpsilon(t, f, unknownZero(kT), 1e-2, "zero unknown, kT = %g", kT)
	}
	// Sums instead of integrals, computed elsewhere: Δ₀ 1, k 0.5, σ 0.01, t = 0, 0.1 … 9.9.
	scale := 0.5 * 0.01 * math.Sqrt(0.5*0.1)
	assert.InEpsilon(t, 0.00309323, scale*knownZero(5), 0.03)
	assert.InEpsilon(t, 0.00471593, scale*unknownZero(5), 0.03)
}

func TestBoundsTakeTheirShareOfABelief(t *testing.T) {
	assert.InDelta(t, 4, about(3, 2).variance(), 1e-12)
	half := belief{0, 2, 0, math.Inf(1)}
	assert.InDelta(t, 4*(1-2/math.Pi), half.variance(), 1e-9, "half a normal distribution")
	narrow := belief{0, 100, -1, 1}
	assert.InDelta(t, 1.0/3, narrow.variance(), 1e-4, "as good as even")

	random := rand.New(rand.NewPCG(1, 2))
	b := belief{0.2, 0.45, 0, 1}
	drawn := make([]float64, 40_000)
	for i := range drawn {
		drawn[i] = b.draw(random)
	}
	_, sd := moments(drawn)
	assert.InEpsilon(t, math.Sqrt(b.variance()), sd, 0.02)
}

// Where no unknown stands at the edge of what can be, what the estimate says of itself
// and what simulated curves say of it, each by its own derivatives, is the same.
func TestTheBoundIsWhatTheEstimateStates(t *testing.T) {
	o := options{seed: 2026, share: 0.3}
	random := rand.New(rand.NewPCG(o.seed, 10)) // a hold of one time constant
	k, at, err := clean(random, o)
	require.NoError(t, err)
	b, err := k.bound(at, k.base.Sensor.Noise)
	require.NoError(t, err)
	assert.Less(t, b.scatter, b.variance)
	quiet, truth, err := k.curve(at)
	require.NoError(t, err)
	r, ok := k.fit(random, quiet, truth, k.base.Sensor.Noise)
	require.True(t, ok, "%v", r.Notes)
	t.Logf("bound %.3f %%, stated %.3f %%", 100*math.Sqrt(b.variance), 100*r.LeakRate.Relative())
	assert.InEpsilon(t, math.Sqrt(b.variance), r.LeakRate.Relative(), 0.08)
}
