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

// In the blank's own holds the syringe hangs on the rig, with its dead volume open.
func TestABlankCountsTheDeadVolumeOfItsOwnHolds(t *testing.T) {
	t.Parallel()
	const leak, dead = 2e-4, 0.6e-6
	syringe := guided.Syringe{Step: rig.Measured{Value: 0.2e-6, U: 1e-9}, Dead: rig.Measured{Value: dead, U: 0.02e-6}}
	simulated := hoseRig(t, leak)
	simulated.Segments = append(simulated.Segments, sim.Tube(1.5e-3, dead))
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
				Rig: simulated, Barrel: c.barrel, Holds: cycles(3, c.to, 22), Seed: 2,
				Events: sim.Events{Plungers: plungers(3, 8, c.volume, 22)},
			})
			require.True(t, p.Done())
			r, err := p.Record()
			require.NoError(t, err)
			assert.InEpsilon(t, 8e-6, r.Blank.Volume.Value, 0.01, "it is shut off in holds")
			assert.InEpsilon(t, leak, r.Blank.LeakRate.Value, 0.03)
			assert.InDelta(t, leak, r.Blank.LeakRate.Value, 2.5*r.Blank.LeakRate.U)
		})
	}
}

// One diameter says little of a hose with a gauge and stoppers at its ends. The last cases
// are a hose and nothing else, and a wide gauge on a short hose of which nothing is told.
func TestABlankWithAToldBoreIsTaken(t *testing.T) {
	t.Parallel()
	hose := hoseRig(t, 2e-4)
	hose.Segments = []sim.Segment{sim.Tube(1.5e-3, 8e-6)}
	for i, bore := range []float64{2.5e-3, 3e-3, 4e-3, 6e-3, 3e-3, 0} {
		simulated := hoseRig(t, 2e-4)
		switch i {
		case 4:
			simulated = hose
		case 5:
			simulated.Segments = []sim.Segment{sim.Tube(1.5e-3, 3e-6), sim.Tube(5e-3, 5e-6)}
		}
		now := told
		now.Bore = rig.Measured{Value: bore}
		p, err := guided.NewBlank(now, 3, rig.Measured{}, guided.Syringe{Step: rig.Measured{Value: 0.2e-6, U: 1e-9}})
		require.NoError(t, err)
		feed(t, p, sim.Scenario{
			Rig: simulated, Holds: cycles(3, 600, 22), Seed: 2,
			Events: sim.Events{Plungers: plungers(3, 8, 0.2e-6, 22)},
		})
		require.True(t, p.Done(), "%g m", bore)
		r, err := p.Record()
		require.NoError(t, err)
		assert.InEpsilon(t, 2e-4, r.Blank.LeakRate.Value, 0.03)
	}
}

func TestAPersonIsToldWhichWayThePlungerGoes(t *testing.T) {
	t.Parallel()
	p, err := guided.NewBlank(told, 2, rig.Measured{}, guided.Syringe{Step: rig.Measured{Value: 0.2e-6, U: 1e-9}})
	require.NoError(t, err)
	assert.Contains(t, p.Next(), "pull the plunger out by 0.2 ml")
	holds := cycles(1, 600, 22)
	holds[0].Sign = sim.Pressure
	feed(t, p, sim.Scenario{
		Rig: hoseRig(t, 2e-4), Barrel: sim.Barrel{Volume: 0.2e-6}, Holds: holds, Seed: 32,
		Events: sim.Events{Plungers: []sim.Plunger{{At: 8, Seconds: 0.6, Volume: -0.2e-6}}},
	})
	assert.Contains(t, p.Next(), "with the plunger out by 0.2 ml press to about 0.6 kPa")
	assert.Contains(t, p.Next(), "push the plunger home")
	assert.NotContains(t, p.Next(), "draw")

	p = plainBlank(t, 2)
	assert.Contains(t, p.Next(), "draw to a little over 2.5 kPa")
	holds = cycles(1, 2700, 12)
	holds[0].Sign = sim.Pressure
	feed(t, p, sim.Scenario{Rig: hoseRig(t, 2e-4), Holds: holds, Seed: 34})
	assert.Contains(t, p.Next(), "hold 2 of 2")
	assert.Contains(t, p.Next(), "press to a little over 2.5 kPa")
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

func TestABlankOfALeakyRigIsQuestionedAtOnceAndInItsRecord(t *testing.T) {
	t.Parallel()
	p, err := guided.NewBlank(told, 1, rig.Measured{Value: 8e-6, U: 0.1e-6}, guided.Syringe{})
	require.NoError(t, err)
	replies := feed(t, p, sim.Scenario{Rig: hoseRig(t, 4e-4), Holds: cycles(1, 2700, 12), Seed: 1})
	require.NotEmpty(t, replies)
	assert.Contains(t, replies[0].Text, "are the stoppers joined")
	r, err := p.Record()
	require.NoError(t, err)
	assert.Contains(t, r.Notes[len(r.Notes)-1], "are the stoppers joined")
}
