package sim_test

import (
	"strconv"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/sim"
)

// scripted plays scenes in their order and then idles at a height in metres.
func scripted(speed, height float64, scenes ...sim.Scene) *sim.Device {
	return sim.Script{
		Serial: "DAY-1", Speed: speed, Seed: 1,
		Sensor: sim.Sensor{Rate: 100, Min: -7500, Max: 7500, Step: 0.1, Hysteresis: 4},
		Next: func() sim.Scene {
			if len(scenes) == 0 {
				c := column()
				c.From = height
				return sim.Idle(c)
			}
			scene := scenes[0]
			scenes = scenes[1:]
			return scene
		},
	}.Open()
}

func TestAScriptPlaysItsScenesOnOneClock(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		up := column(sim.Level{Height: 0.25, Ramp: 0.5, Seconds: 1}, sim.Level{Height: 0.2, Ramp: 0.5, Seconds: 1})
		d := scripted(1, 0.2, clarinet(t), up)
		defer d.Close()
		good, bad := listen(t, d, 20*time.Second)
		assert.Zero(t, bad)
		assert.Equal(t, []string{"BTID", "1", "DAY-1", "G", "-7500", "7500", "0.1", "100"}, good[0].fields)
		seq := -1
		var last float64
		for _, l := range good {
			if l.fields[0] != "BTRD" {
				continue
			}
			seq++
			require.Equal(t, strconv.Itoa(seq), l.fields[1], "no gap between scenes")
			require.InDelta(t, float64(seq)/100, number(t, l.fields[2])/1e6, 1e-3)
			last = number(t, l.fields[3])
		}
		assert.InDelta(t, column().Pressure(0.2)+2, last, 0.06, "the play of the descent is there as long as the gauge idles")
	})
}

func TestAFastScriptKeepsTheTimeOfWhatHappens(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := scripted(8, 0)
		defer d.Close()
		good, bad := listen(t, d, 5*time.Second)
		assert.Zero(t, bad)
		var last float64
		for _, l := range good {
			if l.fields[0] == "BTRD" {
				last = number(t, l.fields[2]) / 1e6
			}
		}
		assert.InDelta(t, 40, last, 0.1)
	})
}

func TestAScriptOfNonsenseFailsAsItIsRead(t *testing.T) {
	broken := clarinet(t)
	broken.Joint.Segments = nil
	d := scripted(1, 0, broken)
	_, err := d.Read(make([]byte, 100))
	require.ErrorContains(t, err, "no segments")
	require.NoError(t, d.Close())
}

func TestTheZeroOfAScriptsGaugeDriftsOnFromSceneToScene(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := sim.Script{
			Serial: "DAY-1", Sensor: sim.Sensor{Drift: 2},
			Next: func() sim.Scene { return sim.Idle(column()) },
		}.Open()
		defer d.Close()
		good, _ := listen(t, d, 4*time.Second)
		for _, l := range good {
			if l.fields[0] == "BTRD" {
				require.InDelta(t, 2*number(t, l.fields[2])/1e6, number(t, l.fields[3]), 0.51)
			}
		}
	})
}

// Jitter throws half of all last instants just beyond the end of their scene: those are
// the first of the next.
func TestNoReadingIsLostBetweenTwoScenesForAllTheJitter(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := sim.Script{
			Serial: "SEAMS", Seed: 3, Sensor: sim.Sensor{Jitter: 1e-4},
			Next: func() sim.Scene { return sim.Idle(column()) },
		}.Open()
		t.Cleanup(func() { assert.NoError(t, d.Close()) })
		good, _ := listen(t, d, 4*time.Second)
		seq := -1
		for _, l := range good {
			if l.fields[0] != "BTRD" {
				continue
			}
			require.Equal(t, strconv.Itoa(seq+1), l.fields[1])
			seq++
			require.InDelta(t, float64(seq)/100, number(t, l.fields[2])/1e6, 4.1e-4, "at its instant, but for the jitter")
		}
		assert.Greater(t, seq, 390)
	})
}
