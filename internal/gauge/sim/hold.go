package sim

import "math"

// Hold is one cycle: rest, draw, hold, vent, rest.
type Hold struct {
	// Rest before the draw, in seconds.
	Rest float64
	// Shut keeps the valve shut during that rest, so that drift shows in the bore.
	Shut bool
	Sign Sign
	Draw Draw
	// Seconds from isolation to vent.
	Seconds float64
	Vent    Vent
	// After is the time from the vent's start to the end of this hold, in seconds.
	After float64
}

// Vent lets the joint back to ambient.
type Vent struct {
	// None leaves the joint drawn: the next hold's draw starts from there, or the
	// trace ends.
	None bool
	// Tau of the pressure's return, in seconds; 0 means 40 ms.
	Tau float64
	// Open is how long the valve stays open, in seconds; 0 means until the next
	// draw. Shut again early, the bore shows its rebound.
	Open float64
}

func (v Vent) tau() float64 {
	if v.Tau == 0 {
		return 0.04
	}
	return v.Tau
}

// phaseName says what is going on, for the truth and for choosing steps.
type phaseName uint8

const (
	resting phaseName = iota
	drawing
	holding
	venting
)

// phase is a stretch of time in which the bore is either left alone (shape nil)
// or led from the gauge pressure it has to another.
type phase struct {
	name       phaseName
	hold       int
	start, end float64 // s
	to         float64 // Pa, gauge
	shape      func(x float64) float64
}

// schedule lists the phases of the holds in order. It depends on nothing but the
// holds, so that events can be placed before anything is computed.
func schedule(holds []Hold) []phase {
	var list []phase
	var t float64
	open := true
	add := func(hold int, phases ...phase) {
		for _, p := range phases {
			if p.end > p.start {
				p.hold = hold
				list = append(list, p)
				t = p.end
			}
		}
	}
	rest := func(seconds float64) phase {
		p := phase{name: resting, start: t, end: t + seconds}
		if open {
			p.shape = even
		}
		return p
	}
	for i, h := range holds {
		open = open && !h.Shut
		add(i, rest(h.Rest))
		add(i, h.Draw.phases(t, h.Sign.gauge(h.Draw.To))...)
		add(i, phase{name: holding, start: t, end: t + h.Seconds})
		open = false
		if h.Vent.None {
			add(i, rest(h.After))
			continue
		}
		lasting := h.After
		if h.Vent.Open > 0 {
			lasting = min(lasting, h.Vent.Open)
		}
		add(i, h.Vent.phase(t, lasting))
		open = h.Vent.Open == 0
		add(i, rest(h.After-lasting))
	}
	return list
}

func (v Vent) phase(start, seconds float64) phase {
	return phase{name: venting, start: start, end: start + seconds, shape: func(x float64) float64 {
		return -math.Expm1(-x * seconds / v.tau())
	}}
}

// gauge is the gauge pressure for a pressure difference of this sign.
func (s Sign) gauge(delta float64) float64 { return s.bore(0, delta) }
