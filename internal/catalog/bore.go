package catalog

import (
	"boretight/internal/air"
	"boretight/internal/quantity"
	"boretight/internal/rig"
)

// Length returns how long the bore is.
func (j Joint) Length() quantity.Length {
	var l quantity.Length
	for _, p := range j.Bore {
		l += p.Length.Value
	}
	return l
}

// Volume returns the bore's volume with an honest uncertainty; chimneys of tone holes
// are within it. It fails only for a joint without a bore.
func (j Joint) Volume() (rig.Volume, error) { return rig.BoreVolume(j.tapers()...) }

// SectionVolume returns the volume of a section's stretch of bore.
func (j Joint) SectionVolume(s Section) (rig.Volume, error) {
	return rig.BoreVolume(j.stretch(float64(s.From.Value), float64(s.To.Value))...)
}

// HeatDiameter returns the diameter of the cylinder in which heat acts as slowly as in
// the whole bore; see [air.HeatDiameter].
func (j Joint) HeatDiameter() quantity.Length {
	return quantity.Length(air.HeatDiameter(j.tapers()...))
}

// DiameterAt returns the bore's diameter at a position, that of the nearer end outside
// the bore.
func (j Joint) DiameterAt(at quantity.Length) quantity.Length {
	x := float64(min(max(at, 0), j.Length()))
	var d float64
	for _, t := range j.tapers() {
		d = t.To
		if x <= t.Length {
			return quantity.Length(diameter(t, x))
		}
		x -= t.Length
	}
	return quantity.Length(d)
}

// SeatsIn returns the names of the seats that a section has.
func (j Joint) SeatsIn(s Section) []string {
	names := []string{}
	for _, seat := range j.Seats {
		if s.From.Value <= seat.At.Value && seat.At.Value <= s.To.Value {
			names = append(names, seat.Name)
		}
	}
	return names
}

func (j Joint) tapers() []air.Taper {
	tapers := make([]air.Taper, len(j.Bore))
	for i, p := range j.Bore {
		tapers[i] = air.Taper{Length: float64(p.Length.Value), From: float64(p.From.Value), To: float64(p.To.Value)}
	}
	return tapers
}

// stretch cuts the bore out between two positions.
func (j Joint) stretch(from, to float64) []air.Taper {
	var cut []air.Taper
	start := 0.0
	for _, t := range j.tapers() {
		a, b := max(from-start, 0), min(to-start, t.Length)
		if a < b {
			cut = append(cut, air.Taper{Length: b - a, From: diameter(t, a), To: diameter(t, b)})
		}
		start += t.Length
	}
	return cut
}

// diameter returns a taper's diameter at x from its beginning.
func diameter(t air.Taper, x float64) float64 { return t.From + (t.To-t.From)*x/t.Length }
