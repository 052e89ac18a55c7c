package sim

import "math"

// DrawKind is how a joint is taken to the test pressure.
type DrawKind uint8

const (
	// Smooth is one pull or squeeze that slows towards its end.
	Smooth DrawKind = iota
	// Linear changes the pressure evenly.
	Linear
	// Syringe starts and ends gently.
	Syringe
	// Strokes is a hand pump with a check valve: several pulls, between which the
	// joint is left to its leak.
	Strokes
	// Plateau is a pump of constant suction: the pressure is held for the second
	// half of the draw.
	Plateau
	// Instant is a step, for comparison with closed forms.
	Instant
)

// Draw takes the joint from where it is to the test pressure. At its end the
// valve is shut: that is the isolation.
type Draw struct {
	Kind DrawKind
	// To is the pressure difference at isolation, in pascals, always positive.
	To float64
	// Seconds it takes; Instant ignores it. 0 means 1 s.
	Seconds float64
	// Strokes of a hand pump; 0 means 4.
	Strokes int
}

// instant is how long an Instant draw takes: long enough for time to pass, far
// shorter than heat takes to cross the thinnest ring.
const instant = 1e-9 // s

func (d Draw) seconds() float64 {
	switch {
	case d.Kind == Instant:
		return instant
	case d.Seconds == 0:
		return 1
	}
	return d.Seconds
}

// phases lists the parts of a draw, from time start on, to gauge pressure to.
func (d Draw) phases(start, to float64) []phase {
	end := start + d.seconds()
	switch d.Kind {
	case Strokes:
		return d.strokes(start, to)
	case Plateau:
		middle := (start + end) / 2
		return []phase{
			{name: drawing, start: start, end: middle, to: to, shape: slowing},
			{name: drawing, start: middle, end: end, to: to, shape: even},
		}
	case Linear, Instant:
		return []phase{{name: drawing, start: start, end: end, to: to, shape: even}}
	case Syringe:
		return []phase{{name: drawing, start: start, end: end, to: to, shape: gentle}}
	}
	return []phase{{name: drawing, start: start, end: end, to: to, shape: slowing}}
}

// strokes lists pulls and returns. Each pull takes a fixed part of what its
// predecessor left, as a pump of fixed stroke does; the last ends at to.
func (d Draw) strokes(start, to float64) []phase {
	const (
		pulling = 0.6  // part of a stroke that moves air, common practice, no source
		left    = 0.75 // of the remaining way after each pull
	)
	n := d.Strokes
	if n == 0 {
		n = 4
	}
	// The last stroke has no return: the valve is shut at its end.
	stroke := d.seconds() / (float64(n) - 1 + pulling)
	var list []phase
	for i := range n {
		from := start + float64(i)*stroke
		level := to * (1 - math.Pow(left, float64(i+1))) / (1 - math.Pow(left, float64(n)))
		list = append(list, phase{name: drawing, start: from, end: from + pulling*stroke, to: level, shape: gentle})
		if i < n-1 {
			list = append(list, phase{name: drawing, start: from + pulling*stroke, end: from + stroke})
		}
	}
	return list
}

// Shapes of a pull: how much of the way is done after the part x of the time.

func even(x float64) float64   { return x }
func gentle(x float64) float64 { return x * x * (3 - 2*x) }

func slowing(x float64) float64 {
	const rate = 4.0
	return math.Expm1(-rate*x) / math.Expm1(-rate)
}
