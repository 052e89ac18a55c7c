package rig_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/rig"
)

// JCGM 100:2008, H.1.7: products of two uncertain temperatures and coefficients, of
// which neither contributes to first order, bring the 32 nm of the end gauge to 34. A
// budget of first order leaves them out, draws do not.
func TestDrawsSeeWhatTheEndGaugesBudgetLeavesOut(t *testing.T) {
	const length, expansion = 50_000_623.0, 11.5e-6
	gauge := func(x []float64) float64 {
		difference, coefficient, coefficientOff, bed, bedOff := x[1], x[2], x[3], x[4], x[5]
		return x[0] + difference - x[0]*(coefficientOff*bed+coefficient*bedOff)
	}
	inputs := []rig.Measured{
		{Value: length, U: 25}, {Value: 215, U: 9.7}, {Value: expansion, U: 1.2e-6},
		{Value: 0, U: 1e-6 / math.Sqrt(3)}, {Value: -0.1, U: 0.41}, {Value: 0, U: 0.05 / math.Sqrt(3)},
	}
	sources := make([]rig.Source, len(inputs))
	for i, in := range inputs {
		sources[i] = rig.Source{Value: in.Value, U: in.U}
	}
	_, u := monteCarlo(gauge, inputs)
	assert.InDelta(t, 34, u, 0.5, "as published")
	assert.InDelta(t, math.Sqrt(31.66*31.66+11.7*11.7+1.7*1.7), u, 0.5, "the two products published as 11.7 and 1.7 nm")
	assert.InDelta(t, 32, rig.Propagate(gauge, sources...).U, 0.5, "as published, to first order")
}
