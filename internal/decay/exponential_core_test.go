package decay

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// withOffset is b₀·exp(−b₁·x) + b₂.
func withOffset(b []float64, x float64, g []float64) float64 {
	e := math.Exp(-b[1] * x)
	g[0], g[1], g[2] = e, -b[0]*x*e, 1
	return b[0]*e + b[2]
}

func TestExponentialAgreesWithTheLeastSquaresCore(t *testing.T) {
	data := map[string]strd{}
	for _, name := range []string{"Misra1a", "BoxBOD"} { // without the tie between offset and fall
		data[name] = readSTRD(t, name)
	}
	r := rand.New(rand.NewPCG(4, 4))
	for name, n := range map[string]int{"noise, few": 200, "noise, many": 3000} {
		var d strd
		for range n {
			d.x = append(d.x, 12*r.Float64())
		}
		slices.Sort(d.x)
		for _, x := range d.x {
			d.y = append(d.y, 2500*math.Exp(-0.25*x)+15+10*r.NormFloat64())
		}
		data[name] = d
	}
	for name, d := range data {
		t.Run(name, func(t *testing.T) {
			e := FitExponential(d.x, d.y, 0)
			require.Equal(t, Settled, e.Ending)
			d.certified = make([]float64, 3) // for their number
			pr := d.problem(withOffset)
			first := d.x[0]
			s := minimise(pr, []float64{1.01 * e.A * math.Exp(e.K*first), 0.98 * e.K, e.C})
			require.Equal(t, stopConverged, s.stop)
			sd := d.deviations(t, s)
			assert.InEpsilon(t, s.p[1], e.K, 1e-7)
			assert.InEpsilon(t, s.p[0]*math.Exp(-s.p[1]*first), e.A, 1e-7)
			assert.InEpsilon(t, s.p[2], e.C, 1e-7)
			assert.InEpsilon(t, s.sum, e.Sum, 1e-9)
			assert.InEpsilon(t, sd[1], e.UK, 1e-6)
			assert.InEpsilon(t, sd[2], e.UC, 1e-6)
		})
	}
}

// The certified curves of Misra1a and BoxBOD pass through nothing at 0: b₁(1 − exp(−b₂x)).
// A great many readings of nothing at 0 hold a curve with a free offset to that, as far as
// their number beside the others' allows.
func TestExponentialReachesTheCertifiedValuesOfNIST(t *testing.T) {
	const held = 1_000_000
	for _, name := range []string{"Misra1a", "BoxBOD"} {
		t.Run(name, func(t *testing.T) {
			d := readSTRD(t, name)
			x, y := append(make([]float64, held), d.x...), append(make([]float64, held), d.y...)
			e := FitExponential(x, y, 0)
			require.Equal(t, Settled, e.Ending)
			got := []float64{e.C, e.K}
			t.Logf("%.1f digits of the parameters", digits(got, d.certified))
			assert.GreaterOrEqual(t, digits(got, d.certified), 6.5)
			assert.InEpsilon(t, d.rss, e.Sum, 1e-5)
			assert.InDelta(t, -e.C, e.A, 1e-5*e.C)
		})
	}
}

// Slope and bend along ln K are checked against differences of the reduced sum, each of
// which is a fit of a straight line.
func TestReducedDerivativesAreThoseOfTheSum(t *testing.T) {
	x, y := []float64{0, 0.3, 1, 1.2, 2, 3.5, 5, 8}, []float64{9, 7, 5, 5.2, 3, 2.1, 1.9, 1}
	for _, c := range []course{{t: x, y: y}, {y: y, step: 0.7}} {
		half := func(lnK float64) float64 { return c.reduce(math.Exp(lnK), 0, 1, 0).least / 2 }
		for _, k := range []float64{0.1, 0.4, 2} {
			const h = 1e-3
			l := math.Log(k)
			q := c.reduce(k, 3, 2, 0.3)
			assert.InEpsilon(t, half(l), q.least/2, 1e-9)
			assert.InEpsilon(t, (half(l+h)-half(l-h))/(2*h), q.slope, 1e-5, "k %g", k)
			assert.InEpsilon(t, (half(l+h)-2*half(l)+half(l-h))/(h*h), q.bend, 1e-4, "k %g", k)
			up, down := c.reduce(k*math.Exp(h), 0, 1, 0), c.reduce(k*math.Exp(-h), 0, 1, 0)
			assert.InEpsilon(t, (up.a-down.a)/(2*h), q.aSlope, 1e-4)
			assert.InEpsilon(t, (up.level-up.a*up.meanE-down.level+down.a*down.meanE)/(2*h), q.cSlope, 1e-4)
		}
	}
}

// A run of two readings as far apart as a run may be asks most of its series.
func TestRunsAreExactToTheRounding(t *testing.T) {
	for _, k := range []float64{0.01, 1, 300} {
		apart := runSpan / k * (1 - 1e-12)
		for _, from := range []float64{0, 0.5 / k} {
			c := course{t: []float64{from, from + apart}, y: []float64{0, 0}}
			s := c.sum(curve{k: k, a: 1})
			want := math.Exp(-k*from) + math.Exp(-k*(from+apart))
			assert.InEpsilon(t, want, s.g, 5e-16, "k %g from %g", k, from)
			assert.InEpsilon(t, (from+apart)*math.Exp(-k*(from+apart))+from*math.Exp(-k*from), s.d, 5e-16)
		}
	}
}
