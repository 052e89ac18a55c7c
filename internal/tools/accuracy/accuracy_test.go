package main

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/sim"
)

// Twelve holds say little of the estimator: its tables come from hundreds. Here only
// what cannot be otherwise for this seed is asked for, and the figures are printed.
func TestASmallTableOfAPlainFamily(t *testing.T) {
	f, err := sim.FamilyNamed("small-laminar")
	require.NoError(t, err)
	o := options{n: 12, seed: 1, volumeU: 0.01}
	rows := run(f, o)
	require.Len(t, rows, o.n)
	inside := 0
	var errs []float64
	for i, m := range rows {
		require.True(t, m.found, "hold %d: %v", i, m.result.Notes)
		assert.Equal(t, i, m.index)
		assert.Less(t, math.Abs(m.isolation), 0.1, "isolation of hold %d is found to within 100 ms", i)
		errs = append(errs, 100*math.Abs(m.err()))
		if m.holds(stated) {
			inside++
		}
	}
	median := quantile(errs, 0.5)
	t.Logf("%d of %d intervals held the truth; median error %.2f %%", inside, o.n, median)
	t.Log(rows.row(f.Name))
	// A 95 % interval holds 8 or fewer of 12 with probability 0.002.
	assert.GreaterOrEqual(t, inside, 9)
	assert.Less(t, median, 5.0)

	for _, m := range rows {
		low, high := interval(*m.result.LeakRate, m.result.Dof, stated)
		assert.InEpsilon(t, m.result.LeakRate.Low, low, 1e-9, "the result's own interval")
		assert.InEpsilon(t, m.result.LeakRate.High, high, 1e-9)
	}

	again := run(f, o)
	for i := range rows {
		assert.InDelta(t, rows[i].result.LeakRate.Value, again[i].result.LeakRate.Value, 0, "equal seeds give equal tables: hold %d", i)
	}
}

func TestQuantileAndMoments(t *testing.T) {
	v := []float64{5, 1, 4, 2, 3}
	assert.InDelta(t, 3, quantile(v, 0.5), 0)
	assert.InDelta(t, 1, quantile(v, 0), 0)
	assert.InDelta(t, 5, quantile(v, 1), 0)
	assert.Equal(t, []float64{5, 1, 4, 2, 3}, v, "the argument is left alone")
	mean, sd := moments(v)
	assert.InDelta(t, 3, mean, 1e-12)
	assert.InDelta(t, math.Sqrt(2.5), sd, 1e-12)
}

func TestFactorsAreThoseOfTheTables(t *testing.T) {
	// JCGM 100:2008, table G.2: 95 % and 68.27 %.
	for dof, k := range map[float64][2]float64{1: {12.71, 1.84}, 2: {4.30, 1.32}, 5: {2.57, 1.11}, 10: {2.23, 1.05}, 50: {2.01, 1.01}, math.Inf(1): {1.960, 1.000}} {
		assert.InDelta(t, k[0], factor(dof, stated), 5e-3, "ν = %g", dof)
		assert.InDelta(t, k[1], factor(dof, narrow), 5e-3, "ν = %g", dof)
	}
}
