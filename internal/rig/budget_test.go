package rig_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"boretight/internal/rig"
)

// JCGM 100:2008, H.1: calibration of an end gauge, in nm. The model is H.3 there; the
// temperature of the test bed lies 0.1 °C below 20 °C, the difference of the expansion
// coefficients is zero but not known better than ±1e-6.
func TestEndGaugeOfTheGUM(t *testing.T) {
	const standard, expansion = 50_000_623.0, 11.5e-6
	r := rig.Propagate(func(x []float64) float64 {
		length, repeat, random, systematic := x[0], x[1], x[2], x[3]
		expansionOff, bed, temperatureOff := x[4], x[5], x[6]
		return length + repeat + random + systematic - length*(expansionOff*bed+expansion*temperatureOff)
	},
		rig.Source{Name: "standard", Value: standard, U: 25, Dof: 18},
		rig.Source{Name: "repeat", Value: 215, U: 5.8, Dof: 24},
		rig.Source{Name: "random", U: 3.9, Dof: 5},
		rig.Source{Name: "systematic", U: 6.7, Dof: 8},
		rig.Source{Name: "expansion", Value: 0, U: 1e-6 / math.Sqrt(3), Dof: 50},
		rig.Source{Name: "bed", Value: -0.1, U: 0.41},
		rig.Source{Name: "temperature", Value: 0, U: 0.05 / math.Sqrt(3), Dof: 2},
	)
	assert.InDelta(t, 50_000_838, r.Value, 1e-3)
	assert.InDelta(t, 32, r.U, 0.5, "as published")
	assert.InDelta(t, 31.664, r.U, 5e-3)
	assert.InDelta(t, 16.75, r.Dof, 0.02, "truncated to 16 as published")
	want := map[string]float64{"standard": 25, "repeat": 5.8, "random": 3.9, "systematic": 6.7, "expansion": 2.88675, "temperature": 16.599}
	require.Len(t, r.Budget, len(want), "the bed's own temperature does not matter to first order")
	for _, line := range r.Budget {
		assert.InDelta(t, want[line.Source], line.U, 1e-3, line.Source)
	}
	assert.Equal(t, "standard", r.Budget[0].Source, "largest first")
}

// JCGM 100:2008, G.4.1, example: three factors with few degrees of freedom.
func TestProductOfTheGUM(t *testing.T) {
	r := rig.Propagate(func(x []float64) float64 { return x[0] * x[1] * x[2] },
		rig.Source{Name: "1", Value: 1, U: 0.0025, Dof: 9},
		rig.Source{Name: "2", Value: 1, U: 0.0057, Dof: 4},
		rig.Source{Name: "3", Value: 1, U: 0.0082, Dof: 14},
	)
	assert.InDelta(t, 0.0103, r.U, 5e-5)
	assert.InDelta(t, 19.0, r.Dof, 0.05)
	low, high := r.Interval()
	assert.InDelta(t, 0.022, (high-low)/2, 5e-4)
}

// JCGM 101:2008, 9.2.2: four normal inputs.
func TestSumOfFourNormals(t *testing.T) {
	sources := make([]rig.Source, 4)
	for i := range sources {
		sources[i] = rig.Source{U: 1}
	}
	r := rig.Propagate(func(x []float64) float64 { return x[0] + x[1] + x[2] + x[3] }, sources...)
	assert.InDelta(t, 2.00, r.U, 1e-12)
	low, high := r.Interval()
	assert.InDelta(t, -3.92, low, 5e-3)
	assert.InDelta(t, 3.92, high, 5e-3)
}

func TestBudgetAddsUpInSquares(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var sources []rig.Source
		for range rapid.IntRange(1, 8).Draw(t, "inputs") {
			sources = append(sources, rig.Source{
				Value: rapid.Float64Range(0.5, 2).Draw(t, "value"), U: rapid.Float64Range(0, 0.1).Draw(t, "u"),
				Dof: rapid.Float64Range(1, 40).Draw(t, "dof"),
			})
		}
		r := rig.Propagate(func(x []float64) float64 {
			product := 1.0
			for _, v := range x {
				product *= v
			}
			return product
		}, sources...)
		var squares float64
		for i, line := range r.Budget {
			squares += line.U * line.U
			assert.InEpsilon(t, line.U, line.URelative*r.Value, 1e-12)
			if i > 0 {
				assert.LessOrEqual(t, line.U, r.Budget[i-1].U)
			}
		}
		assert.InDelta(t, r.U, math.Sqrt(squares), 1e-12)
		if r.U > 0 {
			assert.GreaterOrEqual(t, r.Dof, 0.99, "never fewer than the worst input's")
		}
	})
}

// Table G.2 of JCGM 100:2008, 95 %.
func TestIntervalWidensWithFewDegreesOfFreedom(t *testing.T) {
	for dof, want := range map[float64]float64{1: 12.706, 2: 4.303, 5: 2.571, 9: 2.262, 16: 2.120, 50: 2.009, 0: 1.960} {
		low, high := rig.Result{Measured: rig.Measured{U: 1}, Dof: dof}.Interval()
		assert.InDelta(t, want, high, 6e-4, "%g", dof)
		assert.InDelta(t, -high, low, 1e-12)
	}
}
