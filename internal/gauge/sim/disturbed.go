package sim

import "math"

// steady is what the disturbed families disturb: a small joint in a hold long
// enough for something to happen in it.
func (d dice) steady() Scenario {
	s := smallLaminar(d)
	s.Holds[0].Seconds = d.even(14, 30)
	return s
}

// throughput is what all seats leak together at the stated pressure difference.
func throughput(s Scenario) (q float64) {
	for _, seat := range s.Leaks {
		q += math.Abs(seat.Throughput(s.Holds[0].Sign.bore(s.Air.Ambient, StatedPa), s.Air))
	}
	return q
}

// another is a further seat, leaking the given multiple of what the joint leaks.
func (d dice) another(s Scenario, times float64) Leak {
	sign := s.Holds[0].Sign
	q := throughput(s)
	// Only what a seat can do is asked for; see seats.
	leak, _ := NewLeak(q*times, d.even(0, 0.3), StatedPa, sign, s.Air)
	return leak
}

func opens(d dice) Scenario {
	s := d.steady()
	s.Events.Openings = []Opening{{
		Leak: d.another(s, d.log(0.5, 5)), Over: d.even(0.005, 0.05),
		From: s.Holds[0].Seconds * d.even(0.3, 0.8),
	}}
	return s
}

func bump(d dice) Scenario {
	s := d.steady()
	// 20–400 Pa of knock, most of which comes back.
	part := d.log(20, 400) / s.Air.Ambient * pick(d, -1.0, 1)
	s.Events.Bumps = []Bump{{
		At: s.Holds[0].Seconds * d.even(0.15, 0.85), Seconds: d.even(0.05, 0.4),
		Volume: part * s.Joint.Volume(), Residue: pick(d, 0, 0, d.even(0, 0.3)),
	}}
	return s
}

func finger(d dice) Scenario {
	s := d.steady()
	slip := Opening{
		Leak: d.another(s, d.log(0.3, 3)), Over: d.even(1, 4),
		From: s.Holds[0].Seconds * d.even(0.2, 0.6),
	}
	if d.chance(0.5) {
		slip.Until = slip.From + slip.Over + d.even(0.5, 3)
		slip.Closing = d.even(0.2, 1)
	}
	s.Events.Openings = []Opening{slip}
	return s
}

func redraw(d dice) Scenario {
	s := d.steady()
	first, second := s.Holds[0], s.Holds[0]
	first.Seconds = d.even(3, 9)
	first.Vent, first.After = Vent{None: true}, 0
	second.Rest = 0
	second.Draw = Draw{Kind: Smooth, To: first.Draw.To * d.even(1, 1.15), Seconds: d.even(0.3, 1)}
	s.Holds = []Hold{first, second}
	return s
}

// doubles is a leak that becomes twice what it was in the middle of a hold that ends,
// as a repairer would end it, while something is left to hold.
func doubles(d dice) Scenario {
	s := d.steady()
	q := throughput(s)
	tau := StatedPa * s.Joint.Volume() / q
	s.Holds[0].Seconds = max(min(s.Holds[0].Seconds, 3*tau), 6)
	s.Events.Openings = []Opening{{
		Leak: d.another(s, 1), Over: d.even(0.005, 0.05),
		From: s.Holds[0].Seconds * d.even(0.4, 0.6),
	}}
	return s
}

// lamp shines on the hose, which is a part of the volume only.
func lamp(d dice) Scenario {
	s := d.steady()
	s.Events.Lamps = []Lamp{{
		At: s.Holds[0].Seconds * d.even(-0.3, 0.4), Seconds: 60,
		Rate: d.even(0.01, 0.03) * pick(d, -1.0, 1), Segment: len(s.Joint.Segments) - 1,
	}}
	return s
}

// hand warms or, by being taken off, cools the whole joint.
func hand(d dice) Scenario {
	s := d.steady()
	s.Events.Lamps = []Lamp{{
		At: s.Holds[0].Seconds * d.even(-0.3, 0.4), Seconds: 60,
		Rate: d.even(0.003, 0.02) * pick(d, -1.0, 1), Segment: -1,
	}}
	return s
}
