package sim

import (
	"fmt"
	"math"
	"math/rand/v2"

	"boretight/internal/trace"
)

// Scenario is a whole trace to be made: the room, the joint, its seats, what is
// done with it and the gauge that looks on. Equal scenarios give equal traces.
type Scenario struct {
	Name  string
	Air   Air
	Joint Joint
	Leaks []Leak
	// Rig that the joint hangs on, Reference added to it and Barrel on it; their zero
	// values are none, and a scenario may be of the rig alone.
	Rig       Rig
	Reference Reference
	Barrel    Barrel
	Holds     []Hold
	Events    Events
	Sensor    Sensor
	// StatedPa is the pressure difference that truths are stated at, in pascals;
	// 0 means [StatedPa].
	StatedPa float64
	// Seed of everything random in the gauge.
	Seed uint64
}

// Run simulates the scenario and returns what the gauge said, with the truth of
// each hold. An error means that the scenario itself makes no sense.
func (s Scenario) Run() (trace.Trace, []Truth, error) {
	reader, truths, err := s.read(nil)
	if err != nil {
		return trace.Trace{}, nil, err
	}
	return reader.trace(), truths, nil
}

// Truths returns the truth of each hold without simulating it, so without what the
// simulation shows: the pressure differences at isolation and vent.
func (s Scenario) Truths() ([]Truth, error) {
	s = s.withDefaults()
	isolated := isolations(schedule(s.Holds), len(s.Holds))
	if err := s.validate(isolated); err != nil {
		return nil, fmt.Errorf("simulate %q: %w", s.Name, err)
	}
	truths := make([]Truth, len(s.Holds))
	for i := range s.Holds {
		truths[i] = s.truthOf(i, isolated[i])
	}
	return truths, nil
}

// read simulates with a sensor that goes on from where it was before, if anywhere.
func (s Scenario) read(before *reader) (*reader, []Truth, error) {
	truths, err := s.Truths()
	if err != nil {
		return nil, nil, err
	}
	s = s.withDefaults()
	phases := schedule(s.Holds)
	reader := newReader(s.Sensor, s.Air.Temperature-273.15, rand.New(rand.NewPCG(s.Seed, 0x626f7265)))
	reader.goOn(before)
	engine := newEngine(s, isolations(phases, len(s.Holds)))
	engine.run(phases, s.longestStep(), reader.see, func(p phase, now instantaneous) {
		note(&truths[p.hold], p, now)
	})
	return reader, truths, nil
}

// note writes what a phase's start shows into the truth of its hold.
func note(t *Truth, p phase, now instantaneous) {
	delta := t.Sign.gauge(now.p - now.ambient)
	switch p.name {
	case holding:
		t.DeltaIsolated = delta
	case venting:
		t.DeltaVented = delta
	}
}

func (s Scenario) withDefaults() Scenario {
	s.Air = s.Air.withDefaults()
	s.Sensor = s.Sensor.withDefaults()
	if s.StatedPa == 0 {
		s.StatedPa = StatedPa
	}
	return s
}

// isolations returns, for each hold, when its valve is shut.
func isolations(phases []phase, holds int) []float64 {
	at := make([]float64, holds)
	for _, p := range phases {
		if p.name == holding {
			at[p.hold] = p.start
		}
	}
	return at
}

// reach is a pressure difference that the bore will hardly exceed, in pascals.
func (s Scenario) reach() float64 {
	reach := 1.2 * s.StatedPa
	for _, h := range s.Holds {
		reach = max(reach, 1.2*h.Draw.To)
	}
	for _, p := range s.Events.Plungers {
		reach += s.Air.Ambient * math.Abs(p.Volume) / s.enclosed().Volume()
	}
	return reach
}

// longestStep keeps steps below a fraction of the time in which the leaks empty
// the joint, so that the straight line between two steps is good to 10⁻⁵ of Δ.
func (s Scenario) longestStep() float64 {
	const stepsPerTimeConstant = 150
	var q float64
	for _, h := range s.Holds {
		bore := h.Sign.bore(s.Air.Ambient, s.StatedPa)
		var sum float64
		for _, seat := range s.seats() {
			sum += math.Abs(seat.Throughput(bore, s.Air))
		}
		for _, o := range s.Events.Openings {
			sum += math.Abs(o.Leak.Throughput(bore, s.Air))
		}
		q = max(q, sum)
	}
	return min(longestStep, s.StatedPa*s.enclosed().Volume()/q/stepsPerTimeConstant)
}

// validate names the first thing that cannot be simulated.
func (s Scenario) validate(isolated []float64) error {
	joint := s.enclosed()
	if len(joint.Segments) == 0 {
		return fmt.Errorf("the joint has no segments: give it at least one tube")
	}
	for i, seg := range joint.Segments {
		if !(seg.Radius > 0) || !(seg.Volume > 0) {
			return fmt.Errorf("segment %d has radius %g m and volume %g m³: both must be positive", i, seg.Radius, seg.Volume)
		}
	}
	if len(s.Holds) == 0 {
		return fmt.Errorf("there are no holds: give at least one")
	}
	for i, h := range s.Holds {
		if !(h.Draw.To > 0) || h.Draw.To > s.Air.Ambient/2 {
			return fmt.Errorf("hold %d is drawn to %g Pa: want more than 0 and at most half of ambient", i, h.Draw.To)
		}
		if !(h.Seconds > 0) || h.Rest < 0 || h.After < 0 || h.Draw.Seconds < 0 {
			return fmt.Errorf("hold %d lasts %g s, with %g s of draw, %g s of rest before and %g s after: want a positive length and no negative times", i, h.Seconds, h.Draw.Seconds, h.Rest, h.After)
		}
	}
	if err := s.Sensor.validate(); err != nil {
		return err
	}
	if err := s.Events.validate(len(s.Holds), len(joint.Segments)); err != nil {
		return err
	}
	return s.validatePlungers(isolated)
}

func (e Events) validate(holds, segments int) error {
	known := func(kind string, i, hold int) error {
		if hold < 0 || hold >= holds {
			return fmt.Errorf("%s %d belongs to hold %d: there are %d", kind, i, hold, holds)
		}
		return nil
	}
	for i, o := range e.Openings {
		if err := known("opening", i, o.Hold); err != nil {
			return err
		}
	}
	for i, b := range e.Bumps {
		if err := known("bump", i, b.Hold); err != nil {
			return err
		}
	}
	for i, p := range e.Plungers {
		if err := known("plunger", i, p.Hold); err != nil {
			return err
		}
	}
	for i, l := range e.Lamps {
		if err := known("lamp", i, l.Hold); err != nil {
			return err
		}
		if l.Segment >= segments {
			return fmt.Errorf("lamp %d shines on segment %d: there are %d", i, l.Segment, segments)
		}
	}
	return nil
}
