package rig_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

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
