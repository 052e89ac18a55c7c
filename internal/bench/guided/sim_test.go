package guided_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"boretight/internal/bench/guided"
	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/rig"
)

// The room of all scenarios, and what a person would tell of it.
var (
	room = sim.Air{Ambient: 98_300, Temperature: 295.65}
	told = guided.Told{
		Rig:         rig.Identity{Gauge: "HX-0417", Hose: "blue", Stoppers: "A", Valve: "1"},
		Ambient:     rig.Measured{Value: 98_300, U: 30},
		Temperature: rig.Measured{Value: 295.65, U: 0.3},
		Calibration: nil,
	}
)

// hoseRig is a rig of 8 ml that leaks q Pa·m³/s at 2.5 kPa.
func hoseRig(t *testing.T, q float64) sim.Rig {
	t.Helper()
	r := sim.Rig{Segments: []sim.Segment{sim.Tube(1.5e-3, 5e-6), sim.Tube(4e-3, 3e-6)}}
	if q > 0 {
		leak, err := sim.NewLeak(q, 0.02, sim.StatedPa, sim.Suction, room)
		require.NoError(t, err)
		r.Leaks = []sim.Leak{leak}
	}
	return r
}

// sensor is a usual one.
var sensor = sim.Sensor{Rate: 100, Noise: 1, Zero: 12, Step: 0.5}

// cycles are n holds in suction, drawn to a pressure difference in Pa.
func cycles(n int, to, seconds float64) []sim.Hold {
	holds := make([]sim.Hold, n)
	for i := range holds {
		holds[i] = sim.Hold{Rest: 3, Draw: sim.Draw{Kind: sim.Smooth, To: to, Seconds: 0.8}, Seconds: seconds, After: 3}
	}
	return holds
}

// plungers moves a syringe in each of n holds and puts it back after the vent.
func plungers(n int, at, volume, seconds float64) []sim.Plunger {
	var moves []sim.Plunger
	for i := range n {
		moves = append(moves,
			sim.Plunger{Hold: i, At: at, Seconds: 0.6, Volume: volume},
			sim.Plunger{Hold: i, At: seconds + 1.2, Seconds: 0.5, Volume: -volume})
	}
	return moves
}

// feed gives a procedure all holds of a scenario and returns its replies.
func feed(t *testing.T, p guided.Procedure, s sim.Scenario) []guided.Reply {
	t.Helper()
	s.Air = room
	if s.Sensor == (sim.Sensor{}) {
		s.Sensor = sensor
	}
	tr, _, err := s.Run()
	require.NoError(t, err)
	var replies []guided.Reply
	for i, h := range hold.Find(tr) {
		r := p.Held(fmt.Sprintf("h%d", i+1), h)
		t.Logf("%v %s", r.Accepted, r.Text)
		replies = append(replies, r)
	}
	return replies
}
