package decay

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// strd is a dataset of NIST's Statistical Reference Datasets (StRD, nonlinear
// regression; public data of the US government), as testdata/nist-strd has it.
type strd struct {
	x, y      []float64
	starts    [2][]float64
	certified []float64
	sd        []float64 // certified standard deviations of the parameters
	rss       float64
}

// readSTRD reads testdata/nist-strd/name.csv: parameters and the certified sum of
// squares in # lines, then x,y.
func readSTRD(t *testing.T, name string) (d strd) {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("testdata", "nist-strd", name+".csv"))
	require.NoError(t, err)
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		return v
	}
	for line := range strings.Lines(string(raw)) {
		if !strings.HasPrefix(line, "# param:") && !strings.HasPrefix(line, "# certified:") {
			continue
		}
		for _, field := range strings.Fields(line) {
			key, value, _ := strings.Cut(field, "=")
			switch key {
			case "start1":
				d.starts[0] = append(d.starts[0], number(value))
			case "start2":
				d.starts[1] = append(d.starts[1], number(value))
			case "certified":
				d.certified = append(d.certified, number(value))
			case "sd":
				d.sd = append(d.sd, number(value))
			case "rss":
				d.rss = number(value)
			}
		}
	}
	r := csv.NewReader(strings.NewReader(string(raw)))
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	for _, row := range rows[1:] {
		d.x, d.y = append(d.x, number(row[0])), append(d.y, number(row[1]))
	}
	require.NotEmpty(t, d.x)
	require.Len(t, d.starts[0], len(d.certified))
	require.Len(t, d.starts[1], len(d.certified))
	require.Len(t, d.sd, len(d.certified))
	require.Positive(t, d.rss)
	return d
}

// problem makes the sum of squares of a model that returns its value at x and puts
// the derivatives in g.
func (d strd) problem(f func(b []float64, x float64, g []float64) float64) problem {
	cols := len(d.certified)
	return problem{rows: len(d.x), cols: cols, eval: func(p, r, jac []float64) bool {
		g := make([]float64, cols)
		for i, x := range d.x {
			r[i] = f(p, x, g) - d.y[i]
			if jac != nil {
				copy(jac[i*cols:], g)
			}
		}
		return true
	}}
}

// digits is NIST's LRE: -log₁₀ of the relative error, of the worst value.
func digits(got, certified []float64) float64 {
	worst := 15.0
	for j, c := range certified {
		worst = min(worst, -math.Log10(math.Abs(got[j]/c-1)))
	}
	return worst
}

// deviations returns the standard deviations of the parameters that a solution stands
// for, the noise taken from what is left over.
func (d strd) deviations(t *testing.T, s solution) []float64 {
	t.Helper()
	n, m := len(d.x), len(d.certified)
	g, ok := atMinimum(s, n, m)
	require.True(t, ok, "the Jacobian is singular")
	out := make([]float64, m)
	for j := range out {
		out[j] = math.Sqrt(g.cov[j*m+j] * s.sum / float64(n-m))
	}
	return out
}

// The models of the datasets, with their derivatives.

func risingExponential(b []float64, x float64, g []float64) float64 {
	e := math.Exp(-b[1] * x)
	g[0], g[1] = 1-e, b[0]*x*e
	return b[0] * (1 - e)
}

func misra1b(b []float64, x float64, g []float64) float64 {
	u := 1 + b[1]*x/2
	g[0], g[1] = 1-1/(u*u), b[0]*x/(u*u*u)
	return b[0] * (1 - 1/(u*u))
}

func misra1c(b []float64, x float64, g []float64) float64 {
	u := 1 + 2*b[1]*x
	g[0], g[1] = 1-1/math.Sqrt(u), b[0]*x/(u*math.Sqrt(u))
	return b[0] * (1 - 1/math.Sqrt(u))
}

func misra1d(b []float64, x float64, g []float64) float64 {
	u := 1 + b[1]*x
	g[0], g[1] = b[1]*x/u, b[0]*x/(u*u)
	return b[0] * b[1] * x / u
}

func offsetAndTwoDecays(b []float64, x float64, g []float64) float64 {
	e4, e5 := math.Exp(-x*b[3]), math.Exp(-x*b[4])
	g[0], g[1], g[2], g[3], g[4] = 1, e4, e5, -x*b[1]*e4, -x*b[2]*e5
	return b[0] + b[1]*e4 + b[2]*e5
}

func threeDecays(b []float64, x float64, g []float64) float64 {
	var v float64
	for j := 0; j < 6; j += 2 {
		e := math.Exp(-b[j+1] * x)
		g[j], g[j+1] = e, -x*b[j]*e
		v += b[j] * e
	}
	return v
}

func chwirut(b []float64, x float64, g []float64) float64 {
	u := b[1] + b[2]*x
	v := math.Exp(-b[0]*x) / u
	g[0], g[1], g[2] = -x*v, -v/u, -x*v/u
	return v
}

func power(b []float64, x float64, g []float64) float64 {
	v := math.Pow(x, b[1])
	g[0], g[1] = v, b[0]*v*math.Log(x)
	return b[0] * v
}

func lineAndArctangent(b []float64, x float64, g []float64) float64 {
	u := x - b[3]
	k := 1 / (math.Pi * (u*u + b[2]*b[2]))
	g[0], g[1], g[2], g[3] = 1, -x, -k*u, -k*b[2]
	return b[0] - b[1]*x - math.Atan(b[2]/u)/math.Pi
}
