package decay

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The digits asked for are one fewer than there are, for other machines' rounding:
// what a step below 10⁻⁹ leaves where Newton's method converges quadratically, and
// some fewer where residuals are large and the last steps converge but linearly.
func TestMinimiseReachesTheCertifiedValuesOfNIST(t *testing.T) {
	type floor struct{ parameters, deviations, sum float64 } // digits
	for _, c := range []struct {
		name  string
		model func(b []float64, x float64, g []float64) float64
		floor floor
	}{
		{"Misra1a", risingExponential, floor{8, 8, 9}},
		{"Misra1b", misra1b, floor{8, 8, 9}},
		{"Misra1c", misra1c, floor{8, 8, 9}},
		{"Misra1d", misra1d, floor{8, 8, 9}},
		{"Chwirut2", chwirut, floor{7, 7, 9}},
		{"DanWood", power, floor{8.5, 8.5, 9}},
		{"Roszman1", lineAndArctangent, floor{6, 6, 9}},
		{"MGH17", offsetAndTwoDecays, floor{7, 7, 9}},
		// Here the residuals are the rounding of float64: their sum is noise, and so are
		// the deviations made of it.
		{"Lanczos1", threeDecays, floor{8, 0, 0}},
		{"Lanczos2", threeDecays, floor{6.5, 6.5, 8}},
		{"Lanczos3", threeDecays, floor{6.5, 6.5, 9}},
		// Six readings with a residual of 8 % of the value; the far start has a test of its own.
		{"BoxBOD", risingExponential, floor{7, 7, 9}},
	} {
		d := readSTRD(t, c.name)
		for i, start := range d.starts {
			if c.name == "BoxBOD" && i == 0 {
				continue
			}
			what := fmt.Sprintf("%s from start %d", c.name, i+1)
			s := minimise(d.problem(c.model), start)
			got := floor{digits(s.p, d.certified), digits(d.deviations(t, s), d.sd), digits([]float64{s.sum}, []float64{d.rss})}
			t.Logf("%-22s %v by %v after %3d steps: %4.1f digits of parameters, %4.1f of deviations, %4.1f of the sum of squares",
				what, s.stop, s.by, s.steps, got.parameters, got.deviations, got.sum)
			require.Equal(t, stopConverged, s.stop, what)
			assert.NotEqual(t, notMet, s.by, what)
			assert.GreaterOrEqual(t, got.parameters, c.floor.parameters, "%s: parameters", what)
			assert.GreaterOrEqual(t, got.deviations, c.floor.deviations, "%s: deviations", what)
			assert.GreaterOrEqual(t, got.sum, c.floor.sum, "%s: sum of squares", what)
		}
	}
}

func TestMinimiseSaysWhyItStopped(t *testing.T) {
	flat := func(f func(p float64) (r, slope float64)) problem {
		return problem{rows: 1, cols: 1, eval: func(p, r, jac []float64) bool {
			var slope float64
			r[0], slope = f(p[0])
			if jac != nil {
				jac[0] = slope
			}
			return true
		}}
	}
	t.Run("BoxBOD from its far start runs off to the plain where b2 has no effect", func(t *testing.T) {
		d := readSTRD(t, "BoxBOD")
		s := minimise(d.problem(risingExponential), d.starts[0])
		assert.Equal(t, stopRanOff, s.stop)
		assert.Equal(t, notMet, s.by)
		assert.InEpsilon(t, 9771.5, s.sum, 1e-6, "the sum of squares about the mean")
	})
	t.Run("too few steps", func(t *testing.T) {
		d := readSTRD(t, "MGH17")
		pr := d.problem(offsetAndTwoDecays)
		pr.steps = 50
		s := minimise(pr, d.starts[0])
		assert.Equal(t, stopSteps, s.stop)
		assert.Greater(t, s.sum, 1.1*d.rss)
	})
	t.Run("derivatives of the wrong sign allow no progress", func(t *testing.T) {
		s := minimise(flat(func(p float64) (float64, float64) { return p - 3, -1 }), []float64{1})
		assert.Equal(t, stopStuck, s.stop)
		assert.Equal(t, []float64{1}, s.p)
	})
	t.Run("a model that ends right behind the start allows no progress", func(t *testing.T) {
		s := minimise(flat(func(p float64) (float64, float64) {
			if p > 1 {
				return math.NaN(), 0
			}
			return p - 3, 1
		}), []float64{1})
		assert.Equal(t, stopStuck, s.stop)
	})
	t.Run("heavy damping at the start is no convergence", func(t *testing.T) {
		pr := flat(func(p float64) (float64, float64) { return p - 3, 1 })
		pr.damping = 1e12
		s := minimise(pr, []float64{1})
		assert.Equal(t, stopConverged, s.stop)
		assert.InDelta(t, 3, s.p[0], 1e-8)
	})
	t.Run("a start at the minimum is a minimum by its slope", func(t *testing.T) {
		s := minimise(valley(), []float64{2, 3})
		assert.Equal(t, stopConverged, s.stop)
		assert.Equal(t, bySlope, s.by)
	})
	t.Run("derivatives a little off end at the minimum all the same", func(t *testing.T) {
		pr := problem{rows: 3, cols: 1, eval: func(p, r, jac []float64) bool {
			copy(r, []float64{p[0] + 1, p[0], p[0] - 1})
			if jac != nil {
				copy(jac, []float64{0.99, 1, 1.01})
			}
			return true
		}}
		s := minimise(pr, []float64{0})
		assert.Equal(t, stopConverged, s.stop)
		assert.Equal(t, byOffset, s.by)
		assert.InDelta(t, 0, s.p[0], 0.02)
	})
	t.Run("a gain not worth a step", func(t *testing.T) {
		pr := valley()
		pr.enough = 100
		s := minimise(pr, []float64{0, 0})
		assert.Equal(t, byGain, s.by)
		assert.Equal(t, []float64{0, 0}, s.p)
	})
	t.Run("a model without a value or a derivative at the start", func(t *testing.T) {
		nowhere := problem{rows: 1, cols: 1, eval: func(_, _, _ []float64) bool { return false }}
		assert.Equal(t, stopNoStart, minimise(nowhere, []float64{1}).stop)
		assert.Equal(t, stopNoStart, minimise(flat(func(float64) (float64, float64) { return math.Inf(1), 1 }), []float64{1}).stop)
		assert.Equal(t, stopNoStart, minimise(flat(func(float64) (float64, float64) { return 1, math.NaN() }), []float64{1}).stop)
	})
	t.Run("each has its name", func(t *testing.T) {
		for stop := range stopNoStart + 1 {
			assert.NotContains(t, stop.String(), "stop ")
		}
		for by := range bySlope + 1 {
			assert.NotEmpty(t, by.String())
		}
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
