package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"time"

	"boretight/internal/decay"
	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
)

// measured is what came of one hold.
type measured struct {
	index     int
	truth     sim.Truth
	result    decay.Result
	found     bool
	isolation float64 // error in s
	seconds   float64
	ending    hold.Ending
	creep     sim.Creep
	when      float64 // of the disturbance, s since isolation; NaN without one
	inTime    bool    // the disturbance found enough of the difference left
	end       float64 // of the stretch used, s since isolation
}

func (m measured) err() float64 { return m.result.LeakRate.Value/m.truth.LeakRate - 1 }

func (m measured) z() float64 {
	return (m.result.LeakRate.Value - m.truth.LeakRate) / m.result.LeakRate.U
}

// one draws, simulates and measures hold i of a family.
func one(f sim.Family, o options, i int) measured {
	random := rand.New(rand.NewPCG(o.seed, uint64(i)+1))
	s, bore := f.DrawTold(random)
	tr, truths, err := s.Run()
	if err != nil {
		fmt.Fprintln(os.Stderr, "accuracy: error:", err)
		os.Exit(1)
	}
	m := measured{index: i, truth: truths[0], creep: s.Joint.Creep}
	m.when = truths[0].Disturbed - truths[0].Isolated
	m.inTime = inTime(s, truths[0])
	holds := hold.Find(tr)
	if len(holds) == 0 {
		return m
	}
	h := holds[0]
	// A measured volume includes what creep gives way in the end.
	m.truth.Volume *= 1 + s.Joint.Creep.Kappa
	t := m.truth
	if o.cut > 0 {
		h = early(h, o.cut)
	}
	m.ending = h.Ending
	m.isolation = h.Isolation - t.Isolated
	setup := decay.Setup{
		Volume:      decay.Input{Value: t.Volume * (1 + o.volumeU*random.NormFloat64()), U: t.Volume * o.volumeU},
		Bore:        decay.Input{Value: 2 * bore},
		Ambient:     decay.Input{Value: t.Ambient, U: 100},
		Temperature: decay.Input{Value: t.Temperature, U: 0.5},
		At:          t.StatedPa,
	}
	begin := time.Now()
	m.result = decay.Fit(h, setup)
	m.seconds = time.Since(begin).Seconds()
	m.found = m.result.LeakRate != nil
	if used := m.result.Used; used.Len() > 0 {
		m.end = h.Readings[used.To-1].Seconds() - t.Isolated
	}
	return m
}

// inTime reports whether something was left to disturb: at least so much of the
// difference at isolation, had there been no disturbance. Later ones do no harm.
func inTime(s sim.Scenario, t sim.Truth) bool {
	const enough = 0.15
	if math.IsNaN(t.Disturbed) {
		return true
	}
	s.Events = sim.Events{}
	quiet, _, err := s.Run()
	if err != nil {
		return false
	}
	level := s.Sensor.Zero
	if s.Sensor.Absolute {
		level += s.Air.Ambient
	}
	for _, r := range quiet.Readings {
		if r.Seconds() >= t.Disturbed {
			return math.Abs(r.Pressure-level) > enough*t.DeltaIsolated
		}
	}
	return false
}

// early is the hold as it looked some seconds after isolation.
func early(h *hold.Hold, seconds float64) *hold.Hold {
	e := *h
	for e.Held.To > e.Held.From && h.Readings[e.Held.To-1].Seconds() > h.Isolation+seconds {
		e.Held.To--
	}
	e.Readings, e.After, e.Ending = h.Readings[:e.Held.To], hold.Span{}, hold.Cut
	return &e
}
