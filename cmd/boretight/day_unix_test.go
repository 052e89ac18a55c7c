//go:build unix

package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/sim"
	"boretight/internal/rig"
	"boretight/internal/trial"
)

// TestADayAtTheBench does with the program what a repairer does in a day, from the
// calibration of the gauge to the joint as left, and holds every figure to the truth that
// the simulation tells. The gauge reads 1.5 % too much: the volumes, and with them all
// leakage rates, only come out right if its calibration is applied.
func TestADayAtTheBench(t *testing.T) {
	t.Parallel()
	d := newDay(t)
	used := []string{d.calibration().ID}
	used = append(used, d.blank().ID)
	d.check()
	d.proof()
	d.volumeByLeak()
	used = append(used, d.volumeBySyringe().ID)
	found := d.trial("as_found", 7.2e-3, used)
	left := d.trial("as_left", 2.4e-3, used)
	d.compare(found, left, 3)
	d.show()
}

// calibration reads a water column at heights up and down, as a ruler to 0.3 mm would.
func (d *day) calibration() rig.Record {
	const misread = 0.0002 // m
	p, typing := d.start("calibrate", "--water", "21.3C", "--latitude", "52.1", "--altitude", "40m", "--read-u", "0.3mm")
	p.err.waitFor(d.T, "pair 1")
	column := sim.WaterColumn{Air: dayRoom, Place: sim.Place{Latitude: 52.1, Altitude: 40, Anomaly: 2e-4}, Water: 273.15 + 21.4}
	for i, height := range []float64{0, -0.09, -0.18, -0.27, -0.36, -0.27, -0.18, -0.09, 0} {
		column.Levels = []sim.Level{{Height: height, Ramp: 0.5, Seconds: 3}}
		column.Seed = uint64(i)
		read := height + misread*[]float64{0, 1, -1, 1}[i%4]
		course := "up"
		if i > 4 {
			course = "down"
		}
		d.level(p, column, typing, fmt.Sprintf("%.1fmm %s", 1e3*read, course))
		column.From = height
	}
	require.NoError(d, typing.Close())
	r := d.record(d.end(p)[0])
	require.NotNil(d, r.Calibration)
	low, high := r.Calibration.Span.Interval()
	d.holds("factor of the span", 1/1.015, low, high, 0.003)
	reading := 1.015*sim.StatedPa + 13.6
	low, high = r.Calibration.Correction(reading).Interval()
	d.holds("a pressure of 2.5 kPa", sim.StatedPa, reading+low, reading+high, 0.005)
	return r
}

// level sets the column and types what was read of it until it counts: a machine busy
// with other tests may be behind the gauge, and then says that it still moves.
func (d *day) level(p *process, column sim.WaterColumn, typing io.Writer, line string) {
	d.Helper()
	count := func(text string) int { return strings.Count(p.err.String(), text) }
	for range 5 {
		<-d.gauge.play(column)
		column.From = column.Levels[0].Height
		ok, refused := count("ok: "), count("refused: ")
		_, err := fmt.Fprintln(typing, line)
		require.NoError(d, err)
		require.Eventually(d, func() bool { return count("ok: ")+count("refused: ") > ok+refused }, dayPatience, 10*time.Millisecond, "%s", p.err)
		if count("ok: ") > ok {
			return
		}
	}
	require.FailNow(d, "a line does not count", "%s: %s", line, p.err)
}

// blank measures the rig alone.
func (d *day) blank() rig.Record {
	hold := d.stepped(0.13e-6)
	truth := d.truth(hold)
	r := d.record(d.run("Blank, hold 1 of 2", []sim.Scene{hold, d.stepped(0.13e-6)},
		"rig", "blank", "--holds", "2", "--syringe", "0.13ml", "--syringe-u", "0.5%")[0])
	require.NotNil(d, r.Blank)
	low, high := around(r.Blank.Volume)
	d.holds("volume of the rig", truth.Volume, low, high, 0.02)
	low, high = r.Blank.LeakRate.Interval()
	d.holds("leak of the rig", truth.LeakRate, low, high, 0.15)
	return r
}

// check measures the reference leak on a body of 15 ml.
func (d *day) check() {
	hold := d.cycle(2700, 8)
	hold.Joint = sim.Joint{Segments: []sim.Segment{sim.Tube(5e-3, 15e-6)}}
	hold.Reference = d.reference
	truth := d.truth(hold)
	r := d.record(d.run("Check", []sim.Scene{hold}, "rig", "check", "--holds", "1", "--certificate", d.certificate, "--volume", "15ml", "--volume-u", "0.2%", "--bore", "10mm")[0])
	require.NotNil(d, r.Check)
	assert.Equal(d, rig.InControl, r.Check.State)
	low, high := around(r.Check.Newest.Measured)
	d.holds("reference leak, measured", truth.Reference.LeakRate, low, high, 0.03)
	low, high = around(r.Check.Newest.Stated)
	d.holds("reference leak, certified", truth.Reference.LeakRate, low, high, 0.015)
}

// proof measures the reference leak on three plugged tubes in place of bottles: what is
// wide takes long to settle.
func (d *day) proof() {
	var scenes []sim.Scene
	var truths []sim.Truth
	args := []string{"rig", "prove", "--certificate", d.certificate, "--holds", "1", "--bore", "14mm", "--bottle-u", "0.5%"}
	for _, ml := range []float64{30, 50, 80} {
		hold := d.cycle(2700, 12)
		hold.Joint = sim.Joint{Segments: []sim.Segment{sim.Tube(7e-3, ml*1e-6)}}
		hold.Reference = d.reference
		scenes, truths = append(scenes, hold), append(truths, d.truth(hold))
		args = append(args, "--bottle", fmt.Sprintf("%gml", ml))
	}
	r := d.record(d.run("Proof", scenes, args...)[0])
	require.NotNil(d, r.Proof)
	assert.True(d, r.Proof.Passed, "%v", r.Proof.Says)
	require.Len(d, r.Proof.Trials, 3)
	for i, trial := range r.Proof.Trials {
		low, high := around(trial.Measured)
		d.holds("leak on "+args[11+2*i], truths[i].Reference.LeakRate, low, high, 0.05)
		low, high = around(trial.Volume)
		d.holds("volume of that", truths[i].Volume, low, high, 0.02)
	}
}

// volumeBySyringe measures what the joint encloses with a plunger.
func (d *day) volumeBySyringe() rig.Record {
	scenes := []sim.Scene{d.stepped(0.4e-6), d.stepped(0.4e-6)}
	for i := range scenes {
		hold := scenes[i].(sim.Scenario)
		hold.Joint, hold.Leaks = dayJoint, []sim.Leak{d.leak("G#", 3e-3, 0.1)}
		scenes[i] = hold
	}
	truth := d.truth(scenes[0].(sim.Scenario))
	r := d.record(d.run("step 1 of 2", scenes, "rig", "volume", "--joint", dayJointName, "--steps", "2", "--syringe", "0.4ml", "--syringe-u", "0.5%", "--bore", "8mm")[0])
	require.NotNil(d, r.Volume)
	assert.Equal(d, dayJointName, r.Joint)
	low, high := r.Volume.Interval()
	d.holds("volume by syringe", truth.Volume, low, high, 0.02)
	return r
}

// volumeByLeak measures the same with the reference leak.
func (d *day) volumeByLeak() {
	hold := d.cycle(2700, 8)
	hold.Joint, hold.Leaks = dayJoint, []sim.Leak{d.leak("G#", 1e-3, 0.1)}
	truth := d.truth(hold)
	var scenes []sim.Scene
	for i := range 4 {
		hold.Seed = 100 + uint64(i)
		if i == 2 {
			hold.Reference = d.reference
		}
		scenes = append(scenes, hold)
	}
	r := d.record(d.run("hold 1 of 4", scenes, "rig", "volume", "--joint", dayJointName, "--holds", "2", "--certificate", d.certificate, "--bore", "8mm")[0])
	require.NotNil(d, r.Volume)
	low, high := r.Volume.Interval()
	d.holds("volume by added leak", truth.Volume, low, high, 0.04)
}

// trial holds the joint three times with a leak of q Pa·m³/s, and returns the trial's
// identity.
func (d *day) trial(when string, q float64, used []string) string {
	var scenes []sim.Scene
	for range 3 {
		hold := d.cycle(2700, 6)
		hold.Joint, hold.Leaks = dayJoint, []sim.Leak{d.leak("G#", 0.7*q, 0.1), d.leak("C-D trill", 0.3*q, 0)}
		scenes = append(scenes, hold)
	}
	truth := d.truth(scenes[0].(sim.Scenario))
	lines := d.run("rest", scenes, "hold", "--joint", dayJointName, "--when", when, "--holds", "3", "--limit", "2.5sccm", "--bore", "8mm")
	require.Len(d, lines, 4)
	for _, line := range lines[:3] {
		var o trial.Outcome
		require.NoError(d, json.Unmarshal([]byte(line), &o), line)
		require.NotNil(d, o.LeakRate, "%v", o.Notes)
		d.holds("hold "+when, truth.Joint().LeakRate, o.LeakRate.Low, o.LeakRate.High, 0.04)
		assert.Subset(d, o.RigRecords, used, "the result names what it used of the rig")
		for _, note := range o.Notes {
			assert.Contains(d, note, "clock", "nothing had to be assumed")
		}
	}
	var sum struct {
		trial.Trial
		ID string `json:"id"`
	}
	require.NoError(d, json.Unmarshal([]byte(lines[3]), &sum), lines[3])
	require.NotNil(d, sum.LeakRate, "%v", sum.Notes)
	d.holds("trial "+when, truth.Joint().LeakRate, sum.LeakRate.Low, sum.LeakRate.High, 0.035)
	verdict := trial.Pass
	if q > 5e-3 {
		verdict = trial.Fail // 2.5 sccm are 4.57e-3 Pa·m³/s in this room
	}
	assert.Equal(d, verdict, sum.Verdict)
	assert.NotEmpty(d, sum.ID)
	return sum.ID
}

// compare sets the two trials against each other.
func (d *day) compare(found, left string, ratio float64) {
	p := start(d.T, programPath(d.T), "compare", found, left, "--ledger", d.ledger, "--json")
	var c trial.Comparison
	require.NoError(d, json.Unmarshal([]byte(p.line(10*time.Second)), &c))
	p.wait()
	require.NotNil(d, c.Ratio)
	require.NotNil(d, c.Ratio.High)
	d.holds("as found over as left", ratio, c.Ratio.Low, *c.Ratio.High, 0.05)
	assert.Equal(d, trial.SameBench(), c.Common, "one rig, one volume, one day")
}

// show lists what is known of the rig at the end of the day.
func (d *day) show() {
	p := start(d.T, programPath(d.T), "rig", "show", "--ledger", d.ledger, "--json")
	states := map[rig.Kind]rig.State{}
	for _, line := range d.end(p) {
		r := d.record(line)
		var s standing
		require.NoError(d, json.Unmarshal([]byte(line), &s))
		assert.NotContains(d, states, r.Kind, "one of each kind counts")
		states[r.Kind] = s.State
	}
	assert.Equal(d, map[rig.Kind]rig.State{
		rig.KindCalibration: rig.Holds, rig.KindBlank: rig.Holds, rig.KindCheck: rig.Holds, rig.KindProof: rig.Holds, rig.KindVolume: rig.Holds,
	}, states)
}
