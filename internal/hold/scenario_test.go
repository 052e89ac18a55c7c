package hold_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/trace"
)

// oboe is a joint of 39 ml and a hose, which leaks with the given time constant in
// seconds, on a quiet gauge of 100 readings a second: one smooth draw to 2.7 kPa.
func oboe(tau float64, sign sim.Sign) sim.Scenario {
	joint := sim.Joint{Segments: []sim.Segment{sim.Tube(7.4e-3, 39e-6), sim.Hose(0.3)}}
	s := sim.Scenario{
		Joint: joint,
		Holds: []sim.Hold{{
			Rest: 2, Sign: sign, Draw: sim.Draw{To: 2700, Seconds: 1.2}, Seconds: 6, After: 2.5,
		}},
		Sensor: sim.Sensor{Noise: 0.5},
		Seed:   1,
	}
	if leak, err := sim.NewLeak(sim.StatedPa*joint.Volume()/tau, 0.1, sim.StatedPa, sign, s.Air); err == nil {
		s.Leaks = []sim.Leak{leak}
	}
	return s
}

// run simulates a scenario.
func run(t testing.TB, s sim.Scenario) (trace.Trace, []sim.Truth) {
	t.Helper()
	tr, truths, err := s.Run()
	require.NoError(t, err)
	return tr, truths
}

// one finds the only hold of a trace.
func one(t testing.TB, tr trace.Trace) *hold.Hold {
	t.Helper()
	holds := hold.Find(tr)
	require.Len(t, holds, 1)
	sound(t, holds[0])
	return holds[0]
}

// said is an event with the time of the reading that brought it.
type said struct {
	hold.Event
	at time.Duration
}

// listen pushes a trace reading by reading and returns all that was said.
func listen(tr trace.Trace) (all []said) {
	f := hold.NewFinder(tr.Kind)
	var now time.Duration
	for _, r := range tr.Readings {
		now = r.T
		for _, e := range f.Push(r) {
			all = append(all, said{e, now})
		}
	}
	for _, e := range f.Close() {
		all = append(all, said{e, now})
	}
	return all
}

// flat is a made-up trace of seconds at 100 readings a second, value by value.
func flat(seconds float64, pressure func(t float64) float64) trace.Trace {
	var tr trace.Trace
	for i := range int(seconds * 100) {
		t := float64(i) / 100
		tr.Readings = append(tr.Readings, trace.Reading{
			T: time.Duration(i) * 10 * time.Millisecond, Pressure: pressure(t), Celsius: math.NaN(),
		})
	}
	return tr
}

// fault names the first thing about a hold that no hold may be; empty when sound.
func fault(h *hold.Hold) string {
	n := len(h.Readings)
	for name, s := range map[string]hold.Span{"before": h.Before, "held": h.Held, "after": h.After} {
		if s.From < 0 || s.To < s.From || s.To > n {
			return fmt.Sprintf("%s is %v of %d readings", name, s, n)
		}
	}
	for i := 1; i < n; i++ {
		if h.Readings[i].T < h.Readings[i-1].T {
			return fmt.Sprintf("reading %d is older than the one before it", i)
		}
	}
	for name, v := range map[string]float64{"interval": h.Interval, "rest level": h.RestLevel, "noise": h.Noise} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return name + " is no number"
		}
	}
	switch {
	case h.Draw < 0 || h.Draw >= n:
		return fmt.Sprintf("the draw begins at %d of %d", h.Draw, n)
	case h.Before.To > h.Draw:
		return fmt.Sprintf("the rest %v reaches into the draw, which begins at %d", h.Before, h.Draw)
	case !(h.Noise > 0):
		return "there is no noise at all"
	case h.Lost < 0 || h.Unusable < h.Saturated || h.Unusable > h.Held.Len():
		return fmt.Sprintf("%d lost, %d unusable, %d saturated of %d", h.Lost, h.Unusable, h.Saturated, h.Held.Len())
	case h.Isolated() == math.IsNaN(h.Isolation):
		return fmt.Sprintf("isolated %v, at %g", h.Isolated(), h.Isolation)
	case h.Isolated() && h.Held.From < h.Before.From:
		return fmt.Sprintf("held from %d, at rest from %d", h.Held.From, h.Before.From)
	case h.After.Len() > 0 && h.After.From < h.Held.To:
		return fmt.Sprintf("the rest after it %v reaches into the hold %v", h.After, h.Held)
	}
	return ""
}

func sound(t testing.TB, h *hold.Hold) {
	t.Helper()
	assert.Empty(t, fault(h))
}
