package decay

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The digits asked for are those that a step below 10⁻⁹ of the parameters leaves
// where Newton's method converges quadratically: 8 to 10 of the 11 certified. Where
// residuals are large the last steps converge but linearly, and one is given up.
func TestMinimiseReachesTheCertifiedValuesOfNIST(t *testing.T) {
	for _, c := range []struct {
		name   string
		model  func(b []float64, x float64, g []float64) float64
		start  int
		digits float64
		sum    float64 // relative error allowed in the sum of squares
	}{
		{name: "Misra1a", model: risingExponential, start: 1, digits: 9, sum: 1e-9},
		{name: "Misra1a", model: risingExponential, start: 2, digits: 9, sum: 1e-9},
		{name: "Misra1b", model: misra1b, start: 1, digits: 9, sum: 1e-9},
		{name: "Misra1b", model: misra1b, start: 2, digits: 9, sum: 1e-9},
		{name: "Misra1c", model: misra1c, start: 1, digits: 8.5, sum: 1e-9},
		{name: "Misra1c", model: misra1c, start: 2, digits: 8.5, sum: 1e-9},
		{name: "Misra1d", model: misra1d, start: 1, digits: 8.5, sum: 1e-9},
		{name: "Misra1d", model: misra1d, start: 2, digits: 8.5, sum: 1e-9},
		// Six readings with a residual of 8 % of the value: linear in the end.
		{name: "BoxBOD", model: risingExponential, start: 2, digits: 7.5, sum: 1e-9},
		{name: "MGH17", model: offsetAndTwoDecays, start: 2, digits: 8, sum: 1e-9},
		// Here the residuals are the rounding of float64, and their sum is noise.
		{name: "Lanczos1", model: threeDecays, start: 1, digits: 8, sum: 2},
		{name: "Lanczos1", model: threeDecays, start: 2, digits: 8, sum: 2},
		{name: "Lanczos2", model: threeDecays, start: 1, digits: 7.5, sum: 1e-8},
		{name: "Lanczos2", model: threeDecays, start: 2, digits: 7.5, sum: 1e-8},
		{name: "Lanczos3", model: threeDecays, start: 1, digits: 7.5, sum: 1e-9},
		{name: "Lanczos3", model: threeDecays, start: 2, digits: 7.5, sum: 1e-9},
		// Large residuals once more.
		{name: "Chwirut2", model: chwirut, start: 1, digits: 8, sum: 1e-9},
		{name: "Chwirut2", model: chwirut, start: 2, digits: 8, sum: 1e-9},
		{name: "DanWood", model: power, start: 1, digits: 9, sum: 1e-9},
		{name: "DanWood", model: power, start: 2, digits: 9, sum: 1e-9},
	} {
		d := readSTRD(t, c.name)
		s := minimise(d.problem(c.model), d.starts[c.start-1])
		t.Logf("%s from start %d: %v after %d steps, LRE %.1f", c.name, c.start, s.stop, s.steps, d.digits(s.p))
		assert.Equal(t, stopConverged, s.stop, "%s from start %d", c.name, c.start)
		assert.GreaterOrEqual(t, d.digits(s.p), c.digits, "%s from start %d: digits", c.name, c.start)
		assert.InEpsilon(t, d.rss, s.sum, c.sum, "%s from start %d: sum of squares", c.name, c.start)
	}
}

func TestMinimiseTellsAFitThatRanOff(t *testing.T) {
	t.Run("BoxBOD from its far start ends on the plain where b2 has no effect", func(t *testing.T) {
		d := readSTRD(t, "BoxBOD")
		s := minimise(d.problem(risingExponential), d.starts[0])
		assert.Equal(t, stopRanOff, s.stop)
		assert.InEpsilon(t, 9771.5, s.sum, 1e-6, "the sum of squares about the mean")
	})
	t.Run("MGH17 from its far start does not pass for solved in 200 steps", func(t *testing.T) {
		d := readSTRD(t, "MGH17")
		s := minimise(d.problem(offsetAndTwoDecays), d.starts[0])
		assert.Equal(t, stopSteps, s.stop)
		assert.Greater(t, s.sum, 1.1*d.rss)
	})
	t.Run("a model without a value at the start", func(t *testing.T) {
		nowhere := problem{rows: 1, cols: 1, eval: func(_, _, _ []float64) bool { return false }}
		assert.Equal(t, stopNoStart, minimise(nowhere, []float64{1}).stop)
		infinite := problem{rows: 1, cols: 1, eval: func(_, r, _ []float64) bool { r[0] = math.Inf(1); return true }}
		assert.Equal(t, stopNoStart, minimise(infinite, []float64{1}).stop)
	})
}

// valley is |p − (2, 3)|² with the second axis tied to the first.
func valley(bounds ...bound) problem {
	return problem{rows: 2, cols: 2, bounds: bounds, eval: func(p, r, jac []float64) bool {
		r[0], r[1] = p[0]-2, p[0]+p[1]-5
		if jac != nil {
			copy(jac, []float64{1, 0, 1, 1})
		}
		return true
	}}
}

func TestMinimiseKeepsBounds(t *testing.T) {
	for name, c := range map[string]struct {
		bounds []bound
		want   [2]float64
	}{
		"none":                  {nil, [2]float64{2, 3}},
		"that do not matter":    {[]bound{{index: 0, lo: -9, hi: 9}}, [2]float64{2, 3}},
		"above":                 {[]bound{{index: 0, lo: -9, hi: 1}}, [2]float64{1, 4}},
		"below":                 {[]bound{{index: 0, lo: 0, hi: 9}, {index: 1, lo: -9, hi: 1}}, [2]float64{3, 1}},
		"that hold it in place": {[]bound{{index: 1, lo: 0, hi: 0}}, [2]float64{3.5, 0}},
		"both at once":          {[]bound{{index: 0, lo: -1, hi: 1}, {index: 1, lo: -1, hi: 1}}, [2]float64{1, 1}},
	} {
		t.Run("bounds "+name, func(t *testing.T) {
			pr := valley(c.bounds...)
			eval := pr.eval
			pr.eval = func(p, r, jac []float64) bool {
				for _, b := range c.bounds {
					assert.True(t, b.lo <= p[b.index] && p[b.index] <= b.hi, "tried %v outside %+v", p, b)
				}
				return eval(p, r, jac)
			}
			s := minimise(pr, []float64{0, 0})
			assert.Equal(t, stopConverged, s.stop)
			assert.InDeltaSlice(t, c.want[:], s.p, 1e-8)
		})
	}
}

func TestMinimiseGoesNoFurtherThanItsReachInOneStep(t *testing.T) {
	pr := valley(bound{index: 0, lo: -9, hi: 9, reach: 0.1})
	eval, last := pr.eval, 0.0
	pr.eval = func(p, r, jac []float64) bool {
		assert.LessOrEqual(t, math.Abs(p[0]-last), 0.1+1e-12)
		last = p[0]
		return eval(p, r, jac)
	}
	s := minimise(pr, []float64{0, 0})
	assert.InDeltaSlice(t, []float64{2, 3}, s.p, 1e-8)
	assert.GreaterOrEqual(t, s.steps, 20)
}

func TestMinimiseLeavesTheStartAlone(t *testing.T) {
	start := []float64{0, 0}
	s := minimise(valley(), start)
	require.Equal(t, stopConverged, s.stop)
	assert.Equal(t, []float64{0, 0}, start)
}
