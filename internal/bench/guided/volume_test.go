package guided_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench/guided"
	"boretight/internal/gauge/sim"
	"boretight/internal/rig"
)

// joint is an oboe's upper joint: 26 ml of 8 to 11 mm bore.
var joint = sim.Joint{Segments: []sim.Segment{sim.Tube(4e-3, 12e-6), sim.Tube(5.5e-3, 14e-6)}}

func toldJoint() guided.Told {
	t := told
	t.Joint = "oboe/upper"
	t.Bore = rig.Measured{Value: 9.8e-3, U: 0.5e-3}
	return t
}

func seat(t *testing.T, q float64) []sim.Leak {
	t.Helper()
	leak, err := sim.NewLeak(q, 0.1, sim.StatedPa, sim.Suction, room)
	require.NoError(t, err)
	return []sim.Leak{leak}
}

func TestAVolumeByStepsOfASyringe(t *testing.T) {
	t.Parallel()
	const enclosed = 34e-6 // joint and rig
	for name, c := range map[string]struct {
		to, step float64
		barrel   sim.Barrel
		syringe  guided.Syringe
		want     float64
	}{
		"pulled out":             {to: 600, step: 0.7e-6, want: enclosed},
		"pulled out, stays open": {to: 600, step: 0.7e-6, syringe: guided.Syringe{StaysOpen: true}, want: enclosed + 0.7e-6},
		"pulled out, a dead volume shut off in holds": {to: 600, step: 0.7e-6,
			syringe: guided.Syringe{Dead: rig.Measured{Value: 0.1e-6, U: 0.02e-6}}, want: enclosed - 0.1e-6},
		"pushed in": {to: 3000, step: -0.7e-6, barrel: sim.Barrel{Volume: 0.7e-6}, want: enclosed},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := c.syringe
			s.Step = rig.Measured{Value: 0.7e-6, U: 0.0035e-6}
			p, err := guided.NewVolume(toldJoint(), s, 3)
			require.NoError(t, err)
			assert.Contains(t, p.Next(), "step 1 of 3")
			for _, reply := range feed(t, p, sim.Scenario{
				Joint: joint, Rig: hoseRig(t, 0), Leaks: seat(t, 8e-4), Barrel: c.barrel, Holds: cycles(3, c.to, 18), Seed: 3,
				Events: sim.Events{Plungers: plungers(3, 8, c.step, 18)},
			}) {
				assert.NotContains(t, reply.Text, "it ended", "as told")
			}
			require.True(t, p.Done())
			r, err := p.Record()
			require.NoError(t, err)
			assert.Equal(t, rig.KindVolume, r.Kind)
			assert.Equal(t, "oboe/upper", r.Joint)
			assert.Equal(t, rig.BySyringe, r.Volume.Method)
			assert.True(t, r.Volume.RigIncluded)
			assert.GreaterOrEqual(t, len(r.Holds), 3)
			assert.InEpsilon(t, c.want, r.Volume.Value, 0.01)
			assert.InDelta(t, c.want, r.Volume.Value, 2.5*r.Volume.U)
		})
	}
}

func TestAVolumeByAnAddedLeak(t *testing.T) {
	t.Parallel()
	dead := sim.Tube(1e-3, 0.3e-6)
	reference, err := sim.NewReference(3e-3, 0.02, 2500, sim.Suction, room, dead)
	require.NoError(t, err)
	q, share := reference.Certified(2500, sim.Suction, room)
	leak := rig.Certificate{
		ID: "RL-7", Throughput: rig.Measured{Value: q, U: 0.005 * q},
		At:       rig.Conditions{Sign: -1, Difference: 2500, Ambient: room.Ambient, Temperature: room.Temperature},
		Inertial: rig.Measured{Value: share, U: 0.02},
	}
	p, err := guided.NewAddedLeak(toldJoint(), leak, rig.Measured{Value: 0.3e-6, U: 0.03e-6}, 2)
	require.NoError(t, err)
	assert.Contains(t, p.Next(), "shut or off")
	feed(t, p, sim.Scenario{Joint: joint, Rig: hoseRig(t, 0), Leaks: seat(t, 1.5e-3), Holds: cycles(2, 2700, 12), Seed: 4})
	assert.Contains(t, p.Next(), "RL-7 open")
	feed(t, p, sim.Scenario{Joint: joint, Rig: hoseRig(t, 0), Leaks: seat(t, 1.5e-3), Reference: reference, Holds: cycles(2, 2700, 12), Seed: 5})
	require.True(t, p.Done())
	r, err := p.Record()
	require.NoError(t, err)
	assert.Equal(t, rig.ByLeak, r.Volume.Method)
	assert.InEpsilon(t, 34e-6, r.Volume.Value, 0.02)
	assert.InDelta(t, 34e-6, r.Volume.Value, 2.5*r.Volume.U)
}

func TestALeakThatWasNotAddedIsNotSeen(t *testing.T) {
	t.Parallel()
	leak := rig.Certificate{
		ID: "RL-7", Throughput: rig.Measured{Value: 3e-3, U: 1.5e-5},
		At: rig.Conditions{Sign: -1, Difference: 2500, Ambient: room.Ambient, Temperature: room.Temperature},
	}
	p, err := guided.NewAddedLeak(toldJoint(), leak, rig.Measured{}, 1)
	require.NoError(t, err)
	feed(t, p, sim.Scenario{Joint: joint, Rig: hoseRig(t, 0), Leaks: seat(t, 1.5e-3), Holds: cycles(2, 2700, 12), Seed: 6})
	require.True(t, p.Done())
	_, err = p.Record()
	require.ErrorContains(t, err, "the added leak cannot be seen")
}

// A small rig needs a small step: 0.2 ml in 6.4 ml are 3 kPa.
func TestAStepThatEndsFarFromTheStatedDifferenceNamesABetterOne(t *testing.T) {
	t.Parallel()
	small := hoseRig(t, 2e-4)
	small.Segments = []sim.Segment{sim.Tube(1.5e-3, 4e-6), sim.Tube(4e-3, 2.4e-6)}
	for name, c := range map[string]struct {
		to, step float64
		says     string // empty for nothing
	}{
		"well beyond it": {to: 600, step: 0.2e-6, says: "it ended well beyond the stated 2.5 kPa: a step of 0.13 ml would end there"},
		"as it said":     {to: 600, step: 0.13e-6},
		"short of it":    {to: 600, step: 0.06e-6, says: "it ended well short of the stated 2.5 kPa: a step of 0.13 ml would end there"},
		"from too high":  {to: 1500, step: 0.13e-6, says: "it ended well beyond the stated 2.5 kPa: begin at a quarter of that, 0.62 kPa"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			syringe := guided.Syringe{Step: rig.Measured{Value: c.step, U: 0.005 * c.step}}
			volume, err := guided.NewVolume(toldJoint(), syringe, 1)
			require.NoError(t, err)
			blank, err := guided.NewBlank(told, 1, rig.Measured{}, syringe)
			require.NoError(t, err)
			for _, p := range []guided.Procedure{volume, blank} {
				replies := feed(t, p, sim.Scenario{Rig: small, Holds: cycles(1, c.to, 22), Seed: 8, Events: sim.Events{Plungers: plungers(1, 8, c.step, 22)}})
				last := replies[len(replies)-1].Text
				if c.says == "" {
					assert.NotContains(t, last, "it ended")
					continue
				}
				assert.Contains(t, last, c.says)
			}
		})
	}
}
