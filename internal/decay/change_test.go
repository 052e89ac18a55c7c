package decay

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/trace"
)

// solved is a fitter of a simulated hold, its first solution and its last at hand.
func solved(t *testing.T, without ...gap) *fitter {
	t.Helper()
	family, err := sim.FamilyNamed("small-laminar")
	require.NoError(t, err)
	s := family.Draw(rand.New(rand.NewPCG(4, 4)))
	s.Holds[0].Seconds = 15
	tr, truths, err := s.Run()
	require.NoError(t, err)
	h, truth := hold.Find(tr)[0], truths[0]
	k := complete(h, Setup{
		Volume: Input{truth.Volume, 0.01 * truth.Volume}, Bore: Input{Value: 2 * truth.Bore},
		Ambient: Input{truth.Ambient, 100}, Temperature: Input{truth.Temperature, 0.5},
	})
	f := newFitter(newData(h, stretch{span: h.Held, without: without}, k), k)
	require.True(t, f.lookAround())
	return f
}

// The score of every place and shape, from running sums, against the plain formula:
// the reduction of χ² by one more column beside the parameters.
func TestScoresFromSumsAreThoseOfTheFormula(t *testing.T) {
	f := solved(t)
	sc := f.scanner()
	n := len(f.d.held)
	for from := 20; from+4 < n; from += 17 {
		t0 := (f.d.held[from].t + f.d.held[from-1].t) / 2
		for _, c := range []struct {
			kind kind
			to   int
		}{{bend, n}, {step, n}, {pulse, from + 2}} {
			var num, size float64
			var along [nAll]float64
			for k := from; k < c.to; k++ {
				x := f.white.inv[k]
				if c.kind == bend {
					x *= f.d.held[k].t - t0
				}
				num -= x * f.white.sol.r[k]
				size += x * x
				for j := range along {
					along[j] += x * f.white.sol.jac[k*nAll+j]
				}
			}
			for i := range along {
				num += along[i] * f.white.lean[i]
				for j := range along {
					size -= along[i] * along[j] * f.white.cov[i*nAll+j]
				}
			}
			got := sc.score(from, c.to, c.kind)
			assert.InEpsilon(t, math.Abs(num)/math.Sqrt(size), got.z, 1e-4, "%d at %d", c.kind, from)
			assert.InEpsilon(t, num/size, got.size, 1e-4, "%d at %d", c.kind, from)
		}
	}
}

func TestStraightenTakesAnyParabolaOff(t *testing.T) {
	for _, n := range []int{10, 37} {
		v := make([]float64, n)
		for i := range v {
			x := float64(i)
			v[i] = 3 - 0.7*x + 0.02*x*x
		}
		straighten(v)
		for _, x := range v {
			assert.InDelta(t, 0, x, 1e-9)
		}
	}
}

// Steps after gaps, eliminated, against the same with their columns written out.
func TestAllowedStepsAreFurtherColumns(t *testing.T) {
	gaps := []gap{{3, 4}, {6, 7}, {9, 10}}
	f := solved(t, gaps...)
	require.True(t, f.settle())
	rows, k := len(f.sol.r), len(gaps)
	a, b := mat.NewDense(rows+k, nAll+k, nil), mat.NewVecDense(rows+k, nil)
	for i := range rows {
		for j := range nAll {
			a.Set(i, j, f.sol.jac[i*nAll+j])
		}
		b.SetVec(i, -f.sol.r[i])
	}
	for i, bin := range f.d.held {
		for g, gap := range gaps {
			if bin.t >= gap.to {
				a.Set(i, nAll+g, f.inv[i])
			}
		}
	}
	for g := range gaps {
		a.Set(rows+g, nAll+g, 1.0/knockedU)
	}
	var info, cov mat.Dense
	info.Mul(a.T(), a)
	require.NoError(t, cov.Inverse(&info))
	var right, shift mat.VecDense
	right.MulVec(a.T(), b)
	shift.MulVec(&cov, &right)

	before := f.post.cov[pRate*nAll+pRate]
	gained := f.allowSteps()
	assert.InEpsilon(t, cov.At(pRate, pRate), before+gained, 1e-4)
	for j := range nAll {
		sd := math.Sqrt(cov.At(j, j))
		assert.InDelta(t, f.sol.p[j]+shift.AtVec(j), f.post.mean[j], 1e-3*sd, "mean of %d", j)
		assert.InEpsilon(t, sd, math.Sqrt(f.post.cov[j*nAll+j]), 1e-3, "u of %d", j)
	}
}

func TestMassWithinBounds(t *testing.T) {
	n := distuv.UnitNormal
	for _, c := range []struct{ mean, sd, lo, hi float64 }{
		{0.3, 0.2, 0, 1}, {-0.1, 0.05, 0, 1}, {1.2, 0.05, 0, 1}, {0.5, 3, 0, 1},
	} {
		g := gauss{mean: []float64{c.mean}, cov: []float64{c.sd * c.sd}}
		want := math.Log(n.CDF((c.hi-c.mean)/c.sd) - n.CDF((c.lo-c.mean)/c.sd))
		assert.InDelta(t, want, g.logMass(bound{index: 0, lo: c.lo, hi: c.hi}), 1e-6, "%+v", c)
	}
	// Far out the logarithm still falls as −z²/2 − ln z√2π (Abramowitz and Stegun 26.2.12).
	far := gauss{mean: []float64{-40}, cov: []float64{1}}
	assert.InDelta(t, -800-math.Log(40*math.Sqrt(2*math.Pi)), far.logMass(bound{index: 0, lo: 0, hi: 1}), 0.01)
}

// decaying is a hold of readings alone: Δ as a function of the time since isolation.
func decaying(seconds float64, delta func(t float64) float64) *hold.Hold {
	h := &hold.Hold{Sign: hold.Pressure, Interval: 0.01, Noise: 0.5}
	random := rand.New(rand.NewPCG(1, 1))
	for t := 0.0; t < seconds; t += 0.01 {
		h.Readings = append(h.Readings, reading(t, delta(t)+0.5*random.NormFloat64()))
	}
	h.Held = hold.Span{From: 0, To: len(h.Readings)}
	return h
}

func TestLateVents(t *testing.T) {
	exponential := func(tau float64) func(float64) float64 {
		return func(t float64) float64 { return 2700 * math.Exp(-t/tau) }
	}
	vented := func(delta func(float64) float64, at float64) func(float64) float64 {
		return func(t float64) float64 {
			if t < at {
				return delta(t)
			}
			return delta(at) * math.Exp(-(t-at)/0.04)
		}
	}
	hole := func(tau float64) func(float64) float64 {
		return func(t float64) float64 { return 2700 * math.Pow(max(0, 1-t/(2*tau)), 2) }
	}
	for _, c := range []struct {
		name  string
		delta func(float64) float64
		at    float64 // NaN for none
	}{
		{"a slow leak", exponential(12), math.NaN()},
		{"a fast one", exponential(0.4), math.NaN()},
		{"a hole", hole(3), math.NaN()},
		{"a fast hole", hole(0.6), math.NaN()},
		{"let out at a twentieth", vented(exponential(4), 12), 12},
		{"let out at a tenth", vented(hole(4), 5.5), 5.5},
	} {
		at, found := lateVent(decaying(16, c.delta))
		if math.IsNaN(c.at) {
			assert.False(t, found, "%s: at %g s", c.name, at)
			continue
		}
		if assert.True(t, found, c.name) {
			assert.LessOrEqual(t, at, c.at+0.05, c.name)
			assert.Greater(t, at, c.at-0.4, c.name)
		}
	}
}

func TestStretchesDoNotShareTheirGaps(t *testing.T) {
	whole := stretch{without: make([]gap, 0, 4)}
	one, other := whole.leaving(gap{1, 2}), whole.leaving(gap{5, 6})
	assert.False(t, one.has(1.5))
	assert.True(t, one.has(5.5))
	assert.False(t, other.has(5.5))
	assert.True(t, whole.has(1.5))
}

func reading(t, pressure float64) trace.Reading {
	return trace.Reading{T: time.Duration(t * float64(time.Second)), Pressure: pressure, Celsius: math.NaN()}
}
