package decay

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/trace"
)

// simulated is a hold of a small joint for 15 s, readings changed by Δ as a function
// of the time since isolation, with what is told of it and its true leakage rate.
func simulated(t *testing.T, change func(t, delta float64) float64) (*hold.Hold, Setup, float64) {
	t.Helper()
	family, err := sim.FamilyNamed("small-laminar")
	require.NoError(t, err)
	s := family.Draw(rand.New(rand.NewPCG(4, 4)))
	s.Holds[0].Seconds = 15
	tr, truths, err := s.Run()
	require.NoError(t, err)
	h, truth := hold.Find(tr)[0], truths[0]
	h.Readings = slices.Clone(h.Readings)
	for i := h.Held.From; i < h.Held.To; i++ {
		at := h.Readings[i].Seconds() - h.Isolation
		h.Readings[i].Pressure = h.RestLevel + h.Sign.Float()*change(at, h.Delta(i))
	}
	return h, Setup{
		Volume: Input{truth.Volume, 0.01 * truth.Volume}, Bore: Input{Value: 2 * truth.Bore},
		Ambient: Input{truth.Ambient, 100}, Temperature: Input{truth.Temperature, 0.5},
	}, truth.LeakRate
}

// eachScore calls do for every place, shape and length that is looked at.
func eachScore(f *fitter, do func(from, to int, shape kind)) {
	n := len(f.d.held)
	for from := 1; from+4 <= n; from++ {
		do(from, n, bend)
		do(from, n, step)
		for k := 1; k <= pulseBins && from+k < n; k++ {
			do(from, from+k, pulse)
		}
	}
}

// shapeOf is a change of size 1 at held bin i.
func (f *fitter) shapeOf(i, from, to int, shape kind) float64 {
	switch {
	case i < from || i >= to:
		return 0
	case shape == bend:
		return f.d.held[i].t - (f.d.held[from].t+f.d.held[from-1].t)/2
	}
	return 1
}

// Every place and every shape, by the sum over all bins and by the running sums.
func TestEveryScoreIsThatOfThePlainSums(t *testing.T) {
	f := solved(t)
	sc := f.scanner()
	scored := 0
	eachScore(f, func(from, to int, shape kind) {
		var num, size, whole float64
		var along [nAll]float64
		for i := range f.d.held {
			x := f.white.inv[i] * f.shapeOf(i, from, to, shape)
			num -= x * f.white.sol.r[i]
			whole += x * x
			for j := range along {
				along[j] += x * f.white.sol.jac[i*nAll+j]
			}
		}
		size = whole
		for i := range along {
			num += along[i] * f.white.lean[i]
			for j := range along {
				size -= along[i] * along[j] * f.white.cov[i*nAll+j]
			}
		}
		if size < 1e-6*whole { // near enough to what parameters explain for rounding to show
			return
		}
		scored++
		got := sc.score(from, to, shape)
		require.InDelta(t, math.Abs(num)/math.Sqrt(size), got.z, 1e-3, "%d over [%d, %d)", shape, from, to)
		require.InDelta(t, num/size, got.size, 1e-3/math.Sqrt(size), "%d over [%d, %d)", shape, from, to)
		require.Equal(t, shape, got.kind)
	})
	require.Greater(t, scored, 3*len(f.d.held), "hardly any place is left out")
}

// z² is how much the sum of squares of the linear model falls by with one more column,
// and size that column's coefficient: by gonum's QR.
func TestAScoreIsTheGainOfOneMoreColumn(t *testing.T) {
	f := solved(t)
	sc := f.scanner()
	rows := len(f.white.sol.r)
	solve := func(columns int, column func(row int) float64) (sum, last float64) {
		a, b := mat.NewDense(rows, columns, nil), mat.NewVecDense(rows, nil)
		for i := range rows {
			for j := range nAll {
				a.Set(i, j, f.white.sol.jac[i*nAll+j])
			}
			if columns > nAll {
				a.Set(i, nAll, column(i))
			}
			b.SetVec(i, -f.white.sol.r[i])
		}
		var qr mat.QR
		qr.Factorize(a)
		x, left := new(mat.VecDense), new(mat.VecDense)
		require.NoError(t, qr.SolveVecTo(x, false, b))
		left.MulVec(a, x)
		left.SubVec(b, left)
		return mat.Dot(left, left), x.AtVec(columns - 1)
	}
	without, _ := solve(nAll, nil)
	n := len(f.d.held)
	for _, from := range []int{n / 3, n / 2, 3 * n / 4} {
		for shape, to := range map[kind]int{bend: n, step: n, pulse: from + 2} {
			with, size := solve(nAll+1, func(row int) float64 {
				if row >= n {
					return 0
				}
				return f.white.inv[row] * f.shapeOf(row, from, to, shape)
			})
			got := sc.score(from, to, shape)
			assert.InDelta(t, math.Sqrt(without-with), got.z, 1e-3+1e-3*got.z, "%d at %d", shape, from)
			assert.InDelta(t, size, got.size, 1e-3*math.Abs(size)/max(got.z, 0.01), "%d at %d", shape, from)
		}
	}
}

// Against the least squares of gonum's QR; and no parabola makes a difference.
func TestStraightenLeavesWhatNoParabolaHas(t *testing.T) {
	random := rand.New(rand.NewPCG(8, 1))
	for _, n := range []int{10, 11, 40, 200} {
		rest := make([]float64, n)
		powers, values := mat.NewDense(n, 3, nil), mat.NewVecDense(n, nil)
		for i := range rest {
			rest[i] = random.NormFloat64()
			x := float64(i) / float64(n)
			powers.SetRow(i, []float64{1, x, x * x})
			values.SetVec(i, rest[i])
		}
		var qr mat.QR
		qr.Factorize(powers)
		var best, want mat.VecDense
		require.NoError(t, qr.SolveVecTo(&best, false, values))
		want.MulVec(powers, &best)
		want.SubVec(values, &want)

		for _, c := range [][3]float64{{0, 0, 0}, {5, 0, 0}, {-3, 2, 0}, {1e3, -40, 0.7}, {0, 0, -2}} {
			bent := slices.Clone(rest)
			for i := range bent {
				x := float64(i)
				bent[i] += c[0] + c[1]*x + c[2]*x*x
			}
			straighten(bent)
			assert.InDeltaSlice(t, want.RawVector().Data, bent, 1e-9, "%d values and the parabola %v", n, c)
		}
	}
}

// With a step that is there the parameters move as well: by gonum's QR of the problem
// with the step's column and its prior written out.
func TestAnAllowedStepMovesTheParametersAsAFurtherColumnWould(t *testing.T) {
	const left = 15 // Pa
	without := gap{5.8, 6.8}
	h, setup, _ := simulated(t, func(t, delta float64) float64 {
		if t > 6 {
			delta += left
		}
		return delta
	})
	k := complete(h, setup)
	f := newFitter(newData(h, stretch{span: h.Held, without: []gap{without}}, k), k)
	require.True(t, f.lookAround())
	require.True(t, f.settle())
	rows := len(f.sol.r)
	a, b := mat.NewDense(rows+1, nAll+1, nil), mat.NewVecDense(rows+1, nil)
	for i := range rows {
		for j := range nAll {
			a.Set(i, j, f.sol.jac[i*nAll+j])
		}
		if i < len(f.d.held) && f.d.held[i].t >= without.to {
			a.Set(i, nAll, f.inv[i])
		}
		b.SetVec(i, -f.sol.r[i])
	}
	a.Set(rows, nAll, 1.0/knockedU)
	var qr mat.QR
	qr.Factorize(a)
	var shift mat.VecDense
	require.NoError(t, qr.SolveVecTo(&shift, false, b))
	require.InDelta(t, left, shift.AtVec(nAll), 8, "the step is there to be found")
	var r, inverse, cov mat.Dense
	qr.RTo(&r)
	require.NoError(t, inverse.Inverse(r.Slice(0, nAll+1, 0, nAll+1)))
	cov.Mul(&inverse, inverse.T())

	before := gauss{slices.Clone(f.post.mean), slices.Clone(f.post.cov)}
	gained := f.allowSteps()
	assert.Positive(t, gained)
	assert.InEpsilon(t, cov.At(pRate, pRate)-before.cov[pRate*nAll+pRate], gained, 1e-2)
	for i := range nAll {
		sd := math.Sqrt(cov.At(i, i))
		assert.InDelta(t, f.sol.p[i]+shift.AtVec(i), f.post.mean[i], 1e-3*sd, "mean of %d", i)
		for j := range nAll {
			assert.InDelta(t, cov.At(i, j), f.post.cov[i*nAll+j], 1e-3*sd*math.Sqrt(cov.At(j, j)), "covariance of %d and %d", i, j)
		}
	}
	moved := math.Abs(f.post.mean[pRate]-before.mean[pRate]) / math.Sqrt(before.cov[pRate*nAll+pRate])
	assert.Greater(t, moved, 0.5, "in standard deviations of the rate")
}

func TestWithoutAGapNoStepIsAllowed(t *testing.T) {
	f := solved(t)
	require.True(t, f.settle())
	mean, cov := slices.Clone(f.post.mean), slices.Clone(f.post.cov)
	assert.Zero(t, f.allowSteps())
	assert.Equal(t, mean, f.post.mean)
	assert.Equal(t, cov, f.post.cov)
}

// Through such readings no curve of the model runs, and still their beginning is clean.
func TestAHoldThroughWhichNoCurveRunsHasACleanBeginning(t *testing.T) {
	var stuck float64
	for name, change := range map[string]func(t, delta float64) float64{
		"as if the bore were shut off from its leak": func(_, _ float64) float64 { return stuck },
		"as if it were pumped on":                    func(t, delta float64) float64 { return delta + 100e3*(t-8) },
	} {
		t.Run(name, func(t *testing.T) {
			stuck = 0
			h, setup, leakRate := simulated(t, func(t, delta float64) float64 {
				if t < 8 {
					stuck = delta
					return delta
				}
				return change(t, delta)
			})
			k := complete(h, setup)
			_, fault := fitted(h, stretch{span: h.Held}, k)
			require.Contains(t, fault, "did not settle", "as a whole")
			r := Fit(h, setup)
			require.NotNil(t, r.LeakRate, r.Notes)
			assert.Equal(t, Converged, r.Status)
			assert.True(t, r.Disturbed)
			assert.True(t, r.LeakRate.Low < leakRate && leakRate < r.LeakRate.High, "%+v has not %g", *r.LeakRate, leakRate)
			end := h.Readings[r.Used.To-1].Seconds() - h.Isolation
			assert.Less(t, end, 8.0)
			assert.Greater(t, end, 6.5)
		})
	}
}

func TestStretches(t *testing.T) {
	h := &hold.Hold{Isolation: 2}
	for i := range 100 {
		h.Readings = append(h.Readings, trace.Reading{T: time.Duration(i) * 100 * time.Millisecond})
	}
	whole := stretch{span: hold.Span{From: 20, To: 100}}

	t.Run("end at a time since isolation, itself included", func(t *testing.T) {
		part := whole.before(h, 3)
		assert.Equal(t, hold.Span{From: 20, To: 51}, part.span)
		assert.Equal(t, hold.Span{From: 20, To: 100}, whole.span, "the whole stays")
		assert.Equal(t, part, part.before(h, 5), "and grow no longer again")
	})
	t.Run("can be empty but no less", func(t *testing.T) {
		assert.Equal(t, hold.Span{From: 20, To: 20}, whole.before(h, -1).span)
	})
	t.Run("have no moment within a gap, its ends included", func(t *testing.T) {
		part := whole.leaving(gap{1, 2}).leaving(gap{4, 5})
		for at, has := range map[float64]bool{0.99: true, 1: false, 1.5: false, 2: false, 2.01: true, 4.5: false, 6: true} {
			assert.Equal(t, has, part.has(at), "%g s", at)
		}
		assert.Equal(t, part.without, part.before(h, 3).without, "what was left out stays out")
	})
	t.Run("that come from one stretch do not write into each other", func(t *testing.T) {
		room := make([]gap, 1, 8)
		room[0] = gap{1, 2}
		parent := stretch{span: whole.span, without: room}
		first := parent.leaving(gap{3, 4})
		second := parent.leaving(gap{5, 6})
		third := first.before(h, 7).leaving(gap{6, 7})
		assert.Equal(t, []gap{{1, 2}}, parent.without)
		assert.Equal(t, []gap{{1, 2}, {3, 4}}, first.without)
		assert.Equal(t, []gap{{1, 2}, {5, 6}}, second.without)
		assert.Equal(t, []gap{{1, 2}, {3, 4}, {6, 7}}, third.without)
		assert.Equal(t, gap{}, room[:2][1], "nor into what the parent has to spare")
	})
}
