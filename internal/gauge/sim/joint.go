package sim

import "math"

// Segment is a stretch of bore of one radius.
type Segment struct {
	// Radius in metres: it decides how fast the air in it takes the wall's
	// temperature.
	Radius float64
	// Volume in m³.
	Volume float64
	// Rings is how many rings its cross-section is cut into; 0 means 32, or 10
	// below 2 mm radius, where heat is over before it can matter: against 96 rings
	// both are good to 0.05 Pa of 2500 Pa after a draw of half a second.
	Rings int
}

func (s Segment) rings() int {
	switch {
	case s.Rings > 0:
		return s.Rings
	case s.Radius < 2e-3:
		return 10
	}
	return 32
}

// Joint is what holds air while the valve is shut: the joint itself and the rig
// up to the valve.
type Joint struct {
	// Segments of the bore, hose included; all at one pressure.
	Segments []Segment
	// Compliance κ is how much the volume gives at once: V = V₀(1 − κΔ/p_a), so
	// that it acts as a volume V₀(1 + κ). A soft hose has up to 0.1 of its own.
	Compliance float64
	// Creep is the part that gives slowly; zero means none.
	Creep Creep
	// Moisture evaporates into the bore; zero means a dry one.
	Moisture Moisture
}

// Creep is a compliance that relaxes: dw/dt = (κΔ − w)/τ, volume less by V₀w/p_a.
type Creep struct {
	Kappa float64 // dimensionless
	Tau   float64 // s
}

// Moisture is a wet wall: the vapour in the bore falls with every draw and comes
// back with the time constant Tau, whichever the sign of the test.
type Moisture struct {
	// Saturation is the vapour pressure the bore strives for, in pascals.
	Saturation float64
	// Dry is by how much it falls short of it at the start, in pascals.
	Dry float64
	Tau float64 // s
}

// Tube returns a cylinder of radius in metres and volume in m³.
func Tube(radius, volume float64) Segment { return Segment{Radius: radius, Volume: volume} }

// Hose returns a hose of 3 mm bore and length in metres.
func Hose(length float64) Segment {
	const radius = 1.5e-3
	return Segment{Radius: radius, Volume: math.Pi * radius * radius * length}
}

// Taper returns a cone between two radii in metres, of volume in m³, as n
// cylinders of equal length.
func Taper(from, to, volume float64, n int) []Segment {
	segments := make([]Segment, n)
	var total float64
	for i := range segments {
		x := (float64(i) + 0.5) / float64(n)
		segments[i].Radius = from + (to-from)*x
		segments[i].Rings = 20
		total += segments[i].Radius * segments[i].Radius
	}
	for i := range segments {
		segments[i].Volume = volume * segments[i].Radius * segments[i].Radius / total
	}
	return segments
}

// Volume is the geometric volume at ambient pressure, in m³.
func (j Joint) Volume() float64 {
	var v float64
	for _, s := range j.Segments {
		v += s.Volume
	}
	return v
}

// EffectiveVolume is d(pV)/dp with the instant compliance, in m³: what holds air
// in a hold, and what a syringe step measures.
func (j Joint) EffectiveVolume() float64 { return j.Volume() * (1 + j.Compliance) }

// Bore is the mean radius in metres as a repairer would tell it: of the widest
// stretches, the hose left out, each weighted by its length.
func (j Joint) Bore() float64 {
	var sum, length float64
	for _, s := range j.Segments {
		if s.Radius < 2e-3 && len(j.Segments) > 1 {
			continue
		}
		l := s.Volume / (s.Radius * s.Radius)
		sum += s.Radius * l
		length += l
	}
	if length == 0 {
		return 0
	}
	return sum / length
}
