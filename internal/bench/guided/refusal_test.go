package guided_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench/guided"
	"boretight/internal/gauge/sim"
	"boretight/internal/rig"
)

func plainBlank(t *testing.T, holds int) *guided.Blank {
	t.Helper()
	p, err := guided.NewBlank(told, holds, rig.Measured{Value: 8e-6, U: 0.1e-6}, guided.Syringe{})
	require.NoError(t, err)
	return p
}

func TestAHoldDoesNotCount(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		holds  []sim.Hold
		events sim.Events
		says   string
	}{
		"that was far below the stated difference": {holds: cycles(1, 800, 12), says: "draw more, or tell --at"},
		"that was far above it":                    {holds: cycles(1, 5500, 6), says: "draw less, or tell --at"},
		"in which a stopper was lifted": {holds: cycles(1, 2700, 12), says: "it was disturbed",
			events: sim.Events{Openings: []sim.Opening{{Leak: seat(t, 2e-3)[0], From: 5, Over: 0.2}}}},
		"in which a hand warmed the hose": {holds: cycles(1, 2700, 12), says: "does not count",
			events: sim.Events{Lamps: []sim.Lamp{{At: 5, Seconds: 2, Rate: 0.3, Segment: -1}}}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p := plainBlank(t, 1)
			replies := feed(t, p, sim.Scenario{Rig: hoseRig(t, 2e-4), Holds: c.holds, Events: c.events, Seed: 30})
			require.NotEmpty(t, replies)
			assert.False(t, replies[0].Accepted)
			assert.Contains(t, replies[0].Text, c.says)
			assert.NotContains(t, replies[0].Text, "was told", "no volume is wanted of it")
			assert.False(t, p.Done())
			_, err := p.Record()
			require.ErrorContains(t, err, "no hold at all")
		})
	}
}

func TestHoldsOfTheOtherSignDoNotCount(t *testing.T) {
	t.Parallel()
	p := plainBlank(t, 2)
	holds := cycles(3, 2700, 12)
	holds[1].Sign = sim.Pressure
	replies := feed(t, p, sim.Scenario{Rig: hoseRig(t, 2e-4), Holds: holds, Seed: 31})
	require.Len(t, replies, 3)
	assert.True(t, replies[0].Accepted)
	assert.False(t, replies[1].Accepted)
	assert.Contains(t, replies[1].Text, "it was in pressure, the first one in suction")
	assert.True(t, replies[2].Accepted)
	r, err := p.Record()
	require.NoError(t, err)
	assert.Equal(t, []string{"h1", "h3"}, r.Holds)
}

func TestABlankInPressure(t *testing.T) {
	t.Parallel()
	const leak = 2e-4
	p, err := guided.NewBlank(told, 1, rig.Measured{}, guided.Syringe{Step: rig.Measured{Value: 0.2e-6, U: 1e-9}})
	require.NoError(t, err)
	holds := cycles(1, 600, 22)
	holds[0].Sign = sim.Pressure
	// Pushed in, the difference grows: the plunger was out before the step and is home after it.
	feed(t, p, sim.Scenario{
		Rig: hoseRig(t, leak), Barrel: sim.Barrel{Volume: 0.2e-6}, Holds: holds, Seed: 32,
		Events: sim.Events{Plungers: []sim.Plunger{{At: 8, Seconds: 0.6, Volume: -0.2e-6}}},
	})
	require.True(t, p.Done())
	r, err := p.Record()
	require.NoError(t, err)
	assert.InEpsilon(t, 8e-6, r.Blank.Volume.Value, 0.01)
	assert.InEpsilon(t, leak, r.Blank.LeakRate.Value, 0.04)
	assert.Equal(t, "pressure", r.Blank.Sign.String())
}

func TestAHoldCanBeTakenBack(t *testing.T) {
	t.Parallel()
	p := plainBlank(t, 2)
	assert.Contains(t, p.Line("back", nil).Text, "nothing has been accepted yet")
	feed(t, p, sim.Scenario{Rig: hoseRig(t, 2e-4), Holds: cycles(1, 2700, 12), Seed: 33})
	assert.Contains(t, p.Next(), "hold 2 of 2")
	assert.Contains(t, p.Line(" Back ", nil).Text, "hold 1 no longer counts")
	assert.Contains(t, p.Next(), "hold 1 of 2")
	assert.Contains(t, p.Line("once more", nil).Text, "not understood")
	assert.Empty(t, p.Line("", nil).Text)
	holds := cycles(2, 2700, 12)
	holds[0].Sign, holds[1].Sign = sim.Pressure, sim.Pressure
	replies := feed(t, p, sim.Scenario{Rig: hoseRig(t, 2e-4), Holds: holds, Seed: 34})
	require.True(t, replies[1].Accepted, "the sign was free again: %s", replies[1].Text)
	assert.True(t, p.Done())
}

func TestAStepDoesNotCount(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		plungers []sim.Plunger
		openings []sim.Opening
		seconds  float64
		says     string
	}{
		"that nobody made":          {seconds: 18, says: "no step of the plunger"},
		"that is too small to see":  {plungers: plungers(1, 8, 0.4e-9, 18), seconds: 18, says: "no step of the plunger"},
		"after which nobody waited": {plungers: plungers(1, 8, 0.7e-6, 9.2), seconds: 9.2, says: "no step of the plunger"},
		"that lost the seal": {plungers: plungers(1, 8, 0.7e-6, 18), seconds: 18, says: "the seal was lost",
			openings: []sim.Opening{{Leak: seat(t, 4e-2)[0], From: 8.7, Over: 0.1}}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p, err := guided.NewVolume(toldJoint(), guided.Syringe{Step: rig.Measured{Value: 0.7e-6, U: 0.0035e-6}}, 1)
			require.NoError(t, err)
			replies := feed(t, p, sim.Scenario{
				Joint: joint, Rig: hoseRig(t, 0), Leaks: seat(t, 8e-4), Holds: cycles(1, 600, c.seconds), Seed: 35,
				Events: sim.Events{Plungers: c.plungers, Openings: c.openings},
			})
			require.NotEmpty(t, replies)
			last := replies[len(replies)-1]
			assert.False(t, last.Accepted)
			assert.Contains(t, last.Text, c.says)
			assert.False(t, p.Done())
		})
	}
}

// Strokes of a pump before the valve is shut are one draw; a plunger that is pulled before
// it is seen to be shut looks like one of them.
func TestAPlungerPulledTooSoonIsRefused(t *testing.T) {
	t.Parallel()
	p, err := guided.NewVolume(toldJoint(), guided.Syringe{Step: rig.Measured{Value: 0.7e-6, U: 0.0035e-6}}, 1)
	require.NoError(t, err)
	replies := feed(t, p, sim.Scenario{
		Joint: joint, Rig: hoseRig(t, 0), Leaks: seat(t, 8e-4), Holds: cycles(1, 600, 12), Seed: 36,
		Events: sim.Events{Plungers: plungers(1, 0.6, 0.7e-6, 12)},
	})
	require.Len(t, replies, 1)
	assert.False(t, replies[0].Accepted)
	assert.Contains(t, replies[0].Text, "keep still for 8 s, move the plunger")
}

func TestProceduresThatCannotBeLedAreRefused(t *testing.T) {
	t.Parallel()
	step := guided.Syringe{Step: rig.Measured{Value: 1e-6, U: 1e-8}}
	_, err := guided.NewBlank(told, 0, rig.Measured{Value: 8e-6}, guided.Syringe{})
	require.ErrorContains(t, err, "0 holds")
	_, err = guided.NewBlank(told, 1, rig.Measured{}, guided.Syringe{})
	require.ErrorContains(t, err, "either")
	_, err = guided.NewBlank(told, 1, rig.Measured{Value: 8e-6}, step)
	require.ErrorContains(t, err, "either")
	_, err = guided.NewVolume(told, step, 3)
	require.ErrorContains(t, err, "the joint is not told")
	_, err = guided.NewVolume(toldJoint(), guided.Syringe{}, 3)
	require.ErrorContains(t, err, "plunger")
	step.StaysOpen, step.Dead = true, rig.Measured{Value: 1e-7}
	_, err = guided.NewVolume(toldJoint(), step, 3)
	require.ErrorContains(t, err, "stays open")
	_, err = guided.NewAddedLeak(told, rig.Certificate{}, rig.Measured{}, 1)
	require.ErrorContains(t, err, "the joint is not told")
}

func TestABoreThatWasNotLeftStillAfterTheStepIsRefused(t *testing.T) {
	t.Parallel()
	p, err := guided.NewVolume(toldJoint(), guided.Syringe{Step: rig.Measured{Value: 0.7e-6, U: 0.0035e-6}}, 1)
	require.NoError(t, err)
	replies := feed(t, p, sim.Scenario{
		Joint: joint, Rig: hoseRig(t, 0), Leaks: seat(t, 8e-4), Holds: cycles(1, 600, 8.7), Seed: 37,
		Events: sim.Events{Plungers: plungers(1, 8, 0.7e-6, 8.7)},
	})
	require.NotEmpty(t, replies)
	last := replies[len(replies)-1]
	assert.False(t, last.Accepted)
	assert.Contains(t, last.Text, "never left still")
	assert.False(t, p.Done())
}

// An absolute gauge knows the room's pressure, and a step is a difference of it.
func TestAnAbsoluteGaugeMeasuresABlank(t *testing.T) {
	t.Parallel()
	const leak = 2e-4
	unaware := told
	unaware.Ambient = rig.Measured{}
	p, err := guided.NewBlank(unaware, 2, rig.Measured{}, guided.Syringe{Step: rig.Measured{Value: 0.2e-6, U: 1e-9}})
	require.NoError(t, err)
	s := sensor
	s.Absolute = true
	feed(t, p, sim.Scenario{
		Rig: hoseRig(t, leak), Sensor: s, Holds: cycles(2, 600, 22), Seed: 38,
		Events: sim.Events{Plungers: plungers(2, 8, 0.2e-6, 22)},
	})
	require.True(t, p.Done())
	r, err := p.Record()
	require.NoError(t, err)
	assert.InEpsilon(t, 8e-6, r.Blank.Volume.Value, 0.01)
	assert.InEpsilon(t, leak, r.Blank.LeakRate.Value, 0.04)
	for _, n := range r.Notes {
		assert.NotContains(t, n, "ambient", "the gauge told it")
	}
}

// A gauge that reads 2 % too much, and is known to.
func TestACalibrationOnRecordCorrectsTheSpan(t *testing.T) {
	t.Parallel()
	calibrated := toldJoint()
	calibrated.Calibration = &rig.Calibration{Span: rig.Result{Measured: rig.Measured{Value: 1 / 1.02, U: 5e-4}}}
	p, err := guided.NewVolume(calibrated, guided.Syringe{Step: rig.Measured{Value: 0.7e-6, U: 0.7e-9}}, 1)
	require.NoError(t, err)
	s := sensor
	s.Span = 0.02
	feed(t, p, sim.Scenario{
		Joint: joint, Rig: hoseRig(t, 0), Leaks: seat(t, 8e-4), Sensor: s, Holds: cycles(1, 600, 18), Seed: 39,
		Events: sim.Events{Plungers: plungers(1, 8, 0.7e-6, 18)},
	})
	require.True(t, p.Done())
	r, err := p.Record()
	require.NoError(t, err)
	assert.InEpsilon(t, 34e-6, r.Volume.Value, 0.004)
	assert.Less(t, r.Volume.Relative(), 0.004)
	assert.Empty(t, r.Notes)
}
