package sim

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// Family is a named kind of scenario, from which any number can be drawn.
type Family struct {
	Name string
	// Description in a few words, for tables.
	Description string
	// Disturbed says that something goes wrong in every one of its holds.
	Disturbed bool
	make      func(d dice) Scenario
	// guess, of families with none of make, also says what bore the repairer tells.
	guess func(d dice) (s Scenario, told float64)
}

// Draw makes a scenario of the family from the random source. The source decides
// everything, the seed of the gauge's noise included.
func (f Family) Draw(random *rand.Rand) Scenario {
	s, _ := f.DrawTold(random)
	return s
}

// DrawTold makes the same scenario and says what mean bore radius in metres a repairer
// would tell of it: that of the joint, unless the family is about telling it wrong.
func (f Family) DrawTold(random *rand.Rand) (s Scenario, told float64) {
	if f.guess != nil {
		s, told = f.guess(dice{random})
	} else {
		s = f.make(dice{random})
		told = s.Joint.Bore()
	}
	s.Name = f.Name
	s.Seed = random.Uint64()
	return s, told
}

// FamilyNamed finds a family by its name.
func FamilyNamed(name string) (Family, error) {
	families := Families()
	i := slices.IndexFunc(families, func(f Family) bool { return f.Name == name })
	if i < 0 {
		return Family{}, fmt.Errorf("find the family of scenarios %q: there is none of that name", name)
	}
	return families[i], nil
}

// Families lists all kinds, undisturbed ones first.
func Families() []Family {
	return []Family{
		{Name: "small-laminar", Description: "10–60 ml, thin gaps, both signs", make: smallLaminar},
		{Name: "wide", Description: "150 ml–2.5 l, bores of 18–45 mm diameter", make: wide},
		{Name: "fast", Description: "time constants of 0.25–1 s", make: fast},
		{Name: "mixed-law", Description: "any inertial share from 0 to 1", make: mixedLaw},
		{Name: "tight", Description: "time constants of 600–20,000 s", make: tight},
		{Name: "coarse", Description: "10-bit gauge at 20 Hz", make: coarse},
		{Name: "correlated", Description: "mostly correlated noise, wandering zero", make: correlated},
		{Name: "lossy", Description: "10–30 % of readings lost in bursts", make: lossy},
		{Name: "creep", Description: "soft hose and creeping pads", make: creeping},
		{Name: "pressure", Description: "small joints pumped up", make: pressure},
		{Name: "mixture", Description: "any undisturbed kind", make: mixture},
		{Name: "stated-priors", Description: "all that is not told as the estimate believes it to be", guess: statedPriors},
		{Name: "opens", Description: "a seat opens in mid-hold", Disturbed: true, make: opens},
		{Name: "doubles", Description: "the leak doubles in mid-hold", Disturbed: true, make: doubles},
		{Name: "bump", Description: "a knock at the hose", Disturbed: true, make: bump},
		{Name: "finger", Description: "a finger slips slowly", Disturbed: true, make: finger},
		{Name: "redraw", Description: "drawn again without a vent", Disturbed: true, make: redraw},
		{Name: "lamp", Description: "a lamp warms the hose", Disturbed: true, make: lamp},
		{Name: "hand", Description: "a hand warms the whole joint", Disturbed: true, make: hand},
	}
}

// dice draws the kinds of numbers that scenarios are made of.
type dice struct{ *rand.Rand }

// even is uniform between two values.
func (d dice) even(from, to float64) float64 { return from + (to-from)*d.Float64() }

// log is uniform in the logarithm.
func (d dice) log(from, to float64) float64 {
	return from * math.Exp(d.Float64()*math.Log(to/from))
}

// chance is true with probability p.
func (d dice) chance(p float64) bool { return d.Float64() < p }

// pick chooses one of several.
func pick[T any](d dice, from ...T) T { return from[d.IntN(len(from))] }

// air is a room between sea level and 1,000 m, warm or cool, in slow weather.
func (d dice) air() Air {
	return Air{
		Ambient:      d.even(89e3, 103.5e3),
		Temperature:  d.even(289, 300),
		AmbientDrift: d.even(-0.03, 0.03), // 1 hPa/h
		WallDrift:    d.even(-3e-4, 3e-4),
	}
}

// gauge is a cheap dead-ended membrane sensor.
func (d dice) gauge() Sensor {
	return Sensor{
		Rate: pick(d, 50.0, 100, 100, 200), Jitter: d.even(0, 2e-4),
		Lag: d.even(3e-3, 15e-3), Zero: d.even(-25, 25), Noise: d.log(0.5, 3),
		Correlated: pick(d, 0, 0, d.even(0.1, 0.6)), Memory: d.even(0.5, 0.9),
		Drift: d.even(-0.02, 0.02), Step: pick(d, 0.1, 0.5, 1),
		Min: -7500, Max: 7500, Thermometer: true, WarmBy: d.even(0, 0.3),
	}
}

// draw is one of the ways a repairer takes a joint to 1.0–1.6 times the stated
// pressure difference.
func (d dice) draw() Draw {
	draw := Draw{Kind: pick(d, Strokes, Strokes, Smooth, Smooth, Linear, Syringe, Plateau), To: StatedPa * d.even(1, 1.6)}
	switch draw.Kind {
	case Strokes:
		draw.Strokes = 2 + d.IntN(5)
		draw.Seconds = float64(draw.Strokes) * d.even(0.3, 0.5)
	case Plateau:
		draw.Seconds = d.even(1.5, 5)
	default:
		draw.Seconds = d.even(0.3, 3)
	}
	return draw
}

// hold is a whole cycle of the given length.
func (d dice) hold(sign Sign, seconds float64) Hold {
	h := Hold{
		Rest: d.even(1.2, 3), Sign: sign, Draw: d.draw(), Seconds: seconds,
		Vent: Vent{Tau: d.even(0.02, 0.1)}, After: d.even(1, 3),
	}
	if d.chance(0.3) {
		h.Vent.Open = d.even(0.4, 1.2)
	}
	return h
}

// joint is a bore of the given mean radius and total volume, straight or tapered,
// on a hose of some centimetres.
func (d dice) joint(radius, volume float64) Joint {
	hose := Hose(d.even(0.1, 0.4))
	hose.Volume = min(hose.Volume, volume/4)
	bore := volume - hose.Volume
	if d.chance(0.3) {
		return Joint{Segments: append(Taper(0.75*radius, 1.25*radius, bore, 5), hose)}
	}
	return Joint{Segments: []Segment{Tube(radius, bore), hose}}
}

// seats splits a throughput of the inertial share over one to four seats.
func (d dice) seats(q, share float64, sign Sign, air Air) []Leak {
	n := 1 + d.IntN(4)
	parts := make([]float64, n)
	var sum float64
	for i := range parts {
		parts[i] = d.log(0.05, 1)
		sum += parts[i]
	}
	leaks := make([]Leak, 0, n)
	for _, part := range parts {
		// The families only ask for what a seat can do, so no error can come.
		if leak, err := NewLeak(q*part/sum, share, StatedPa, sign, air); err == nil {
			leaks = append(leaks, leak)
		}
	}
	return leaks
}
