//go:build unix

package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/sim"
	"boretight/internal/rig"
)

// dayJointName is how the joint that comes in is called.
const dayJointName = "oboe/upper"

// The room of the day, and that joint: 11.5 ml.
var (
	dayRoom  = sim.Air{Ambient: 98.3e3, Temperature: 295.65}
	dayJoint = sim.Joint{Segments: sim.Taper(2.4e-3, 5.3e-3, 11.5e-6, 4)}
)

// daySpeed is how much faster than it happens the day passes. Readings carry the gauge's
// own time, so that nothing but the patience of whoever waits for them is spared; where a
// command lasts, it says rightly that the gauge's clock and this computer's do not agree.
const daySpeed = 12

// dayPatience is how long one command may take.
const dayPatience = time.Minute

// day is a day at a bench: one gauge that reads 1.5 % too much, one rig, one ledger.
type day struct {
	*testing.T
	gauge  *scriptedGauge
	rig    sim.Rig
	ledger string
	seed   uint64
	// reference is a leak, certificate the file that tells of it.
	reference   sim.Reference
	certificate string
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
	d.certify()
	return d
}

// certify makes the reference leak and a certificate that is wrong by 0.3 %, where it
// claims 0.5 %.
func (d *day) certify() {
	d.Helper()
	calibrated := sim.Air{Ambient: 101325, Temperature: 296.15}
	var err error
	d.reference, err = sim.NewReference(3e-3, 0.02, sim.StatedPa, sim.Suction, calibrated, sim.Tube(1e-3, 0.3e-6))
	require.NoError(d, err)
	q, share := d.reference.Certified(sim.StatedPa, sim.Suction, calibrated)
	d.certificate = filepath.Join(d.TempDir(), "leak.toml")
	require.NoError(d, os.WriteFile(d.certificate, fmt.Appendf(nil, `id = "RL-7"
leak-rate = "%.6gPa·m³/s"
leak-rate-u = "0.5%%"
at = "2.5kPa"
sign = "suction"
ambient = "101.325kPa"
temperature = "23C"
inertial-share = "%.3g"
inertial-share-u = "0.01"
volume = "0.3ml"
volume-u = "0.02ml"
`, 1.003*q, share), 0o600))
}

// truth is that of a scenario's one hold.
func (d *day) truth(s sim.Scenario) sim.Truth {
	d.Helper()
	truths, err := s.Truths()
	require.NoError(d, err)
	return truths[0]
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

// start begins a command at the gauge; typing is its standard input.
func (d *day) start(args ...string) (p *process, typing *os.File) {
	d.Helper()
	typed, typing, err := os.Pipe()
	require.NoError(d, err)
	defer typed.Close() // the command has its own by then
	args = append(args, "--gauge", d.gauge.address, "--ledger", d.ledger, "--ambient", "98.3kPa", "--json")
	return startTyping(d.T, typed, programPath(d.T), args...), typing
}

// end waits until a command has ended and returns what it printed.
func (d *day) end(p *process) (lines []string) {
	d.Helper()
	late := time.After(dayPatience)
	look := time.NewTicker(100 * time.Millisecond)
	defer look.Stop()
	for {
		select {
		case line, more := <-p.lines:
			if more {
				lines = append(lines, line)
				continue
			}
			p.wait()
			require.NotEmpty(d, lines, "%s", p.err)
			return lines
		case <-look.C:
			require.NotContains(d, p.err.String(), "refused: this", "what was held must count")
		case <-late:
			require.FailNow(d, "the command does not end", "%s", p.err)
		}
	}
}

// run carries out a command once it has said that it is ready, with scenes before its
// gauge, and returns what it printed.
func (d *day) run(ready string, scenes []sim.Scene, args ...string) []string {
	d.Helper()
	began := time.Now()
	p, typing := d.start(append(args, "--temperature", "22.5C", "--hose", "blue", "--stoppers", "A", "--valve", "1")...)
	defer typing.Close()
	p.err.waitFor(d.T, ready)
	for _, s := range scenes {
		d.gauge.play(s)
	}
	lines := d.end(p)
	d.Logf("%s: %.1f s", strings.Join(args[:2], " "), time.Since(began).Seconds())
	return lines
}

// record reads the record of the rig that a command printed.
func (d *day) record(line string) rig.Record {
	d.Helper()
	var r rigLine
	require.NoError(d, json.Unmarshal([]byte(line), &r), line)
	assert.Equal(d, "boretight/rig/1", r.Schema)
	if r.Kind == rig.KindCalibration { // that of the gauge, whatever it hangs on
		assert.Equal(d, rig.Identity{Gauge: "DAY-0417"}, r.Rig)
	} else {
		assert.Equal(d, rig.Identity{Gauge: "DAY-0417", Hose: "blue", Stoppers: "A", Valve: "1"}, r.Rig)
	}
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
