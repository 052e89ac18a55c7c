package decay_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
)

// falling is n readings of a·exp(−k·t)+c over a time, evenly spaced or anyhow, with noise.
func falling(n int, a, k, c, span, noise float64, even bool) (t, y []float64) {
	r := rand.New(rand.NewPCG(7, uint64(n)))
	t, y = make([]float64, n), make([]float64, n)
	for i := range n {
		t[i] = span * float64(i) / float64(n-1)
		if !even && i > 0 {
			t[i] = span * r.Float64()
		}
	}
	slices.Sort(t)
	for i := range n {
		y[i] = a*math.Exp(-k*t[i]) + c + noise*r.NormFloat64()
	}
	return t, y
}

func TestExponentialFindsExactCurves(t *testing.T) {
	for name, c := range map[string]struct {
		n                int
		a, k, c, span, f float64 // f is the first value of k
	}{
		"few readings":                            {5, 2500, 0.3, 10, 9, 0},
		"a hold of two time constants":            {1000, 2500, 0.25, 15, 8, 0},
		"the same from a far start":               {1000, 2500, 0.25, 15, 8, 40},
		"many readings":                           {20000, 2500, 0.25, 15, 12, 0.1},
		"a rise to a plateau":                     {1000, -2500, 0.25, 15, 12, 0},
		"a slow one, over a tenth of its time":    {1000, 2500, 0.01, 15, 10, 0},
		"a fast one, over in the first readings":  {1000, 2500, 80, 15, 10, 0},
		"one over within a mean of the first few": {10000, 2500, 300, 15, 10, 0},
		"small units":                             {1000, 2.5e-9, 0.25, 1.5e-11, 8, 0},
		"long times":                              {1000, 2500, 0.25e-6, 15, 8e6, 0},
	} {
		t.Run(name, func(t *testing.T) {
			for _, even := range []bool{false, true} {
				x, y := falling(c.n, c.a, c.k, c.c, c.span, 0, even)
				e := decay.FitExponential(x, y, c.f)
				if even {
					e = decay.FitExponentialGrid(c.span/float64(c.n-1), y, c.f)
				}
				require.Equal(t, decay.Settled, e.Ending, "even %v", even)
				assert.InEpsilon(t, c.k, e.K, 1e-10, "even %v", even)
				assert.InEpsilon(t, c.a, e.A, 1e-9, "even %v", even)
				assert.InDelta(t, c.c, e.C, 1e-9*math.Abs(c.a), "even %v", even)
			}
		})
	}
}

func TestExponentialCountsTimeFromTheFirstReading(t *testing.T) {
	x, y := falling(1000, 2500, 0.25, 15, 12, 1, false)
	want := decay.FitExponential(x, y, 0)
	for i := range x {
		x[i] += 4096
	}
	got := decay.FitExponential(x, y, 0)
	assert.InEpsilon(t, want.K, got.K, 1e-10)
	assert.InEpsilon(t, want.A, got.A, 1e-10)
}

func TestExponentialOnAGridIsTheSameAsAtItsTimes(t *testing.T) {
	for _, n := range []int{100, 1000, 10000} {
		x, y := falling(n, 2500, 0.25, 15, 12, 1, true)
		at, grid := decay.FitExponential(x, y, 0), decay.FitExponentialGrid(12/float64(n-1), y, 0)
		for _, v := range [][2]float64{{at.A, grid.A}, {at.K, grid.K}, {at.C, grid.C}, {at.UA, grid.UA}, {at.UK, grid.UK}, {at.UC, grid.UC}, {at.Sum, grid.Sum}} {
			assert.InEpsilon(t, v[0], v[1], 1e-9, "%d readings", n)
		}
	}
}

func TestExponentialDoesNotDependOnItsStart(t *testing.T) {
	x, y := falling(3000, 2500, 0.25, 15, 12, 20, false)
	want := decay.FitExponential(x, y, 0)
	for _, k := range []float64{1e-9, 0.01, 0.24, 3, 1e9, -1, math.Inf(1), math.NaN()} {
		assert.InEpsilon(t, want.K, decay.FitExponential(x, y, k).K, 1e-10, "from %g", k)
	}
}

// The uncertainties must be those of the scatter between repeats.
func TestExponentialKnowsHowFarItIsOff(t *testing.T) {
	const repeats, n = 2000, 300
	r := rand.New(rand.NewPCG(3, 5))
	x, _ := falling(n, 1, 1, 1, 10, 0, false)
	y := make([]float64, n)
	var a, k, c float64 // mean squares of the errors in units of their uncertainty
	for range repeats {
		for i := range n {
			y[i] = 2500*math.Exp(-0.2*x[i]) + 15 + 5*r.NormFloat64()
		}
		e := decay.FitExponential(x, y, 0)
		require.Equal(t, decay.Settled, e.Ending)
		a += math.Pow((e.A-2500)/e.UA, 2) / repeats
		k += math.Pow((e.K-0.2)/e.UK, 2) / repeats
		c += math.Pow((e.C-15)/e.UC, 2) / repeats
	}
	// √(2/2000) is 3 %; the margin is five of those.
	for _, v := range []float64{a, k, c} {
		assert.InDelta(t, 1, v, 0.16)
	}
}

func TestExponentialSaysWhyThereIsNone(t *testing.T) {
	x, fall := falling(1000, 2500, 0.25, 15, 12, 0, false)
	changed := func(of []float64, i int, v float64) []float64 {
		of = slices.Clone(of)
		of[i] = v
		return of
	}
	of := func(f func(t float64) float64) []float64 {
		y := make([]float64, len(x))
		for i := range y {
			y[i] = f(x[i])
		}
		return y
	}
	r := rand.New(rand.NewPCG(1, 2))
	backward := slices.Clone(x)
	slices.Reverse(backward)
	for name, c := range map[string]struct {
		t, y []float64
		want decay.Ending
	}{
		"nothing":                   {nil, nil, decay.Unusable},
		"two points":                {x[:2], fall[:2], decay.Unusable},
		"three":                     {x[:3], fall[:3], decay.Unusable},
		"fewer times than readings": {x[:9], fall[:10], decay.Unusable},
		"time that runs backward":   {backward, fall, decay.Unusable},
		"one time alone":            {make([]float64, 9), fall[:9], decay.Unusable},
		"a time that is not one":    {changed(x, 500, math.NaN()), fall, decay.Unusable},
		"a first that is not one":   {changed(x, 0, math.NaN()), fall, decay.Unusable},
		"an endless time":           {changed(x, 999, math.Inf(1)), fall, decay.Unusable},
		"a time before all":         {changed(x, 0, math.Inf(-1)), fall, decay.Unusable},
		"a reading that is not one": {x, changed(fall, 500, math.NaN()), decay.Unusable},
		"the last one infinite":     {x, changed(fall, 999, math.Inf(-1)), decay.Unusable},
		"the middle one infinite":   {x, changed(fall, 500, math.Inf(1)), decay.Unusable},
		"readings beyond squaring":  {x, of(func(t float64) float64 { return 1e200 * math.Exp(-t) }), decay.Unusable},
		"times beyond squaring":     {scaled(x, 1e-160), fall, decay.Unsettled},
		"a constant":                {x, of(func(float64) float64 { return 0.1 }), decay.NoDecay},
		"noise about a level":       {x, of(func(float64) float64 { return 50 + r.NormFloat64() }), decay.NoDecay},
		"a straight line":           {x, of(func(t float64) float64 { return 2500 - 40*t }), decay.TooSlow},
		"growth":                    {x, of(func(t float64) float64 { return math.Exp(t) }), decay.TooSlow},
		"a step after the first":    {x, changed(of(func(float64) float64 { return 0.1 }), 0, 5), decay.TooFast},
		"a step, and few readings":  {[]float64{0, 1, 2, 3, 4}, []float64{9, 1, 1, 1, 1}, decay.TooFast},
	} {
		t.Run(name, func(t *testing.T) {
			for _, k := range []float64{0, 0.25, 1e12} {
				e := decay.FitExponential(c.t, c.y, k)
				assert.Equal(t, c.want, e.Ending, "%v from %g", e.Ending, k)
				assert.Zero(t, e.K)
			}
		})
	}
	assert.Equal(t, decay.Unusable, decay.FitExponentialGrid(0, fall, 0).Ending)
	assert.Equal(t, decay.Unusable, decay.FitExponentialGrid(math.NaN(), fall, 0).Ending)
	assert.Equal(t, decay.Unusable, decay.FitExponentialGrid(math.Inf(1), fall, 0).Ending)
}

func scaled(of []float64, by float64) []float64 {
	out := make([]float64, len(of))
	for i, v := range of {
		out[i] = by * v
	}
	return out
}

func TestExponentialAllocatesNothing(t *testing.T) {
	x, y := falling(1000, 2500, 0.25, 15, 12, 1, false)
	assert.Zero(t, testing.AllocsPerRun(10, func() { decay.FitExponential(x, y, 0) }))
	assert.Zero(t, testing.AllocsPerRun(10, func() { decay.FitExponentialGrid(0.012, y, 0) }))
}

func TestEachEndingHasItsName(t *testing.T) {
	for e := range decay.Unsettled + 1 {
		assert.NotContains(t, e.String(), "ending ")
	}
	assert.Equal(t, "ending 9", decay.Ending(9).String())
}
