package trial_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/trial"
)

// measured simulates a trial of two holds of a joint that leaks so much, of which the
// volume is told wrong by a share.
func measured(t *testing.T, rate, wrong float64, seed uint64) (trial.Trial, float64) {
	t.Helper()
	leak, err := sim.NewLeak(rate, 0.1, sim.StatedPa, sim.Suction, sim.Air{})
	require.NoError(t, err)
	one := sim.Hold{Rest: 2, Draw: sim.Draw{To: 2800, Seconds: 1}, Seconds: 10, After: 4}
	tr, truths, err := sim.Scenario{
		Joint:  sim.Joint{Segments: []sim.Segment{sim.Tube(7.4e-3, 39e-6)}},
		Leaks:  []sim.Leak{leak},
		Holds:  []sim.Hold{one, one},
		Sensor: sim.Sensor{Noise: 1, Zero: 13},
		Seed:   seed,
	}.Run()
	require.NoError(t, err)
	holds := hold.Find(tr)
	require.Len(t, holds, 2)
	var members []trial.Member
	for _, h := range holds {
		setup := told(truths[0])
		setup.Volume = decay.Input{Value: truths[0].Volume * (1 + wrong), U: 0.03 * truths[0].Volume}
		members = append(members, trial.Member{Outcome: trial.Judge(h, setup, 0), Volume: setup.Volume.Value})
	}
	result, err := trial.Pool(members, trial.Terms{})
	require.NoError(t, err)
	require.NotNil(t, result.LeakRate, "%v", result.Notes)
	return result, truths[0].LeakRate
}

func TestAWrongVolumeDoesNotSpoilTheRatio(t *testing.T) {
	const wrong = 0.05
	found, foundTruth := measured(t, 4e-3, wrong, 1)
	left, leftTruth := measured(t, 1e-3, wrong, 2)
	assert.InEpsilon(t, foundTruth*(1+wrong), found.LeakRate.Value, 0.02, "each rate is as wrong as the volume")
	assert.InEpsilon(t, leftTruth*(1+wrong), left.LeakRate.Value, 0.02)

	c, err := trial.Compare(found, left, trial.SameBench())
	require.NoError(t, err)
	require.NotNil(t, c.Ratio.High)
	truth := foundTruth / leftTruth
	assert.LessOrEqual(t, c.Ratio.Low, truth)
	assert.GreaterOrEqual(t, *c.Ratio.High, truth)
	apart, err := trial.Compare(found, left, trial.Common{})
	require.NoError(t, err)
	assert.Less(t, *c.Ratio.High-c.Ratio.Low, 0.5*(*apart.Ratio.High-apart.Ratio.Low), "volume and bore have cancelled")
	assert.Equal(t, "volume", found.Improvements()[0].Source)
}
