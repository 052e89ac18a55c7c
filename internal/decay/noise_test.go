package decay

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// series is white noise on AR(1) noise.
func series(seed uint64, n int, white, slow, rho float64) []float64 {
	random := rand.New(rand.NewPCG(seed, 1))
	out := make([]float64, n)
	x := slow * random.NormFloat64()
	for i := range out {
		out[i] = x + white*random.NormFloat64()
		x = rho*x + slow*math.Sqrt(1-rho*rho)*random.NormFloat64()
	}
	return out
}

func TestScatterKnowsWhiteNoise(t *testing.T) {
	o := scatter(series(1, 20000, 2, 0, 0), 0.02)
	assert.InEpsilon(t, 2, o.sigma, 0.02)
	assert.InDelta(t, 1, o.inflation(), 0.05)
	assert.InDelta(t, 20000-absorbed, o.dof, 1500)
}

// ρ lies on a grid, and neighbours on it differ by up to an eighth in memory: what
// counts is the inflation of the mean, asked for to 20 %.
func TestScatterRecoversCorrelatedNoise(t *testing.T) {
	for _, c := range []struct{ white, slow, rho float64 }{
		{0, 1, 0.5}, {0, 1, 0.9}, {1, 1, 0.8}, {2, 1, 0.9}, {0.5, 2, 0.97},
	} {
		o := scatter(series(7, 60000, c.white, c.slow, c.rho), 0.02)
		whole := c.white*c.white + c.slow*c.slow
		want := (c.white*c.white + c.slow*c.slow*(1+c.rho)/(1-c.rho)) / whole
		assert.InDelta(t, c.rho, o.rho, 0.06, "memory of %+v", c)
		assert.InEpsilon(t, math.Sqrt(whole), o.sigma, 0.04, "standard deviation of %+v", c)
		assert.InEpsilon(t, want, o.inflation(), 0.2, "inflation of %+v: ρ %g white %g", c, o.rho, o.white)
		assert.InEpsilon(t, 60000/want, o.dof, 0.25, "degrees of freedom of %+v", c)
	}
}

func TestScatterHasAFloorAndTakesShortSeries(t *testing.T) {
	o := scatter(make([]float64, 200), 0.3)
	assert.InDelta(t, 0.3, o.sigma, 1e-12, "a sensor that sits still")
	assert.InDelta(t, 1, o.inflation(), 1e-12)
	o = scatter([]float64{1, -1, 1, -1}, 0.02)
	assert.InDelta(t, 1, o.dof, 1e-12, "fewer readings than parameters")
	assert.False(t, math.IsNaN(o.sigma))
}

func TestVarianceOfAMeanIsThatOfItsTerms(t *testing.T) {
	o := noise{sigma: 2, white: 0.25, rho: 0.8}
	for _, n := range []int{1, 2, 7, 50} {
		// Σᵢⱼ cov(i, j)/n², term by term.
		var sum float64
		for i := range n {
			for j := range n {
				if i == j {
					sum += 0.25
				}
				sum += 0.75 * math.Pow(0.8, math.Abs(float64(i-j)))
			}
		}
		assert.InEpsilon(t, 4*sum/float64(n*n), o.variance(float64(n)), 1e-12, "of %d", n)
	}
	assert.InDelta(t, 4.0/9, noise{sigma: 2, white: 1}.variance(9), 1e-15, "white noise falls as 1/n")
	assert.InEpsilon(t, o.inflation()*4/1e6, o.variance(1e6), 1e-4, "long means see the inflation alone")
}

func TestZeroDoubtIsUniformAtRestAndGoesAwayInNoise(t *testing.T) {
	assert.Zero(t, zeroDoubt(0, 1), "no steps, no doubt")
	assert.GreaterOrEqual(t, zeroDoubt(15, 0), 15/(math.Pi*math.Sqrt2)*(1-1e-12), "no noise: at least the first harmonic of a uniform doubt")
	assert.LessOrEqual(t, zeroDoubt(15, 0), 15/math.Sqrt(12))
	last := math.Inf(1)
	for _, sigma := range []float64{0, 0.2, 0.4, 0.6, 0.8, 1, 2} {
		doubt := zeroDoubt(1, sigma)
		assert.LessOrEqual(t, doubt, last, "sigma %g", sigma)
		last = doubt
	}
	// Means of rounded normal values, simulated: half a step of noise leaves little.
	random := rand.New(rand.NewPCG(2, 2))
	var square float64
	const places = 200
	for range places {
		zero := random.Float64()
		var sum float64
		const n = 4000
		for range n {
			sum += math.Round(zero + 0.3*random.NormFloat64())
		}
		square += (sum/n - zero) * (sum/n - zero) / places
	}
	assert.InEpsilon(t, zeroDoubt(1, 0.3), math.Sqrt(square), 0.15, "simulated")
}
