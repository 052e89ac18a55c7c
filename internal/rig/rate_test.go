package rig_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/air"
	"boretight/internal/rig"
)

func TestWhatHoldsShareIsNotAveragedAway(t *testing.T) {
	t.Parallel()
	mean, doubts, err := rig.MeanRate([]rig.Rate{
		{Value: 10, Own: 0.3, Shared: 0.2, Span: 0.004},
		{Value: 10.1, Own: 0.3, Shared: 0.2, Span: 0.004},
		{Value: 9.9, Own: 0.3, Shared: 0.2, Span: 0.004},
	})
	require.NoError(t, err)
	assert.InDelta(t, 10, mean.Value, 1e-12)
	assert.InEpsilon(t, 0.3/math.Sqrt(3), mean.Own, 1e-12)
	assert.InEpsilon(t, 0.2, mean.Shared, 1e-12)
	assert.InEpsilon(t, 0.004, mean.Span, 1e-12)
	assert.InEpsilon(t, math.Hypot(0.3/math.Sqrt(3), 0.2), mean.Measured().U, 1e-12)
	assert.Empty(t, doubts)
}

func TestHoldsThatScatterMoreThanTheyStateCountByTheirScatter(t *testing.T) {
	t.Parallel()
	mean, doubts, err := rig.MeanRate([]rig.Rate{{Value: 9, Own: 0.1, Shared: 0.1}, {Value: 10, Own: 0.1, Shared: 0.1}, {Value: 11, Own: 0.1, Shared: 0.1}})
	require.NoError(t, err)
	assert.InEpsilon(t, 1/math.Sqrt(3), mean.Own, 1e-12, "the standard deviation is 1")
	require.Len(t, doubts, 1)
	assert.Contains(t, doubts[0], "from 9 to 11 Pa/s")
}

func TestScatterThatAnotherDoubtExplainsIsNoAlarm(t *testing.T) {
	t.Parallel()
	mean, doubts, err := rig.MeanRate([]rig.Rate{{Value: 51.5, Own: 0.01, Shared: 0.4}, {Value: 51.63, Own: 0.01, Shared: 0.3}})
	require.NoError(t, err)
	assert.InEpsilon(t, 0.065, mean.Own, 1e-6)
	assert.Empty(t, doubts)
}

func TestAMeanOfNothingIsRefused(t *testing.T) {
	t.Parallel()
	_, _, err := rig.MeanRate(nil)
	require.ErrorContains(t, err, "no hold at all")
	_, _, err = rig.MeanRate([]rig.Rate{{Value: math.NaN()}})
	require.ErrorContains(t, err, "hold 1 is not a number")
}

func TestALeakageRateCountsEachVolumeOnce(t *testing.T) {
	t.Parallel()
	q := rig.LeakageRate(rig.Rate{Value: 50, Own: 0.3, Shared: 0.4, Span: 0.01},
		rig.Enclosed{Body: rig.Measured{Value: 50e-6, U: 0.5e-6}, Rig: rig.Measured{Value: 8e-6, U: 0.1e-6}, Dead: rig.Measured{Value: 0.3e-6}},
		rig.Measured{Value: 1e-4, U: 2e-6})
	assert.InEpsilon(t, 50*58.3e-6-1e-4, q.Value, 1e-12)
	without := math.Sqrt(math.Pow(0.5*58.3e-6, 2) + math.Pow(50*0.5e-6, 2) + math.Pow(50*0.1e-6, 2) + math.Pow(2e-6, 2))
	assert.InEpsilon(t, math.Hypot(without, 0.01*50*58.3e-6), q.U, 1e-9)
	assert.InEpsilon(t, without/q.Value, rig.OwnU(q), 1e-9)
}

// What is made of few holds that scatter must hold the truth as often as it says.
func TestFewHoldsThatScatterAreCoveredAllTheSame(t *testing.T) {
	t.Parallel()
	const series, truth, stated, scatter = 4000, 10.0, 0.1, 0.5
	volume := rig.Measured{Value: 8e-6}
	made := map[string]struct {
		of   func(rig.Rate) (rig.Result, error)
		true float64
	}{
		"blank": {func(r rig.Rate) (rig.Result, error) {
			b, err := rig.NewBlank(thisRig, air.Suction, 2500, r, volume)
			return b.LeakRate, err
		}, truth * volume.Value},
		"leakage rate": {func(r rig.Rate) (rig.Result, error) {
			return rig.LeakageRate(r, rig.Enclosed{Rig: volume}, rig.Measured{}), nil
		}, truth * volume.Value},
	}
	for name, c := range made {
		for _, holds := range []int{2, 3, 5} {
			random := rand.New(rand.NewPCG(7, uint64(holds)))
			covered, bare := 0, 0
			for range series {
				rates := make([]rig.Rate, holds)
				for i := range rates {
					rates[i] = rig.Rate{Value: truth + scatter*random.NormFloat64(), Own: stated}
				}
				mean, _, err := rig.MeanRate(rates)
				require.NoError(t, err)
				q, err := c.of(mean)
				require.NoError(t, err)
				if low, high := q.Interval(); low <= c.true && c.true <= high {
					covered++
				}
				if math.Abs(q.Value-c.true) <= 1.96*q.U {
					bare++
				}
				if mean.Dof > 0 {
					low, high := q.Interval()
					require.InEpsilon(t, (high-low)/2/1.959964, q.Standard().U, 1e-6)
				}
			}
			t.Logf("%s of %d holds: %.3f, without degrees of freedom %.3f", name, holds, float64(covered)/series, float64(bare)/series)
			least := map[int]float64{2: 0.875, 3: 0.93, 5: 0.94}[holds] // two may lie close by chance
			assert.Greater(t, float64(covered)/series, least, "%s of %d holds", name, holds)
			assert.Less(t, float64(covered)/series, 0.965)
			assert.Less(t, float64(bare)/series, least-0.05)
		}
	}
}

// Of an added leak both rates are measured, and the volume is known to no more degrees of
// freedom than they.
func TestAnAddedLeakOfFewHoldsIsKnownLessWell(t *testing.T) {
	t.Parallel()
	many := addedNeedle(50e-6, 1e-6)
	many.With.Own, many.Without.Own = 1, 1
	few := many
	few.With.Dof, few.Without.Dof = 2, 2
	a, err := many.Volume()
	require.NoError(t, err)
	b, err := few.Volume()
	require.NoError(t, err)
	assert.Zero(t, a.Dof)
	assert.Positive(t, b.Dof)
	assert.Greater(t, b.Standard().U, a.Standard().U)
}
