package guided_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/air"
	"boretight/internal/bench/guided"
	"boretight/internal/gauge/sim"
	"boretight/internal/rig"
)

func TestABlankOfAToldVolume(t *testing.T) {
	t.Parallel()
	const leak = 2e-4 // Pa·m³/s
	p, err := guided.NewBlank(told, 3, rig.Measured{Value: 8e-6, U: 0.1e-6}, guided.Syringe{})
	require.NoError(t, err)
	assert.Contains(t, p.Next(), "hold 1 of 3")
	feed(t, p, sim.Scenario{Rig: hoseRig(t, leak), Holds: cycles(3, 2700, 12), Seed: 1})
	require.True(t, p.Done())
	r, err := p.Record()
	require.NoError(t, err)
	require.NotNil(t, r.Blank)
	assert.Equal(t, rig.KindBlank, r.Kind)
	assert.Equal(t, air.Suction, r.Blank.Sign)
	assert.Equal(t, []string{"h1", "h2", "h3"}, r.Holds)
	assert.InDelta(t, leak, r.Blank.LeakRate.Value, 2.5*r.Blank.LeakRate.U)
	assert.Less(t, r.Blank.LeakRate.Relative(), 0.1)
}

func TestABlankMeasuresItsVolumeByASyringePulledOrPushed(t *testing.T) {
	t.Parallel()
	const leak = 2e-4
	syringe := guided.Syringe{Step: rig.Measured{Value: 0.2e-6, U: 0.5e-2 * 0.2e-6}, StaysOpen: false}
	for name, c := range map[string]struct {
		to     float64
		volume float64
		barrel sim.Barrel
	}{
		"pulled out": {to: 600, volume: 0.2e-6},
		"pushed in":  {to: 3000, volume: -0.2e-6, barrel: sim.Barrel{Volume: 0.2e-6}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p, err := guided.NewBlank(told, 3, rig.Measured{}, syringe)
			require.NoError(t, err)
			feed(t, p, sim.Scenario{
				Rig: hoseRig(t, leak), Barrel: c.barrel, Holds: cycles(3, c.to, 22), Seed: 2,
				Events: sim.Events{Plungers: plungers(3, 8, c.volume, 22)},
			})
			require.True(t, p.Done())
			r, err := p.Record()
			require.NoError(t, err)
			assert.InEpsilon(t, 8e-6, r.Blank.Volume.Value, 0.005, "the syringe's air is in no hold")
			assert.Less(t, r.Blank.Volume.Relative(), 0.03)
			assert.InEpsilon(t, leak, r.Blank.LeakRate.Value, 0.03)
			assert.InDelta(t, leak, r.Blank.LeakRate.Value, 2.5*r.Blank.LeakRate.U)
		})
	}
}

func TestACalibrationThatIsOverdueIsNotSaidToBeMissing(t *testing.T) {
	t.Parallel()
	notes := func(says string) []string {
		now := told
		now.OnCalibration = says
		p, err := guided.NewBlank(now, 1, rig.Measured{Value: 8e-6, U: 0.1e-6}, guided.Syringe{})
		require.NoError(t, err)
		feed(t, p, sim.Scenario{Rig: hoseRig(t, 2e-4), Holds: cycles(1, 2700, 12), Seed: 1})
		r, err := p.Record()
		require.NoError(t, err)
		return r.Notes
	}
	const missing = "No calibration of the gauge is on record: its span was taken as good to 2 %."
	assert.Contains(t, notes(""), missing)
	overdue := notes("The calibration is overdue.")
	assert.Contains(t, overdue, "The calibration is overdue.")
	assert.NotContains(t, overdue, missing)
}
