package hold_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/trace"
)

// step is 0 before a time and 1 after it.
func step(t, at float64) float64 {
	if t < at {
		return 0
	}
	return 1
}

func TestWhatIsNoDrawBeginsNoHold(t *testing.T) {
	for name, p := range map[string]func(t float64) float64{
		"nothing at all":          func(float64) float64 { return 0 },
		"a door of 5 Pa":          func(t float64) float64 { return 5 * (step(t, 10) - step(t, 14)) },
		"a door of 20 Pa":         func(t float64) float64 { return -20 * (step(t, 10) - step(t, 14)) },
		"a door that stays open":  func(t float64) float64 { return 20 * step(t, 10) },
		"doors all the time":      func(t float64) float64 { return 20 * math.Round(0.5+0.5*math.Sin(t)) },
		"a knock of 100 Pa":       func(t float64) float64 { return 100 * math.Exp(-(t-10)*(t-10)/0.005) },
		"a slow drift":            func(t float64) float64 { return 2 * t },
		"a drift the other way":   func(t float64) float64 { return -2 * t },
		"a cold gauge warming up": func(t float64) float64 { return 120 * math.Exp(-t/15) },
		"a step for good":         func(t float64) float64 { return 140 * step(t, 10) },
		"a swing to both sides":   func(t float64) float64 { return 100 * math.Sin(20*t) * math.Exp(-(t-10)*(t-10)) },
	} {
		for _, noise := range []float64{0, 0.5, 5} {
			for kind, zero := range map[trace.Kind]float64{trace.Gauge: 0, trace.Absolute: 98_300} {
				random := rand.New(rand.NewPCG(1, 2))
				tr := flat(60, func(t float64) float64 { return zero + p(t) + noise*random.NormFloat64() })
				tr.Kind = kind
				for _, e := range listen(tr) {
					assert.Equal(t, hold.PhaseChanged, e.Kind, "%s, noise %g Pa, %v: %v at %v", name, noise, kind, e.Kind, e.at)
				}
			}
		}
	}
}

func TestADrawIsFoundSoonAfterADisturbance(t *testing.T) {
	s := oboe(25, sim.Suction)
	s.Holds[0].Rest = 8
	quiet, truths := run(t, s)
	for name, p := range map[string]func(t float64) float64{
		"a door":         func(t float64) float64 { return 20 * (step(t, 2) - step(t, 5)) },
		"a knock":        func(t float64) float64 { return 100 * math.Exp(-(t-6)*(t-6)/0.005) },
		"drift":          func(t float64) float64 { return 2 * t },
		"a knock and go": func(t float64) float64 { return 60 * math.Exp(-(t-7)*(t-7)/0.002) },
	} {
		t.Run(name, func(t *testing.T) {
			tr := trace.Trace{}
			for _, r := range quiet.Readings {
				r.Pressure += p(r.Seconds())
				tr.Readings = append(tr.Readings, r)
			}
			h := one(t, tr)
			// A knock just before the draw passes for noise, and blunts the eye for corners.
			assert.InDelta(t, truths[0].Isolated, h.Isolation, 0.1)
			assert.Equal(t, hold.Vented, h.Ending)
			// The level is that of 2 s of rest, half a second old: 3 Pa of this drift.
			assert.InDelta(t, p(7.9), h.RestLevel, 3, "the zero is the newest rest's")
		})
	}
}

func TestAKnockInTheHoldDoesNotEndIt(t *testing.T) {
	for _, size := range []float64{-100, -60, 60, 300} {
		s := oboe(40, sim.Suction)
		s.Events.Bumps = []sim.Bump{{At: 3, Seconds: 0.2, Volume: size / 101_325 * s.Joint.Volume()}}
		tr, truths := run(t, s)
		h := one(t, tr)
		assert.Equal(t, hold.Vented, h.Ending, "knock of %g Pa", size)
		assert.InDelta(t, truths[0].Isolated, h.Isolation, 0.05)
		assert.InDelta(t, truths[0].Vented, h.Readings[h.Held.To-1].Seconds(), 0.2)
	}
}

func TestASeatThatOpensInTheHoldDoesNotEndIt(t *testing.T) {
	s := oboe(40, sim.Suction)
	more := s.Leaks[0]
	more.Area *= 3
	more.Viscous *= 3
	s.Events.Openings = []sim.Opening{{Leak: more, From: 3, Over: 0.02}}
	tr, truths := run(t, s)
	h := one(t, tr)
	assert.Equal(t, hold.Vented, h.Ending)
	assert.InDelta(t, truths[0].Isolated, h.Isolation, 0.05)
	assert.InDelta(t, truths[0].Vented, h.Readings[h.Held.To-1].Seconds(), 0.2)
}

func TestHoldsOfACoarseSensorAreFound(t *testing.T) {
	for seed := range uint64(5) {
		s := oboe(25, sim.Suction)
		s.Seed = seed
		s.Sensor = sim.Sensor{Rate: 20, Step: 2 * 7500.0 / 1024, Noise: 1}
		tr, truths := run(t, s)
		h := one(t, tr)
		assert.Equal(t, hold.Vented, h.Ending)
		assert.InDelta(t, truths[0].Isolated, h.Isolation, 0.15)
	}
}

// A dip that comes back is not a new draw, however deep.
func TestAShortDipIsNotANewDraw(t *testing.T) {
	for _, size := range []float64{-150, -300} {
		for _, seconds := range []float64{0.2, 0.4} {
			s := oboe(40, sim.Suction)
			s.Events.Bumps = []sim.Bump{{At: 3, Seconds: seconds, Volume: size / 101_325 * s.Joint.Volume()}}
			tr, _ := run(t, s)
			assert.Equal(t, hold.Vented, one(t, tr).Ending, "%g Pa for %g s", size, seconds)
		}
	}
}
