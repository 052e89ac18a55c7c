package decay

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/integrate"
	"gonum.org/v1/gonum/stat/distuv"
)

// In one dimension the Bayes factor has a closed form: a reading m with the standard
// deviation σ is normal with variance σ² + s²u² under a prior of scale s.
func TestEvidenceIsTheBayesFactorOfALinearModel(t *testing.T) {
	const sigma, u, wider = 0.3, 0.2, 5.0
	for _, m := range []float64{0, 0.4, -1.1, 3} {
		precision := 1/(sigma*sigma) + 1/(u*u)
		g := gauss{mean: []float64{7, m / (sigma * sigma) / precision}, cov: []float64{1, 0, 0, 1 / precision}}
		logDensity := func(variance float64) float64 { return -m*m/(2*variance) - math.Log(variance)/2 }
		want := logDensity(sigma*sigma+wider*wider*u*u) - logDensity(sigma*sigma+u*u)
		assert.InDelta(t, want, g.linearEvidence([]int{1}, []float64{u}, wider), 1e-9, "m = %g", m)
	}
}

// Two independent parameters add their evidence.
func TestEvidenceOfIndependentParametersAdds(t *testing.T) {
	g := gauss{mean: []float64{0.1, -0.3}, cov: []float64{0.01, 0, 0, 0.02}}
	u := []float64{0.2, 0.3}
	sum := g.linearEvidence([]int{0}, u[:1], 4) + g.linearEvidence([]int{1}, u[1:], 4)
	assert.InDelta(t, sum, g.linearEvidence([]int{0, 1}, u, 4), 1e-9)
	assert.NotZero(t, sum)
}

// logIntegral is the logarithm of the integral over [lo, hi] of a density of which
// the logarithm is given, by Simpson's rule on 4001 places, the largest taken out.
func logIntegral(lo, hi float64, logDensity func(float64) float64) float64 {
	const places = 4001
	x, y := make([]float64, places), make([]float64, places)
	largest := math.Inf(-1)
	for i := range x {
		x[i] = lo + (hi-lo)*float64(i)/(places-1)
		y[i] = logDensity(x[i])
		largest = max(largest, y[i])
	}
	for i := range y {
		y[i] = math.Exp(y[i] - largest)
	}
	return largest + math.Log(integrate.Simpsons(x, y))
}

func TestLogMassIsThatOfQuadrature(t *testing.T) {
	for _, z := range []float64{0, 0.5, 3, 10, 25, 29.9, 30.1, 45, 100} {
		for _, side := range []float64{-1, 1} {
			const sd, lo, hi = 0.02, 0, 1
			mean := lo - z*sd // beyond the lower bound by z, or beyond the upper
			if side > 0 {
				mean = hi + z*sd
			}
			n := distuv.Normal{Mu: mean, Sigma: sd}
			near := 40 * sd / max(z, 3) // all but e⁻⁴⁰ of it lies so near to the bound
			want := logIntegral(lo, near, n.LogProb)
			if side > 0 {
				want = logIntegral(hi-near, hi, n.LogProb)
			}
			g := gauss{mean: []float64{4, mean}, cov: []float64{9, 0.1, 0.1, sd * sd}}
			// Beyond 30 the leading term alone is too great by 1/z².
			tolerance := 1e-6
			if z > 30 {
				tolerance = 1.1 / (z * z)
			}
			assert.InDelta(t, want, g.logMass(bound{index: 1, lo: lo, hi: hi}), tolerance, "%g beyond, side %g", z, side)
		}
	}
}

// Most of the mass within, some of it within on both sides, and bounds so wide that
// they are none.
func TestLogMassIsThatOfTheNormalDistribution(t *testing.T) {
	for _, c := range []struct{ mean, sd, lo, hi float64 }{
		{0.2, 0.05, 0, 1}, {0.9, 0.3, 0, 1}, {0.5, 20, 0, 1}, {7, 3, 0, 1}, {-2, 0.5, 0, 1}, {0, 1, -50, 50},
	} {
		n := distuv.Normal{Mu: c.mean, Sigma: c.sd}
		want := math.Log(n.CDF(c.hi) - n.CDF(c.lo))
		if c.mean < c.lo { // its digits are in the other tail
			want = math.Log(n.Survival(c.lo) - n.Survival(c.hi))
		}
		g := gauss{mean: []float64{c.mean}, cov: []float64{c.sd * c.sd}}
		assert.InDelta(t, want, g.logMass(bound{index: 0, lo: c.lo, hi: c.hi}), 1e-9, "%+v", c)
	}
}

// With one bound the Bayes factor is exact: the readings speak of share and warmth,
// with some correlation, and the share lies between 0 and 1. By quadrature over the
// share, the warmth integrated in closed form.
func TestEvidenceWithABoundIsTheBayesFactorOfQuadrature(t *testing.T) {
	const (
		warmU, wider              = 0.06, 50.0
		saidShareU, saidWarmU, by = 0.15, 1.5, -0.8 // of the readings alone, and their correlation
	)
	// Precisions of what the readings say.
	a := 1 / (saidShareU * saidShareU * (1 - by*by))
	b := -by / (saidShareU * saidWarmU * (1 - by*by))
	c := 1 / (saidWarmU * saidWarmU * (1 - by*by))
	for _, said := range [][2]float64{{0.2, 0}, {-0.6, 3}, {0.1, 4}, {1.4, -3}, {0.9, 2}} {
		// Precision and mean of readings and narrow prior together.
		p, s := a+1/(shareU*shareU), c+1/(warmU*warmU)
		u := a*said[0] + b*said[1] + shareMean/(shareU*shareU)
		v := b*said[0] + c*said[1]
		det := p*s - b*b
		g := independent()
		g.mean[pShare], g.mean[pWarm] = (s*u-b*v)/det, (p*v-b*u)/det
		g.cov[pShare*nAll+pShare], g.cov[pWarm*nAll+pWarm] = s/det, p/det
		g.cov[pShare*nAll+pWarm], g.cov[pWarm*nAll+pShare] = -b/det, -b/det

		likelihood := func(scale float64) float64 {
			q := 1 / (scale * scale * warmU * warmU)
			return logIntegral(0, 1, func(x float64) float64 {
				// exp(−½(a·d² + 2b·d·(y−m) + c·(y−m)² + q·y²)), y integrated.
				d := x - said[0]
				linear := c*said[1] - b*d
				constant := a*d*d - 2*b*d*said[1] + c*said[1]*said[1] + (x-shareMean)*(x-shareMean)/(shareU*shareU)
				return -constant/2 + linear*linear/(2*(c+q)) + math.Log(q/(c+q))/2
			})
		}
		want := likelihood(wider) - likelihood(1)
		assert.InDelta(t, want, g.evidence([]int{pWarm}, []float64{warmU}, wider), 1e-6, "%v", said)
	}
}

// independent is a distribution of all parameters well within their bounds.
func independent() gauss {
	g := gauss{make([]float64, nAll), make([]float64, nAll*nAll)}
	for i := range nAll {
		g.mean[i], g.cov[i*nAll+i] = 0.1, 1e-4
	}
	return g
}

// What would need a share below nothing under the wide belief speaks against it.
func TestABoundCountsAgainstTheBeliefThatBreaksIt(t *testing.T) {
	const u, wider = 0.1, 10
	g := independent()
	g.mean[pWarm], g.cov[pWarm*nAll+pWarm] = 0.15, 0.009
	evidence := func() float64 { return g.evidence([]int{pWarm}, []float64{u}, wider) }
	linear := g.linearEvidence([]int{pWarm}, []float64{u}, wider)
	require.InDelta(t, linear, evidence(), 1e-9, "what has nothing to do with it does not count")

	// More warmth is less share: as the one is let grow, the other falls below 0.
	g.cov[pShare*nAll+pWarm], g.cov[pWarm*nAll+pShare] = -9e-4, -9e-4
	assert.Less(t, evidence(), linear-1)
	assert.InDelta(t, 0.15, g.mean[pWarm], 0, "the distribution stays as it was")
	assert.InDelta(t, 0.009, g.cov[pWarm*nAll+pWarm], 0)
}
