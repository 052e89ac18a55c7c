package sim

import (
	"cmp"
	"fmt"
	"slices"
)

// Barrel is a syringe on the joint whose air is open to the bore. Its air warms and
// cools in its barrel like that of any other stretch.
type Barrel struct {
	// Radius of its barrel in metres; 0 means 2.4 mm, that of 1 ml.
	Radius float64
	// Volume of air in it at the start, in m³; 0 means that its plunger is pushed home.
	Volume float64
}

// Plunger is a movement of the syringe's plunger: out by Volume (m³, negative for in)
// within Seconds, At seconds after the isolation of the hold it names. It stays where it
// was left: a further one, after the vent, puts it back.
type Plunger struct {
	Hold        int
	At, Seconds float64
	Volume      float64
}

// barrelVolume is what the rings of a syringe are cut from, in m³; how much of it there
// is at a time is a factor.
const barrelVolume = 1e-6

// segment is the stretch whose rings the air in a syringe is a part or a multiple of.
func (b Barrel) segment() Segment {
	if b.Radius == 0 {
		b.Radius = 2.4e-3
	}
	return Segment{Radius: b.Radius, Volume: barrelVolume, Rings: 16}
}

// moved is how far the plunger is out, in m³, at t seconds after isolation.
func (p Plunger) moved(t float64) float64 {
	return p.Volume * gentle(ramp(t-p.At, p.Seconds))
}

// barrel is the air in the syringe at time t, in m³.
func (e *timedEvents) barrel(syringe Barrel, t float64) float64 {
	v := syringe.Volume
	for _, p := range e.Plungers {
		v += p.moved(t - e.isolated[p.Hold])
	}
	return v
}

// validatePlungers names a plunger that would be pushed further than home.
func (s Scenario) validatePlungers(isolated []float64) error {
	plungers := slices.Clone(s.Events.Plungers)
	end := func(p Plunger) float64 { return isolated[p.Hold] + p.At + p.Seconds }
	slices.SortStableFunc(plungers, func(a, b Plunger) int { return cmp.Compare(end(a), end(b)) })
	const rounding = 1e-15 // m³
	v := s.Barrel.Volume
	if v < 0 {
		return fmt.Errorf("the syringe holds %g m³: want 0 or more", v)
	}
	for _, p := range plungers {
		if v += p.Volume; v < -rounding {
			return fmt.Errorf("the plunger of hold %d is pushed in by %g m³, %g m³ further than home: start with more air in the syringe, or pull it out first", p.Hold, -p.Volume, -v)
		}
	}
	return nil
}
