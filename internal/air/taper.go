package air

import "math"

// Taper is a stretch of bore whose diameter changes evenly, all in m.
type Taper struct {
	Length   float64
	From, To float64 // diameters at its ends
}

// Volume returns the volume of stretches of bore in m³.
func Volume(stretches ...Taper) float64 {
	var squares float64
	for _, s := range stretches {
		squares += s.squares()
	}
	return math.Pi / 4 * squares
}

// HeatDiameter returns the diameter in m of the cylinder in which slow heat acts on
// the pressure as it does in the stretches together: D² = ∫D⁴dx / ∫D²dx, as each
// slice of gas counts with its volume and is slow as its diameter squared.
func HeatDiameter(stretches ...Taper) float64 {
	var squares, fourths float64
	for _, s := range stretches {
		squares += s.squares()
		fourths += s.fourths()
	}
	return math.Sqrt(fourths / squares)
}

// squares is ∫D²dx; written as a sum it holds for a cylinder too.
func (s Taper) squares() float64 {
	a, b := s.From, s.To
	return s.Length * (a*a + a*b + b*b) / 3
}

// fourths is ∫D⁴dx.
func (s Taper) fourths() float64 {
	a, b := s.From, s.To
	return s.Length * (a*a*a*a + a*a*a*b + a*a*b*b + a*b*b*b + b*b*b*b) / 5
}
