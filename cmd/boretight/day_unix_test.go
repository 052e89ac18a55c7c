//go:build unix

package main

import (
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/sim"
	"boretight/internal/rig"
)

// The room of the day, and the joint that comes in: an oboe's upper joint of 11.5 ml.
var (
	dayRoom  = sim.Air{Ambient: 98.3e3, Temperature: 295.65}
	dayJoint = sim.Joint{Segments: sim.Taper(2.4e-3, 5.3e-3, 11.5e-6, 4)}
)

// daySpeed is how much faster than it happens the day passes. Readings carry the gauge's
// own time, so that nothing but the patience of whoever waits for them is spared.
const daySpeed = 8

// day is a day at a bench: one gauge that reads 1.5 % too much, one rig, one ledger.
type day struct {
	*testing.T
	gauge  *scriptedGauge
	rig    sim.Rig
	ledger string
	seed   uint64
}

func newDay(t *testing.T) *day {
	d := &day{T: t, ledger: filepath.Join(t.TempDir(), "day.boretight")}
	d.gauge = newScriptedGauge(t, "DAY-0417", sim.Sensor{
		Rate: 100, Jitter: 1e-4, Lag: 6e-3, Zero: 13.6, Span: 0.015, Noise: 1.2, Hysteresis: 0.5, Step: 0.5,
		Min: -7500, Max: 7500, Thermometer: true, WarmBy: 0.15,
	}, daySpeed)
	d.rig = sim.Rig{
		Segments: []sim.Segment{sim.Hose(0.5), {Radius: 3e-3, Volume: 2.9e-6}},
		Leaks:    []sim.Leak{d.leak("stoppers", 1e-4, 0)},
	}
	return d
}

// leak is one of a throughput in Pa·m³/s at 2.5 kPa of suction and an inertial share.
func (d *day) leak(name string, q, share float64) sim.Leak {
	d.Helper()
	leak, err := sim.NewLeak(q, share, sim.StatedPa, sim.Suction, dayRoom)
	require.NoError(d, err)
	leak.Name = name
	return leak
}

// cycle is a hold of so many seconds from a pressure difference.
func (d *day) cycle(to, seconds float64) sim.Scenario {
	d.seed++
	return sim.Scenario{
		Air: dayRoom, Rig: d.rig, Seed: d.seed,
		Holds: []sim.Hold{{Rest: 1.6, Draw: sim.Draw{Kind: sim.Strokes, To: to}, Seconds: seconds, After: 2.4}},
	}
}

// stepped is a hold in which a plunger is pulled out, and put back after the vent.
func (d *day) stepped(pull float64) sim.Scenario {
	const still, after = 5, 6
	s := d.cycle(sim.StatedPa/4, still+after)
	s.Events.Plungers = []sim.Plunger{
		{At: still, Seconds: 0.5, Volume: pull},
		{At: still + after + 0.8, Seconds: 0.5, Volume: -pull},
	}
	return s
}

// run carries out a command at the gauge once it has said that it is ready, with scenes
// before it, and returns what it printed.
func (d *day) run(ready string, scenes []sim.Scene, args ...string) []string {
	d.Helper()
	began := time.Now()
	args = append(args, "--gauge", d.gauge.address, "--ledger", d.ledger, "--json",
		"--hose", "blue", "--stoppers", "A", "--valve", "1", "--ambient", "98.3kPa", "--temperature", "22.5C")
	p := start(d.T, programPath(d.T), args...)
	p.err.waitFor(d.T, ready)
	for _, s := range scenes {
		d.gauge.play(s)
	}
	var lines []string
	for line := range p.lines {
		lines = append(lines, line)
	}
	p.wait()
	d.Logf("%s: %.1f s", strings.Join(args[:2], " "), time.Since(began).Seconds())
	require.NotEmpty(d, lines, "%s", p.err)
	return lines
}

// record reads the record of the rig that a command printed.
func (d *day) record(line string) rig.Record {
	d.Helper()
	var r rigLine
	require.NoError(d, json.Unmarshal([]byte(line), &r), line)
	assert.Equal(d, "boretight/rig/1", r.Schema)
	assert.Equal(d, rig.Identity{Gauge: "DAY-0417", Hose: "blue", Stoppers: "A", Valve: "1"}, r.Rig)
	assert.NotEmpty(d, r.ID)
	return r.Record
}

// holds asserts that an interval holds the truth and is no wider than the part widest of
// it on either side.
func (d *day) holds(what string, truth, low, high, widest float64) {
	d.Helper()
	half := (high - low) / 2
	d.Logf("%-24s %.5g in [%.5g, %.5g], off by %+.2f %%, ± %.2f %%", what, truth, low, high, 100*((low+high)/2/truth-1), 100*half/truth)
	assert.True(d, low <= truth && truth <= high, "%s: the truth is %.6g, the interval [%.6g, %.6g]", what, truth, low, high)
	assert.Less(d, half, widest*truth, "%s: wider than ± %.2g %%", what, 100*widest)
}

// around is the 95 % interval of a value with its standard uncertainty.
func around(m rig.Measured) (low, high float64) { return m.Value - 1.96*m.U, m.Value + 1.96*m.U }

func TestADayAtTheBench(t *testing.T) {
	t.Parallel()
	d := newDay(t)
	d.blank()
}

// blank measures the rig alone.
func (d *day) blank() rig.Record {
	scenes := []sim.Scene{d.stepped(0.2e-6), d.stepped(0.2e-6)}
	truths, err := d.stepped(0.2e-6).Truths()
	require.NoError(d, err)
	lines := d.run("hold 1 of 2", scenes, "rig", "blank", "--holds", "2", "--syringe", "0.2ml", "--syringe-u", "0.5%")
	r := d.record(lines[0])
	require.NotNil(d, r.Blank)
	low, high := around(r.Blank.Volume)
	d.holds("volume of the rig", truths[0].Volume, low, high, 0.05)
	low, high = r.Blank.LeakRate.Interval()
	d.holds("leak of the rig", truths[0].LeakRate, low, high, 0.5)
	return r
}

