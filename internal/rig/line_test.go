package rig_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"boretight/internal/rig"
)

// JCGM 100:2008, H.3: calibration of a thermometer; table H.6.
var (
	thermometerT = []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	thermometerB = []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160}
	thermometerL = []float64{-0.1679, -0.1668, -0.1657, -0.1646, -0.1635, -0.1625, -0.1614, -0.1603, -0.1592, -0.1581, -0.1570}
)

func TestThermometerOfTheGUM(t *testing.T) {
	l, err := rig.FitLine(thermometerT, thermometerB, nil, 20)
	require.NoError(t, err)

	// Half a digit of what is published.
	assert.InDelta(t, -0.1712, l.Intercept, 5e-5)
	assert.InDelta(t, 0.0029, math.Sqrt(l.Covariance.Intercept), 5e-5)
	assert.InDelta(t, 0.00218, l.Slope, 5e-6)
	assert.InDelta(t, 0.00067, math.Sqrt(l.Covariance.Slope), 5e-6)
	assert.InDelta(t, -0.930, l.Correlation(), 5e-4)
	assert.InDelta(t, 0.0035, l.Residual, 5e-5)
	assert.Equal(t, 9.0, l.Dof)
	for i, want := range thermometerL {
		assert.InDelta(t, want, l.Value(thermometerT[i]), 5.1e-5, "b(%g °C)", thermometerT[i])
	}
	at30 := l.At(30)
	assert.InDelta(t, -0.1494, at30.Value, 5e-5)
	assert.InDelta(t, 0.0041, at30.U, 5e-5)
	assert.Equal(t, 9.0, at30.Dof)

	// More digits of the same, computed apart from this program.
	assert.InDelta(t, -0.1712037901, l.Intercept, 1e-10)
	assert.InDelta(t, 0.0021826977, l.Slope, 1e-10)
	assert.InDelta(t, 0.0028776, math.Sqrt(l.Covariance.Intercept), 5e-8)
	assert.InDelta(t, 0.00066794, math.Sqrt(l.Covariance.Slope), 5e-9)
	assert.InDelta(t, -0.9304296, l.Correlation(), 5e-8)
	assert.InDelta(t, 0.00349756, l.Residual, 5e-9)
	assert.InDelta(t, 0.00413860, at30.U, 5e-9, "0.00727 would be without the correlation")
}

func TestThermometerAboutItsMeanHasNoCorrelation(t *testing.T) {
	mean := 0.0
	for _, x := range thermometerT {
		mean += x / float64(len(thermometerT))
	}
	l, err := rig.FitLine(thermometerT, thermometerB, nil, mean)
	require.NoError(t, err)
	assert.InDelta(t, -0.162454545, l.Intercept, 1e-9)
	assert.InDelta(t, 0.00105456, math.Sqrt(l.Covariance.Intercept), 5e-9)
	assert.InDelta(t, 0, l.Correlation(), 1e-9)
}

// NIST StRD Norris: certified values of a calibration line of an ozone monitor.
func TestNorrisLineOfNIST(t *testing.T) {
	x, y := norris(t)
	require.Len(t, x, 36)
	l, err := rig.FitLine(x, y, nil, 0)
	require.NoError(t, err)
	assert.InDelta(t, -0.262323073774029, l.Intercept, 1e-12)
	assert.InDelta(t, 1.00211681802045, l.Slope, 1e-13)
	assert.InDelta(t, 0.232818234301152, math.Sqrt(l.Covariance.Intercept), 1e-12)
	assert.InDelta(t, 0.429796848199937e-3, math.Sqrt(l.Covariance.Slope), 1e-15)
	assert.InDelta(t, 0.884796396144373, l.Residual, 1e-12)
	assert.InDelta(t, 26.6173985294224, l.Residual*l.Residual*l.Dof, 1e-10)
}

func norris(t *testing.T) (x, y []float64) {
	t.Helper()
	text, err := os.ReadFile("testdata/Norris.csv")
	require.NoError(t, err)
	r := csv.NewReader(strings.NewReader(string(text)))
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	for _, row := range rows[1:] {
		a, err := strconv.ParseFloat(strings.TrimSpace(row[0]), 64)
		require.NoError(t, err)
		b, err := strconv.ParseFloat(strings.TrimSpace(row[1]), 64)
		require.NoError(t, err)
		x, y = append(x, a), append(y, b)
	}
	return x, y
}

func TestLineDoesNotDependOnItsOrigin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 12).Draw(t, "points")
		var x, y, u []float64
		for i := range n {
			x = append(x, float64(i)*100+rapid.Float64Range(0, 50).Draw(t, "x"))
			y = append(y, rapid.Float64Range(-5, 5).Draw(t, "y"))
			u = append(u, rapid.Float64Range(0.1, 3).Draw(t, "u"))
		}
		near, err := rig.FitLine(x, y, u, 0)
		require.NoError(t, err)
		far, err := rig.FitLine(x, y, u, rapid.Float64Range(-3000, 3000).Draw(t, "origin"))
		require.NoError(t, err)
		at := rapid.Float64Range(-500, 2000).Draw(t, "at")
		assert.InDelta(t, near.At(at).Value, far.At(at).Value, 1e-9)
		assert.InEpsilon(t, near.At(at).U, far.At(at).U, 1e-6)
	})
}

func TestScatterBeyondWhatIsStatedCounts(t *testing.T) {
	x := []float64{0, 1, 2, 3, 4, 5}
	y := []float64{0.1, -0.1, 0.1, -0.1, 0.1, -0.1}
	plain, err := rig.FitLine(x, y, nil, 0)
	require.NoError(t, err)
	small, err := rig.FitLine(x, y, []float64{0.01, 0.01, 0.01, 0.01, 0.01, 0.01}, 0)
	require.NoError(t, err)
	assert.InEpsilon(t, plain.Covariance.Slope, small.Covariance.Slope, 1e-9, "stated too small: as if nothing were stated")
	assert.Greater(t, small.Birge, 10.0)
	large, err := rig.FitLine(x, y, []float64{1, 1, 1, 1, 1, 1}, 0)
	require.NoError(t, err)
	assert.InEpsilon(t, 1/17.5, large.Covariance.Slope, 1e-9, "1/Σ(x−x̄)² when what is stated is larger")
	assert.Zero(t, large.At(0).Dof)
}

func TestNoLineThroughTooLittle(t *testing.T) {
	_, err := rig.FitLine([]float64{1, 2}, []float64{1, 2}, nil, 0)
	require.Error(t, err)
	_, err = rig.FitLine([]float64{1, 1, 1}, []float64{1, 2, 3}, nil, 0)
	require.ErrorContains(t, err, "same x")
	_, err = rig.FitLine([]float64{1, 2, 3}, []float64{1, 2, math.NaN()}, nil, 0)
	require.Error(t, err)
}
