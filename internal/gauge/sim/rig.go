package sim

import (
	"fmt"
	"math"
	"slices"
)

// Rig is what every hold is made through: hose, stoppers and gauge up to the valve,
// with the little that they leak. It is counted once, beside the [Joint] and its seats.
type Rig struct {
	Segments []Segment
	Leaks    []Leak
}

// Reference is a known leak in a fitting of its own, added to a joint or to the rig.
// The zero Reference lets nothing through.
type Reference struct {
	// Area is that of the entry, discharge coefficient included, m²; +Inf for one
	// without loss.
	Area float64
	// Channel is the shape of the narrow part in m³: it carries Channel/μ·(p₁² − p₂²),
	// less in warm air than in cold.
	Channel float64
	// Dead is what the fitting holds; a segment without volume is none.
	Dead Segment
}

// NewReference returns the reference leak that carries exactly the throughput q
// (Pa·m³/s) at the pressure difference at (Pa) of the given sign in the given room, with
// the inertial share s (0 to below 1), in a fitting of the given dead volume.
func NewReference(q, s, at float64, sign Sign, air Air, dead Segment) (Reference, error) {
	air = air.withDefaults()
	if !(q > 0) || s == 1 {
		return Reference{}, fmt.Errorf("make a reference leak of %g Pa·m³/s with inertial share %g: want a throughput and a share below 1", q, s)
	}
	leak, err := NewLeak(q, s, at, sign, air)
	if err != nil {
		return Reference{}, err
	}
	return Reference{Area: leak.Area, Channel: leak.Viscous * viscosity(air.Temperature), Dead: dead}, nil
}

// Leak is the reference leak as a seat in a room.
func (r Reference) Leak(air Air) Leak {
	if r.Channel == 0 {
		return Leak{}
	}
	return Leak{Name: "reference leak", Area: r.Area, Viscous: r.Channel / viscosity(air.withDefaults().Temperature)}
}

// Certified is the throughput in Pa·m³/s that a perfect certificate states at the
// pressure difference at (Pa) of the given sign in a room, and the inertial share there.
func (r Reference) Certified(at float64, sign Sign, air Air) (throughput, share float64) {
	air = air.withDefaults()
	leak := r.Leak(air)
	return math.Abs(leak.Throughput(sign.bore(air.Ambient, at), air)), leak.InertialShare(at, sign, air)
}

// Bottle is a rigid bottle of a volume in m³ in place of a joint, a cylinder twice as
// high as it is wide.
func Bottle(volume float64) Joint {
	return Joint{Segments: []Segment{Tube(math.Cbrt(volume/(4*math.Pi)), volume)}}
}

// enclosed is all that holds air in a hold, but for a syringe.
func (s Scenario) enclosed() Joint {
	whole := s.Joint
	whole.Segments = slices.Concat(s.Joint.Segments, s.Rig.Segments)
	if s.Reference.Dead.Volume > 0 {
		whole.Segments = append(whole.Segments, s.Reference.Dead)
	}
	return whole
}

// seats are all that leak: the joint's, the rig's and the reference leak.
func (s Scenario) seats() []Leak {
	return append(slices.Concat(s.Leaks, s.Rig.Leaks), s.Reference.Leak(s.Air))
}
