package sim

import "math"

// Events are what goes wrong. Times are seconds after the isolation of the hold
// they name; negative times lie before it.
type Events struct {
	Openings []Opening
	Bumps    []Bump
	Lamps    []Lamp
	// Plungers are no fault but a way to measure: movements of the syringe.
	Plungers []Plunger
}

// Opening is a seat that leaks for part of a hold: a pad that lets go, or a
// finger that slips and is set right again.
type Opening struct {
	Hold int
	Leak Leak
	// From when it opens, over how many seconds it grows to the full leak.
	From, Over float64
	// Until when it is full, over how many seconds it closes; 0 means it stays.
	Until, Closing float64
}

// Bump is a knock at the hose: its volume changes by Volume (m³, positive for
// more) and returns, but for the part Left (0 to 1), within Seconds.
type Bump struct {
	Hold            int
	At, Seconds     float64
	Volume, Residue float64
}

// Lamp warms or cools the wall of a segment (-1: of all) at Rate K/s for Seconds.
type Lamp struct {
	Hold        int
	At, Seconds float64
	Rate        float64
	Segment     int
}

// part is how far the seat is open, 0 to 1, at t seconds after isolation.
func (o Opening) part(t float64) float64 {
	part := ramp(t-o.From, o.Over)
	if o.Until > 0 {
		part *= 1 - ramp(t-o.Until, o.Closing)
	}
	return part
}

// volume is what the bump adds at t seconds after isolation, in m³.
func (b Bump) volume(t float64) float64 {
	x := ramp(t-b.At, b.Seconds)
	wave := math.Sin(math.Pi * x)
	return b.Volume * (wave*wave + b.Residue*gentle(x))
}

// warmth is the wall's rise at t seconds after isolation, in K.
func (l Lamp) warmth(t float64) float64 {
	return l.Rate * min(max(t-l.At, 0), l.Seconds)
}

// ramp goes from 0 at t = 0 to 1 at t = over.
func ramp(t, over float64) float64 {
	switch {
	case t <= 0:
		return 0
	case t >= over:
		return 1
	}
	return t / over
}
