package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/air"
	"boretight/internal/config"
	"boretight/internal/gauge/frames"
	"boretight/internal/gauge/sim"
	"boretight/internal/rig"
	"boretight/internal/trace"
)

// netGauge is a gauge behind a network port, which a test makes say things.
type netGauge struct {
	*testing.T
	listener net.Listener
	conn     net.Conn
	seq      uint32
	at       time.Duration // of its clock
}

func newNetGauge(t *testing.T) *netGauge {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	g := &netGauge{T: t, listener: l}
	t.Cleanup(func() {
		l.Close()
		if g.conn != nil {
			g.conn.Close()
		}
	})
	return g
}

func (g *netGauge) address() string { return "bench=tcp:" + g.listener.Addr().String() }

// plug waits until somebody listens, and says who the gauge is.
func (g *netGauge) plug(serial string) {
	g.Helper()
	require.NoError(g, g.listener.(*net.TCPListener).SetDeadline(time.Now().Add(30*time.Second)))
	conn, err := g.listener.Accept()
	require.NoError(g, err)
	g.conn, g.seq, g.at = conn, 0, 0
	g.send(frames.AppendIdentity(nil, frames.Identity{
		Version: frames.Version, Serial: serial, MinPa: -7500, MaxPa: 7500, ResolutionPa: 0.5, RateHz: 100,
	}))
}

func (g *netGauge) unplug() { require.NoError(g, g.conn.Close()) }

func (g *netGauge) send(line []byte) {
	_, err := g.conn.Write(line)
	require.NoError(g, err)
}

// say sends readings as fast as the line takes them; their clock goes on from before.
func (g *netGauge) say(readings []trace.Reading) {
	from := g.at
	for _, r := range readings {
		g.seq++
		g.at = from + r.T + 10*time.Millisecond
		g.send(frames.AppendReading(nil, g.seq, uint32(g.at.Microseconds()), r))
	}
}

// level is a pressure in Pa for two and a half seconds.
func level(pressure float64) []trace.Reading {
	readings := make([]trace.Reading, 250)
	for i := range readings {
		readings[i] = trace.Reading{T: time.Duration(i) * 10 * time.Millisecond, Pressure: pressure + 0.5*float64(i%2), Celsius: 22}
	}
	return readings
}

// blankReadings are a hold of a rig of 8 ml that leaks 2e-4 Pa·m³/s.
func blankReadings(t *testing.T, seed uint64) []trace.Reading {
	t.Helper()
	room := sim.Air{Ambient: 98_300, Temperature: 295.65}
	leak, err := sim.NewLeak(2e-4, 0.02, sim.StatedPa, sim.Suction, room)
	require.NoError(t, err)
	tr, _, err := sim.Scenario{
		Air: room, Rig: sim.Rig{Segments: []sim.Segment{sim.Tube(1.5e-3, 8e-6)}, Leaks: []sim.Leak{leak}}, Seed: seed,
		Sensor: sim.Sensor{Rate: 100, Noise: 1, Zero: 12, Step: 0.5, Thermometer: true},
		Holds:  []sim.Hold{{Rest: 3, Draw: sim.Draw{To: 2700, Seconds: 0.8}, Seconds: 12, After: 3}},
	}.Run()
	require.NoError(t, err)
	return tr.Readings
}

// guidedRun is a command of the rig at work.
type guidedRun struct {
	t    *testing.T
	in   *io.PipeWriter
	said *watched
	done chan result
	stop context.CancelFunc // as a signal does
}

// startGuided runs a command line with a ledger and a configuration of its own.
func startGuided(t *testing.T, args ...string) *guidedRun {
	t.Helper()
	dir := t.TempDir()
	config := filepath.Join(dir, "empty.toml")
	require.NoError(t, os.WriteFile(config, nil, 0o600))
	in, typing := io.Pipe()
	ctx, stop := context.WithCancel(t.Context())
	g := &guidedRun{t: t, in: typing, said: &watched{}, done: make(chan result, 1), stop: stop}
	var out strings.Builder
	go func() {
		s := run(ctx, append(args, "--json", "--config", config, "--ledger", filepath.Join(dir, "l.boretight")), app{in: in, out: &out, err: g.said})
		g.done <- result{s, out.String(), g.said.String()}
	}()
	return g
}

// typeUntil types a line until an answer comes: readings may still be on their way, and
// the gauge then seems to move.
func (g *guidedRun) typeUntil(line, answer string) {
	g.t.Helper()
	for range 100 {
		before := strings.Count(g.said.String(), "ok: ") + strings.Count(g.said.String(), "refused: ")
		fmt.Fprintln(g.in, line)
		require.Eventually(g.t, func() bool {
			return strings.Count(g.said.String(), "ok: ")+strings.Count(g.said.String(), "refused: ") > before
		}, 30*time.Second, 5*time.Millisecond, "%s: %s", line, g.said)
		if strings.Contains(g.said.String(), answer) {
			return
		}
	}
	require.FailNow(g.t, "no such answer", "%s, want %q: %s", line, answer, g.said)
}

func (g *guidedRun) end() result {
	g.t.Helper()
	select {
	case r := <-g.done:
		return r
	case <-time.After(60 * time.Second):
		require.FailNow(g.t, "the command did not end", "%s", g.said)
		return result{}
	}
}

func recordOf(t *testing.T, r result) rig.Record {
	t.Helper()
	require.Equal(t, done, r.status, r.err)
	var line rigLine
	require.NoError(t, json.Unmarshal([]byte(r.out), &line), r.out)
	assert.Equal(t, schemaRig, line.Schema)
	return line.Record
}

func TestAnotherGaugePluggedInMeanwhileDoesNotCount(t *testing.T) {
	t.Parallel()
	g := newNetGauge(t)
	p := startGuided(t, "rig", "blank", "--gauge", g.address(), "--volume", "8ml", "--holds", "2", "--ambient", "98.3kPa")
	g.plug("HX-0417")
	g.say(blankReadings(t, 1))
	p.said.waitFor(t, "ok: hold 1 of 2 counts")
	g.unplug()
	g.plug("HX-0999")
	g.say(blankReadings(t, 2))
	p.said.waitFor(t, "gauge HX-0999")
	g.unplug()
	g.plug("HX-0417")
	g.say(blankReadings(t, 3))
	r := recordOf(t, p.end())
	assert.Equal(t, "HX-0417", r.Rig.Gauge)
	assert.Len(t, r.Holds, 2)
	assert.InEpsilon(t, 2e-4, r.Blank.LeakRate.Value, 0.05)
}

func TestHeightsTypedAtALiveGauge(t *testing.T) {
	t.Parallel()
	g := newNetGauge(t)
	p := startGuided(t, "calibrate", "--gauge", g.address(), "--water", "21.3C", "--latitude", "52.1", "--altitude", "40m")
	g.plug("HX-0417")
	g.say(level(12))
	p.said.waitFor(t, "Calibration, pair 1")
	const perMillimetre = -9.783 // Pa: 998 kg/m³, less the air, times 9.81 m/s²
	for i, mm := range []float64{0, 100, 200, 300} {
		if mm > 0 {
			g.say(level(12 + 1.01*perMillimetre*mm))
		}
		p.typeUntil(fmt.Sprintf("-%.0fmm up", mm), fmt.Sprintf("ok: pair %d: ", i+1))
	}
	g.say(level(12 + 1.01*perMillimetre*800))
	p.typeUntil("-800mm", "outside the gauge's range")
	require.NoError(t, p.in.Close())
	r := recordOf(t, p.end())
	assert.Equal(t, rig.Identity{Gauge: "HX-0417"}, r.Rig)
	assert.InDelta(t, 1/1.01, r.Calibration.SpanFactor(), 2e-3)
	assert.Equal(t, 4, r.Calibration.Pairs)
}

func TestAProcedureThatIsStoppedRecordsNothingOfTheRig(t *testing.T) {
	t.Parallel()
	g := newNetGauge(t)
	p := startGuided(t, "rig", "blank", "--gauge", g.address(), "--volume", "8ml", "--holds", "2")
	g.plug("HX-0417")
	g.say(blankReadings(t, 4))
	p.said.waitFor(t, "ok: hold 1 of 2 counts")
	p.stop()
	r := p.end()
	assert.Equal(t, undecided, r.status)
	assert.Contains(t, r.err, "nothing was recorded of the rig")
	assert.Empty(t, r.out)
}

func TestACalibrationOfNothingIsSaid(t *testing.T) {
	t.Parallel()
	g := newNetGauge(t)
	p := startGuided(t, "calibrate", "--gauge", g.address())
	g.plug("HX-0417")
	g.say(level(12))
	require.NoError(t, p.in.Close())
	r := p.end()
	assert.Equal(t, undecided, r.status)
	assert.Contains(t, r.err, "no pair was taken")
	assert.Empty(t, r.out)
}

func TestACheckGoesOnSinceTheRigWasProven(t *testing.T) {
	t.Parallel()
	here := rig.Identity{Gauge: "HX-0417", Hose: "blue"}
	other := rig.Identity{Gauge: "HX-0417", Hose: "red"}
	check := func(id rig.Identity, leak string, en float64) rig.Record {
		return rig.Record{Kind: rig.KindCheck, Rig: id, Leak: leak, Check: &rig.Watch{Newest: rig.Checked{En: en}}}
	}
	proof := func(passed bool) rig.Record {
		return rig.Record{Kind: rig.KindProof, Rig: here, Proof: &rig.Proof{Passed: passed}}
	}
	records := []rig.Record{
		check(here, "RL-7", 0.1), proof(true), check(here, "RL-7", 0.2), check(other, "RL-7", 0.3),
		check(here, "RL-8", 0.4), proof(false), check(here, "RL-7", 0.5),
	}
	var en []float64
	for _, c := range earlierChecks(records, here, "RL-7") {
		en = append(en, c.En)
	}
	assert.Equal(t, []float64{0.2, 0.5}, en, "those of this leak and this rig, since the proof that was passed")
}

func TestABlankThatIsOverdueIsNotUsedAndNotSaidToBeMissing(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 3, 10, 9, 0, 0, 0, time.UTC)
	here := rig.Identity{Gauge: "HX-0417", Hose: "blue"}
	records := []rig.Record{{
		Kind: rig.KindBlank, Rig: here, ValidFrom: now.AddDate(-1, 0, 0), ValidUntil: now.AddDate(0, -1, 0),
		Blank: &rig.Blank{Sign: air.Suction, Volume: rig.Measured{Value: 8e-6, U: 1e-7}},
	}}
	_, err := referenceOf(config.Certificate{}, here, records, now)
	require.ErrorContains(t, err, "the blank of the rig is overdue since 2026-02-10")
	assert.Equal(t, "The blank of this rig of 2025-03-10 is overdue since 2026-02-10: what hose, stoppers and gauge hold is not in the volume.",
		withoutRig(blankOfParts(records, rig.Identity{Hose: "blue"}, now)))
	assert.Contains(t, withoutRig(blankOfParts(nil, here, now)), "No blank of this rig is on record")

	records[0].ValidUntil = now.AddDate(0, 1, 0)
	reference, err := referenceOf(config.Certificate{}, here, records, now)
	require.NoError(t, err)
	assert.Len(t, reference.Blanks, 1)
	assert.True(t, blankOfParts(records, rig.Identity{Hose: "blue"}, now).Holds())
	here.Hose = "red"
	_, err = referenceOf(config.Certificate{}, here, records, now)
	require.ErrorContains(t, err, "the blank on record is of another rig (gauge HX-0417, hose blue)")
}

func TestAProofTakesThePlaceOfACheckThatFailedBefore(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 3, 10, 9, 0, 0, 0, time.UTC)
	here := rig.Identity{Gauge: "HX-0417"}
	failed := rig.Record{ID: "failed", Kind: rig.KindCheck, Rig: here, Leak: "RL-7", ValidFrom: now.Add(-2 * time.Hour), Check: &rig.Watch{State: rig.OutOfControl}}
	proof := rig.Record{ID: "proof", Kind: rig.KindProof, Rig: here, Leak: "RL-7", ValidFrom: now.Add(-time.Hour), Proof: &rig.Proof{Passed: true}}
	assert.Equal(t, rig.Failed, heldOf(failed, []rig.Record{failed}, now).State)
	assert.NotEqual(t, "failed", heldOf(failed, []rig.Record{failed, proof}, now).Record.ID)
	assert.Equal(t, "proof", heldOf(proof, []rig.Record{failed, proof}, now).Record.ID)
}

func TestNoRigIsPickedOutOfSeveral(t *testing.T) {
	t.Parallel()
	blank := func(gauge, hose string) rig.Record {
		return rig.Record{Kind: rig.KindBlank, Blank: &rig.Blank{}, Rig: rig.Identity{Gauge: gauge, Hose: hose}}
	}
	two := []rig.Record{blank("A", ""), blank("B", "blue"), blank("B", "blue")}
	assert.False(t, ambiguous(two[:1], rig.Identity{}), "the only one is meant")
	assert.True(t, ambiguous(two, rig.Identity{}))
	assert.False(t, ambiguous(two, rig.Identity{Hose: "blue"}))
	assert.True(t, ambiguous(append(two, blank("A", "blue")), rig.Identity{Hose: "blue"}), "two gauges share the hose")
}

func TestAVolumeThatIsHardlyThatOfAJointIsQuestioned(t *testing.T) {
	t.Parallel()
	r := runHere(t.Context(), "", "rig", "volume", "--ledger", t.TempDir()+"/ledger.db", "--joint", "oboe/upper", "--bore", "9in", "--length", "310mm")
	assert.Contains(t, strings.Join(strings.Fields(r.out), " "), "unusual for a joint: did you mean 12.7")
}
