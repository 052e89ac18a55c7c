package rig_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/air"
	"boretight/internal/rig"
)

var (
	thisRig = rig.Identity{Gauge: "HX-0417", Hose: "clear 4 mm", Stoppers: "A", Valve: "1"}
	hose    = rig.Measured{Value: 8e-6, U: 0.2e-6}
)

func blank(t *testing.T, rate rig.Measured) rig.Blank {
	t.Helper()
	b, err := rig.NewBlank(thisRig, air.Suction, 2500, rig.Rate{Value: rate.Value, Own: rate.U, Span: 0.01}, hose)
	require.NoError(t, err)
	return b
}

func TestBlankIsRateTimesVolume(t *testing.T) {
	b := blank(t, rig.Measured{Value: 10, U: 0.5})
	assert.InEpsilon(t, 80e-6, b.LeakRate.Value, 1e-12)
	want := 80e-6 * math.Sqrt(0.05*0.05+0.01*0.01+0.025*0.025)
	assert.InEpsilon(t, want, b.LeakRate.U, 1e-9)
}

func TestBackgroundAtAnotherDifferenceIsDoubtedMore(t *testing.T) {
	b := blank(t, rig.Measured{Value: 10, U: 0.5})
	same, err := b.Background(air.Suction, 2500)
	require.NoError(t, err)
	assert.Equal(t, b.LeakRate.Measured, same)
	double, err := b.Background(air.Suction, 5000)
	require.NoError(t, err)
	assert.InEpsilon(t, 160e-6, double.Value, 1e-12)
	assert.Greater(t, double.Relative(), same.Relative()*2)
	_, err = b.Background(air.Pressure, 2500)
	require.ErrorContains(t, err, "taken in suction, the hold in pressure")
}

func TestBlankIsRefused(t *testing.T) {
	_, err := rig.NewBlank(thisRig, air.Suction, 2500, rig.Rate{Value: -10, Own: 0.5}, hose)
	require.ErrorContains(t, err, "can only fall")
	_, err = rig.NewBlank(thisRig, air.Suction, 2500, rig.Rate{Value: 10}, rig.Measured{})
	require.ErrorContains(t, err, "volume is 0 ± 0 ml")
	_, err = rig.NewBlank(thisRig, 0, 2500, rig.Rate{Value: 10}, hose)
	require.ErrorContains(t, err, "neither")
	_, err = rig.NewBlank(thisRig, air.Suction, 2500, rig.Rate{Value: math.NaN()}, hose)
	require.ErrorContains(t, err, "cannot be")
	_, err = rig.NewBlank(thisRig, air.Suction, 2500, rig.Rate{Value: -1, Own: 0.5}, hose)
	require.NoError(t, err, "noise about a tight rig may come out below zero")
}

func TestBlankIsDoubted(t *testing.T) {
	b := blank(t, rig.Measured{Value: 10, U: 0.5}) // 80e-6 Pa·m³/s
	other := thisRig
	other.Hose, other.Stoppers = "black 3 mm", "B"
	for name, c := range map[string]struct {
		total float64
		now   rig.Identity
		says  string
	}{
		"when it leaks more than both":   {40e-6, thisRig, "more than rig and joint together"},
		"when it leaks more than joint":  {120e-6, thisRig, "The rig leaks more than the joint"},
		"when it is a third of it":       {320e-6, thisRig, "33 % of the joint's"},
		"when the rig was changed since": {4e-3, other, "changed since its blank (hose, stoppers)"},
	} {
		t.Run(name, func(t *testing.T) {
			doubts := b.Doubts(rig.Measured{Value: c.total, U: 1e-6}, c.now)
			require.Len(t, doubts, 1)
			assert.Contains(t, doubts[0], c.says)
		})
	}
	assert.Nil(t, b.Doubts(rig.Measured{Value: 4e-3, U: 1e-5}, thisRig))
}

// Common practice, no source: a rig leaks far less than the joints it measures.
func TestABlankThatIsMuchForARigIsQuestionedOrRefused(t *testing.T) {
	t.Parallel()
	const sccm = 1.8124e-3 // Pa·m³/s of a gas at 20 °C
	assert.Empty(t, rig.DoubtBlank(0.09*sccm))
	assert.Contains(t, rig.DoubtBlank(0.2*sccm), "leaks 0.2 sccm")
	assert.Contains(t, rig.DoubtBlank(0.2*sccm), "are the stoppers joined")
	_, err := rig.NewBlank(thisRig, air.Suction, 2500, rig.Rate{Value: 3.6 * sccm / hose.Value, Own: 10}, hose)
	assert.ErrorContains(t, err, "leaks 3.6 sccm")
	_, err = rig.NewBlank(thisRig, air.Suction, 2500, rig.Rate{Value: 0.9 * sccm / hose.Value, Own: 10}, hose)
	assert.NoError(t, err)
}
