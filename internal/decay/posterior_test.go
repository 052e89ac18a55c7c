package decay

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

func TestTruncatedNormalHasTheMomentsOfTheBooks(t *testing.T) {
	inf := math.Inf(1)
	t.Run("half normal", func(t *testing.T) {
		m, v := truncated(0, 1, 0, inf)
		assert.InDelta(t, math.Sqrt(2/math.Pi), m, 1e-12)
		assert.InDelta(t, 1-2/math.Pi, v, 1e-12)
	})
	t.Run("half normal on the other side, shifted and stretched", func(t *testing.T) {
		m, v := truncated(5, 3, -inf, 5)
		assert.InDelta(t, 5-3*math.Sqrt(2/math.Pi), m, 1e-12)
		assert.InDelta(t, 9*(1-2/math.Pi), v, 1e-11)
	})
	t.Run("no bounds to speak of", func(t *testing.T) {
		m, v := truncated(2, 0.5, -inf, inf)
		assert.InDelta(t, 2, m, 1e-12)
		assert.InDelta(t, 0.25, v, 1e-12)
	})
	t.Run("a narrow window is uniform", func(t *testing.T) {
		m, v := truncated(0, 1, -0.01, 0.01)
		assert.InDelta(t, 0, m, 1e-12)
		assert.InEpsilon(t, 0.02*0.02/12, v, 1e-3)
	})
}

func TestTruncatedNormalAgreesWithQuadrature(t *testing.T) {
	for _, c := range []struct{ mean, sd, lo, hi, tolerance float64 }{
		{0.2, 0.45, 0, 1, 1e-6},
		{-0.5, 0.3, 0, 1, 1e-6},
		{1.7, 0.4, 0, 1, 1e-6},
		{-1.7, 0.4, 0, 1, 1e-6},
		// From six standard deviations on it is an exponential by the bound; that is
		// right to the order of 1/z² there: 2/7.5² of the standard deviation, and more.
		{-3, 0.4, 0, 1, 0.06},
		{4, 0.4, 0, 1, 0.06},
	} {
		m, v := truncated(c.mean, c.sd, c.lo, c.hi)
		wantM, wantV := momentsBetween(c.lo, c.hi, func(x float64) float64 {
			z, edge := (x-c.mean)/c.sd, (min(max(c.mean, c.lo), c.hi)-c.mean)/c.sd
			return math.Exp((edge*edge - z*z) / 2)
		})
		near := math.Sqrt(wantV)
		assert.InDelta(t, wantM, m, c.tolerance*near, "mean of %+v", c)
		assert.InEpsilon(t, math.Sqrt(wantV), math.Sqrt(v), max(c.tolerance, 1e-6), "standard deviation of %+v", c)
		assert.True(t, c.lo < m && m < c.hi, "mean %g of %+v", m, c)
	}
}

// momentsBetween integrates a density that need not be normalised, by Simpson's rule.
func momentsBetween(lo, hi float64, density func(x float64) float64) (mean, variance float64) {
	const n = 20000
	var s0, s1, s2 float64
	for i := range n + 1 {
		w := 2.0 + 2*float64(i%2)
		if i == 0 || i == n {
			w = 1
		}
		x := lo + (hi-lo)*float64(i)/n
		p := w * density(x)
		s0, s1, s2 = s0+p, s1+p*x, s2+p*x*x
	}
	mean = s1 / s0
	return mean, s2/s0 - mean*mean
}

func TestWithinOneBoundedParameterIsExact(t *testing.T) {
	g := gauss{mean: []float64{-0.2}, cov: []float64{0.09}}
	got := g.within([]bound{{index: 0, lo: 0, hi: 1}})
	m, v := momentsBetween(0, 1, func(x float64) float64 { return math.Exp(-(x + 0.2) * (x + 0.2) / 0.18) })
	assert.InDelta(t, m, got.mean[0], 1e-5)
	assert.InEpsilon(t, v, got.cov[0], 1e-3)
	assert.Equal(t, []float64{-0.2}, g.mean, "the argument is left alone")
	assert.Equal(t, []float64{0.09}, g.cov)
}

// One bound on one of two tied parameters: the other follows by regression,
//
//	E[y] = μy + b·(E[x] − μx), var y = var y|x + b²·var x, b = cov/var x,
//
// exactly, whatever the distribution of x.
func TestWithinCarriesABoundOverToTheOtherParameter(t *testing.T) {
	const sx, sy, rho = 0.5, 3.0, 0.8
	g := gauss{mean: []float64{10, -0.3}, cov: []float64{sy * sy, rho * sx * sy, rho * sx * sy, sx * sx}}
	got := g.within([]bound{{index: 1, lo: 0, hi: 1}})
	m, v := momentsBetween(0, 1, func(x float64) float64 { z := (x + 0.3) / sx; return math.Exp(-z * z / 2) })
	b := rho * sy / sx
	assert.InDelta(t, m, got.mean[1], 1e-5)
	assert.InEpsilon(t, v, got.cov[3], 1e-3)
	assert.InDelta(t, 10+b*(m+0.3), got.mean[0], 1e-4)
	assert.InEpsilon(t, sy*sy*(1-rho*rho)+b*b*v, got.cov[0], 1e-3)
	assert.InEpsilon(t, b*v, got.cov[1], 1e-3)
}

// Two bounds at once have no closed form. Expectation propagation is then near, not
// exact: Cunningham, Hennig and Lacoste-Julien (2011) find some per cent at worst.
func TestWithinTwoBoundsIsNearQuadrature(t *testing.T) {
	const rho = 0.6
	g := gauss{mean: []float64{-0.2, 0.3}, cov: []float64{1, rho, rho, 1}}
	got := g.within([]bound{{index: 0, lo: 0, hi: 2}, {index: 1, lo: 0, hi: 1}})
	const n = 600
	var s0, sx, sy, sxx, syy, sxy float64
	for i := range n {
		for j := range n {
			x, y := 2*(float64(i)+0.5)/n, (float64(j)+0.5)/n
			dx, dy := x+0.2, y-0.3
			p := math.Exp(-(dx*dx - 2*rho*dx*dy + dy*dy) / (2 * (1 - rho*rho)))
			s0, sx, sy, sxx, syy, sxy = s0+p, sx+p*x, sy+p*y, sxx+p*x*x, syy+p*y*y, sxy+p*x*y
		}
	}
	mx, my := sx/s0, sy/s0
	assert.InDelta(t, mx, got.mean[0], 0.01)
	assert.InDelta(t, my, got.mean[1], 0.01)
	assert.InEpsilon(t, sxx/s0-mx*mx, got.cov[0], 0.05)
	assert.InEpsilon(t, syy/s0-my*my, got.cov[3], 0.05)
	assert.InDelta(t, sxy/s0-mx*my, got.cov[1], 0.01)
}

func TestWithinFarBoundsChangesNothing(t *testing.T) {
	g := gauss{mean: []float64{1, 2}, cov: []float64{0.01, 0.002, 0.002, 0.04}}
	got := g.within([]bound{{index: 0, lo: -50, hi: 50}, {index: 1, lo: -50, hi: 50}})
	assert.InDeltaSlice(t, g.mean, got.mean, 1e-9)
	assert.InDeltaSlice(t, g.cov, got.cov, 1e-9)
}

func TestInvertSPDAgreesWithGonum(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 4))
	for _, n := range []int{1, 2, 5, 10} {
		// A Gram matrix whose columns differ in scale as parameters in Pa and in 1 do.
		root := mat.NewDense(n+3, n, nil)
		for i := range n + 3 {
			for j := range n {
				root.Set(i, j, random.NormFloat64()*math.Pow(10, float64(j%5)-2))
			}
		}
		var spd, want mat.Dense
		spd.Mul(root.T(), root)
		require.NoError(t, want.Inverse(&spd))
		lower := make([]float64, n*n)
		for i := range n {
			for j := range i + 1 {
				lower[i*n+j] = spd.At(i, j)
			}
		}
		got, ok := invertSPD(lower, n)
		require.True(t, ok)
		for i := range n {
			for j := range n {
				scale := math.Sqrt(want.At(i, i) * want.At(j, j))
				assert.InDelta(t, want.At(i, j), got[i*n+j], 1e-8*scale, "n %d, element %d,%d", n, i, j)
			}
		}
	}
}

func TestInvertSPDRefusesWhatHasNoInverse(t *testing.T) {
	for name, a := range map[string][]float64{
		"a zero on the diagonal": {1, 0, 0, 0},
		"two columns alike":      {1, 0, 1, 1},
		"an indefinite matrix":   {1, 0, 2, 1},
		"not a number":           {math.NaN(), 0, 0, 1},
	} {
		_, ok := invertSPD(a, 2)
		assert.False(t, ok, name)
	}
}

func TestWithoutIsTheConditionalVariance(t *testing.T) {
	// var(x|y) = var x − cov²/var y; var(x|y, z) from the inverse of the covariance.
	cov := []float64{4, 1, 0.5, 1, 2, 0.3, 0.5, 0.3, 1}
	g := gauss{mean: make([]float64, 3), cov: cov}
	assert.InDelta(t, 4, g.without(0), 1e-12)
	assert.InDelta(t, 4-1.0/2, g.without(0, 1), 1e-12)
	inv, ok := invertSPD(cov, 3)
	require.True(t, ok)
	assert.InDelta(t, 1/inv[0], g.without(0, 1, 2), 1e-12)
	assert.InDelta(t, 1/inv[0], g.without(0, 2, 1), 1e-12, "in any order")
}
