package rig_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/rig"
)

// steps are tight steps whose pressure after was read off by so many Pa, each known to 3 Pa.
func steps(t *testing.T, off ...float64) []rig.Volume {
	t.Helper()
	var all []rig.Volume
	for _, o := range off {
		s := tightStep()
		s.After.Pressure.Value += o
		s.After.Pressure.U = 3
		v, err := s.Volume()
		require.NoError(t, err)
		all = append(all, v)
	}
	return all
}

// line is one line of a budget, 0 when it is not there.
func line(r rig.Result, source string) float64 {
	for _, b := range r.Budget {
		if b.Source == source {
			return b.U
		}
	}
	return 0
}

func TestMeanOfStepsKeepsWhatTheyShare(t *testing.T) {
	one := steps(t, 0)
	four := steps(t, 0, 0, 0, 0)
	a, err := rig.MeanVolume(one)
	require.NoError(t, err)
	b, err := rig.MeanVolume(four)
	require.NoError(t, err)
	assert.InEpsilon(t, one[0].Value, a.Value, 1e-12)
	assert.InEpsilon(t, one[0].U, a.U, 1e-9, "one step is what it was")
	assert.InEpsilon(t, line(a.Result, "repeatability")/2, line(b.Result, "repeatability"), 1e-9, "four halve what is their own")
	assert.InEpsilon(t, line(a.Result, "syringe"), line(b.Result, "syringe"), 1e-9, "and nothing else")
	assert.Empty(t, b.Doubts)
}

func TestScatterOfStepsCounts(t *testing.T) {
	v, err := rig.MeanVolume(steps(t, -30, 0, 30))
	require.NoError(t, err)
	assert.NotEmpty(t, v.Doubts)
	// dV/dp of 40 ml at a step of 2471 Pa is 41·40/40/2471 ml/Pa; s of −30, 0, 30 is 30.
	assert.InEpsilon(t, 30*41e-6/2471.3/math.Sqrt(3), line(v.Result, "repeatability"), 0.02)
	assert.Positive(t, v.Dof)
}

func TestMeanOfNoStepsIsRefused(t *testing.T) {
	_, err := rig.MeanVolume(nil)
	require.ErrorContains(t, err, "no syringe step")
	mixed := append(steps(t, 0), rig.Volume{Method: rig.ByBore})
	_, err = rig.MeanVolume(mixed)
	require.ErrorContains(t, err, "template's bore")
}
