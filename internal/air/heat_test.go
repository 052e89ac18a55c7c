package air_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/air"
)

// Computed elsewhere from the characteristic equation and checked there by finite
// differences.
func TestClosedModesOfABore(t *testing.T) {
	modes := air.ClosedModes(4)
	require.Len(t, modes, 5, "four modes and the rest")
	var sum float64
	for i, want := range []air.Mode{{2.68013, 0.5943}, {5.65880, 0.1634}, {8.74449, 0.0712}, {11.85870, 0.0392}} {
		assert.InDelta(t, want.Lambda, modes[i].Lambda, 5e-6)
		assert.InDelta(t, want.Weight, modes[i].Weight, 6e-5)
		sum += modes[i].Weight
	}
	assert.InDelta(t, 0.868, sum, 5e-4)
	assert.InDelta(t, 2.0/7, air.ReboundShare, 1e-15)
}

// Zeros of J₀: Abramowitz and Stegun, table 9.5, rounded to seven decimals.
func TestDrawModesAreTheZerosOfJ0(t *testing.T) {
	modes := air.DrawModes(5)
	require.Len(t, modes, 6)
	for i, zero := range []float64{2.4048256, 5.5200781, 8.6537279, 11.7915344, 14.9309177} {
		assert.InDelta(t, zero, modes[i].Lambda, 6e-8)
		assert.InEpsilon(t, 4/(zero*zero), modes[i].Weight, 1e-7)
	}
}

func TestModesKeepTheSumsOfTheWholeSeries(t *testing.T) {
	for _, n := range []int{1, 4, 8, 40} {
		for _, c := range []struct {
			name  string
			modes air.Modes
			slow  float64
		}{
			{"closed", air.ClosedModes(n), 1 / (8 * air.Gamma)},
			{"drawn", air.DrawModes(n), 1.0 / 8},
		} {
			var sum, slow float64
			last := 0.0
			for _, m := range c.modes {
				assert.Greater(t, m.Lambda, last, "%s, %d modes: slowest first", c.name, n)
				assert.Positive(t, m.Weight)
				last = m.Lambda
				sum += m.Weight
				slow += m.Weight / (m.Lambda * m.Lambda)
			}
			assert.InDelta(t, 1, sum, 1e-12, "%s, %d modes", c.name, n)
			assert.InDelta(t, c.slow, slow, 1e-12, "%s, %d modes", c.name, n)
		}
	}
}

// The sums that close the series hold for the exact modes, not only by construction:
// what a long series still lacks is its tail, about 4γ/(π²n) of the weight.
func TestTheExactSeriesApproachesItsSums(t *testing.T) {
	const n = 400
	var closed, closedSlow float64
	for _, m := range air.ClosedModes(n)[:n] {
		closed += m.Weight
		closedSlow += m.Weight / (m.Lambda * m.Lambda)
	}
	assert.InDelta(t, 1-4*air.Gamma/(math.Pi*math.Pi*n), closed, 1e-5)
	assert.InDelta(t, 1/(8*air.Gamma), closedSlow, 1e-9)
}

// Computed elsewhere: normalised rebound that remains.
func TestReboundThatRemains(t *testing.T) {
	modes := air.ClosedModes(20)
	for fourier, want := range map[float64]float64{0: 1, 0.01: 0.718, 0.05: 0.450, 0.1: 0.296, 0.2: 0.142, 0.3: 0.0689, 0.5: 0.0164} {
		assert.InDelta(t, want, modes.Left(fourier), 6e-4, "at %g", fourier)
	}
}

// An independent solution: rings of equal width, explicit in time, of
// ∂θ/∂t = ∇²θ + ((γ−1)/γ)·d⟨θ⟩/dt with θ = 0 at the wall and 1 at the start; the
// mean of both sides gives d⟨θ⟩/dt = γ⟨∇²θ⟩.
func TestModesAgreeWithFiniteDifferences(t *testing.T) {
	const (
		rings = 60
		dr    = 1.0 / rings
		dt    = 0.2 * dr * dr
	)
	theta := make([]float64, rings)
	next := make([]float64, rings)
	for i := range theta {
		theta[i] = 1
	}
	mean := func(f func(i int) float64) float64 {
		var sum float64
		for i := range rings {
			sum += f(i) * (2*float64(i) + 1) * dr * dr // share of the ring's area
		}
		return sum
	}
	laplace := func(i int) float64 {
		inner, outer := 0.0, -theta[rings-1]/(dr/2) // slope to the wall
		if i > 0 {
			inner = (theta[i] - theta[i-1]) / dr
		}
		if i < rings-1 {
			outer = (theta[i+1] - theta[i]) / dr
		}
		r := float64(i) * dr
		return ((r+dr)*outer - r*inner) / ((r + dr/2) * dr)
	}
	modes := air.ClosedModes(8)
	now := 0.0
	for _, fourier := range []float64{0.02, 0.05, 0.1, 0.3} {
		for ; now < fourier; now += dt {
			drift := (air.Gamma - 1) * mean(laplace)
			for i := range theta {
				next[i] = theta[i] + dt*(laplace(i)+drift)
			}
			theta, next = next, theta
		}
		assert.InEpsilon(t, mean(func(i int) float64 { return theta[i] }), modes.Left(now), 2e-3, "at %g", fourier)
	}
}

// Computed elsewhere: slowest time constants at 20 °C, 101 325 Pa.
func TestTimeConstantsOfBores(t *testing.T) {
	alpha := air.ThermalDiffusivity(roomT, ambient)
	slowest := air.ClosedModes(1)[0]
	assert.InDelta(t, 0.163, slowest.TimeConstant(5e-3, alpha), 5e-4)
	assert.InDelta(t, 0.652, slowest.TimeConstant(10e-3, alpha), 5e-4)
	assert.InDelta(t, 7.18, slowest.Lambda*slowest.Lambda, 5e-3)
}
