package trial_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"boretight/internal/decay"
	"boretight/internal/trial"
)

// spread draws a model many times (JCGM 101:2008, 7) and returns its standard
// deviation and its central 95 % interval.
func spread(r *rand.Rand, model func(*rand.Rand) float64) (u, low, high float64) {
	const draws = 100_000
	x := make([]float64, draws)
	for i := range x {
		x[i] = model(r)
	}
	slices.Sort(x)
	return stat.StdDev(x, nil), x[draws*25/1000], x[draws*975/1000]
}

func TestDrawsGiveTheAdditiveModelsOfTheSupplement(t *testing.T) {
	// JCGM 101:2008, 9.2: Y = X1 + X2 + X3 + X4 and its 95 % interval.
	rectangular := func(r *rand.Rand, u float64) float64 { return u * math.Sqrt(3) * (2*r.Float64() - 1) }
	for _, c := range []struct {
		name            string
		model           func(*rand.Rand) float64
		u, high, framed float64
	}{
		{"9.2.2, four normals", func(r *rand.Rand) float64 {
			return r.NormFloat64() + r.NormFloat64() + r.NormFloat64() + r.NormFloat64()
		}, 2.00, 3.92, 3.92},
		{"9.2.3, four rectangulars", func(r *rand.Rand) float64 {
			return rectangular(r, 1) + rectangular(r, 1) + rectangular(r, 1) + rectangular(r, 1)
		}, 2.00, 3.88, 3.92},
		{"9.2.4, one of them ten times wider", func(r *rand.Rand) float64 {
			return rectangular(r, 1) + rectangular(r, 1) + rectangular(r, 1) + rectangular(r, 10)
		}, 10.1, 17.0, 19.9},
	} {
		u, low, high := spread(rand.New(rand.NewPCG(1, 1)), c.model)
		assert.InEpsilon(t, c.u, u, 0.01, c.name)
		assert.InEpsilon(t, c.high, high, 0.01, c.name)
		assert.InEpsilon(t, -c.high, low, 0.01, c.name)
		wide := 1.0
		if c.u > 10 {
			wide = 10
		}
		framed, _ := trial.WelchSatterthwaite([]trial.Line{of(1, 0), of(1, 0), of(1, 0), of(wide, 0)})
		assert.InEpsilon(t, c.framed, 1.959964*framed, 0.005, "%s, as this package adds up", c.name)
	}
}

// volume, rig, span and noise of the trials that are drawn below; in Pa·m³/s where not relative.
const (
	volumeU, spanU, rigU, noiseU = 0.02, 0.01, 2e-5, 6e-5
	rigRate                      = 1e-4
)

// budgeted is a hold of a joint with its budget, as a fit would give it.
func budgeted(rate float64) trial.Outcome {
	total := rate + rigRate
	o := stated(rate, noiseU, 0, many, 0)
	o.Budget = []decay.Contribution{
		{Source: "noise", U: noiseU}, {Source: "volume", U: volumeU * total}, {Source: "span", U: spanU * total}, {Source: "rig", U: rigU},
	}
	return o
}

// draw is what a trial of three holds of a joint gives when volume, span and rig err so.
func draw(r *rand.Rand, rate, volume, span, rig float64) float64 {
	sum := 0.0
	for range 3 {
		sum += (1+volume)*(1+span)*(rate+rigRate+noiseU*r.NormFloat64()) - (rigRate + rig)
	}
	return sum / 3
}

func TestTheBudgetOfATrialIsWhatDrawsGive(t *testing.T) {
	u, low, high := spread(rand.New(rand.NewPCG(2, 2)), func(r *rand.Rand) float64 {
		return draw(r, 3e-3, volumeU*r.NormFloat64(), spanU*r.NormFloat64(), rigU*r.NormFloat64())
	})
	o := budgeted(3e-3)
	c := combine([]trial.Outcome{o, o, o}, 0)
	require.Len(t, c.Budget, 4)
	assert.InEpsilon(t, u, c.LeakRate.U, 0.01)
	assert.InDelta(t, low, c.LeakRate.Low, 0.04*u)
	assert.InDelta(t, high, c.LeakRate.High, 0.04*u)
}

func TestTheIntervalOfARatioIsWhatDrawsGive(t *testing.T) {
	const found, left = 3e-3, 5e-4
	_, low, high := spread(rand.New(rand.NewPCG(3, 3)), func(r *rand.Rand) float64 {
		volume, span, rig := volumeU*r.NormFloat64(), spanU*r.NormFloat64(), rigU*r.NormFloat64()
		return draw(r, found, volume, span, rig) / draw(r, left, volume, span, rig)
	})
	of := func(rate float64) trial.Trial {
		o := budgeted(rate)
		return combine([]trial.Outcome{o, o, o}, 0)
	}
	c, err := trial.Compare(of(found), of(left), trial.SameBench())
	require.NoError(t, err)
	assert.InDelta(t, low, c.Ratio.Low, 0.05*(high-low))
	assert.InDelta(t, high, *c.Ratio.High, 0.05*(high-low))
}
