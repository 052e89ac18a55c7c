package air_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/diff/fd"

	"boretight/internal/air"
)

var signs = []air.Sign{air.Suction, air.Pressure}

func law(sign air.Sign, share float64) air.Law {
	return air.Law{Sign: sign, At: 2500, Ambient: ambient, Inertial: share}
}

func TestLawIsOneAtItsStatedDifference(t *testing.T) {
	for _, sign := range signs {
		for _, share := range []float64{0, 1e-9, 0.05, 0.5, 1} {
			assert.InDelta(t, 1, law(sign, share).Ratio(2500), 1e-15, "%s, share %g", sign, share)
		}
	}
}

func TestLawWithoutInertiaIsTheLawInSquares(t *testing.T) {
	path := air.Tube(0.2e-3, 20e-3, roomMu)
	for _, sign := range signs {
		at := air.Conditions{Sign: sign, Difference: 2500, Ambient: ambient}
		for _, x := range []float64{1, 500, 2500, 6000} {
			now := at
			now.Difference = x
			assert.InEpsilon(t, path.Throughput(now)/path.Throughput(at), law(sign, 0).Ratio(x), 1e-13, "%s, %g Pa", sign, x)
		}
	}
}

func TestLawOfPureInertiaIsAHole(t *testing.T) {
	for _, sign := range signs {
		hole := func(x float64) float64 {
			bore := ambient + float64(sign)*x
			return math.Abs(air.Orifice(1e-8, 0.6, max(bore, ambient), min(bore, ambient), roomT))
		}
		for _, x := range []float64{1, 100, 1000, 2500, 4000, 6000} {
			// Second order is left out: (6 kPa / p_a)² is 0.4 %.
			assert.InEpsilon(t, hole(x)/hole(2500), law(sign, 1).Ratio(x), 1e-3, "%s, %g Pa", sign, x)
		}
	}
}

// The defining equation, checked by putting the result back into it.
func TestLawSolvesItsEquation(t *testing.T) {
	for _, sign := range signs {
		for _, s := range []float64{0, 1e-300, 1e-12, 1e-4, 0.3, 0.999, 1} {
			l := law(sign, s)
			kappa := map[air.Sign]float64{air.Suction: 0.5, air.Pressure: -0.5}[sign] + 0.57*s
			drive := func(x float64) float64 { return x * (1 - kappa*x/ambient) }
			for _, x := range []float64{1e-6, 1, 300, 2500, 7000} {
				y := l.Ratio(x)
				assert.InEpsilon(t, drive(x)/drive(2500), (1-s)*y+s*y*y, 1e-13, "%s, share %g, %g Pa", sign, s, x)
			}
		}
	}
}

func TestLawLosesNoDigitsAsInertiaVanishes(t *testing.T) {
	for _, s := range []float64{1e-17, 1e-14, 1e-11, 1e-8} {
		// To first order dy/ds is at most 1 here, so the difference is at most s.
		assert.InDelta(t, law(air.Suction, 0).Ratio(1000), law(air.Suction, s).Ratio(1000), s+1e-16)
	}
}

func TestLawIsOdd(t *testing.T) {
	for _, sign := range signs {
		l := law(sign, 0.4)
		y, byX, byS := l.Derivatives(1200)
		back, backX, backS := l.Derivatives(-1200)
		assert.Equal(t, -y, back)
		assert.Equal(t, byX, backX, "the slope of an odd function is even")
		assert.Equal(t, -byS, backS)
		assert.Equal(t, -y, l.Ratio(-1200))
	}
}

func TestLawDerivativesAgreeWithFiniteDifferences(t *testing.T) {
	central := &fd.Settings{Formula: fd.Central}
	for _, sign := range signs {
		for _, share := range []float64{0, 1e-6, 0.05, 0.3, 0.7, 1} {
			for _, x := range []float64{-3000, -20, 20, 700, 2500, 6000, 60000} {
				t.Run(fmt.Sprintf("%s, share %g, %g Pa", sign, share, x), func(t *testing.T) {
					l := law(sign, share)
					y, byX, byS := l.Derivatives(x)
					assert.Equal(t, l.Ratio(x), y)
					// Steps of 1e-6 leave about 1e-9 of rounding and 1e-12 of curvature.
					wantX := fd.Derivative(func(u float64) float64 { return l.Ratio(u * 1000) }, x/1000, central) / 1000
					assert.InDelta(t, wantX*2500, byX*2500, 2e-7*math.Max(1, math.Abs(wantX*2500)))
					wantS := fd.Derivative(func(s float64) float64 { return law(sign, s).Ratio(x) }, share, central)
					assert.InDelta(t, wantS, byS, 2e-7*math.Max(1, math.Abs(wantS)))
				})
			}
		}
	}
}

func TestLawAtRest(t *testing.T) {
	y, byX, byS := law(air.Suction, 0.2).Derivatives(0)
	assert.Zero(t, y)
	assert.Positive(t, byX)
	assert.False(t, math.IsInf(byX, 0))
	assert.Zero(t, byS)
	y, byX, byS = law(air.Suction, 1).Derivatives(0)
	assert.Zero(t, y)
	assert.True(t, math.IsInf(byX, 1), "a hole's square root rises straight up")
	assert.Zero(t, byS)
}

func TestLawStaysAtItsPeak(t *testing.T) {
	l := law(air.Suction, 1) // peak at p_a/(2·1.07)
	peak := ambient / (2 * 1.07)
	y, byX, _ := l.Derivatives(0.99 * ambient)
	assert.Equal(t, l.Ratio(peak*(1+1e-9)), y)
	assert.Zero(t, byX)
	assert.Greater(t, y, l.Ratio(0.9*peak))
	// A real hole chokes at a ratio of 0.528, so a difference of 0.472·p_a.
	assert.InDelta(t, 1-air.CriticalRatio(), peak/ambient, 0.01)
}
