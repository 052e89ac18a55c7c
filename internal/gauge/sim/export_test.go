package sim

import "math"

// CRC16 lets the tests hold the checksum against its catalogue value.
var CRC16 = crc16

// ReadingFrame and IdentityFrame let the tests hold frames against the examples
// of the protocol's page.
var ReadingFrame = readingFrame

// IdentityFrame of a gauge of the example's serial number.
func IdentityFrame(serial string, lowest, highest, resolution, rate float64) []byte {
	return identityFrame(nil, identity{serial: serial, min: lowest, max: highest, resolution: resolution, rate: rate})
}

// Wantzel is the flow function of the entry.
var Wantzel = wantzel

// Tabulated returns the throughput of the seats at Δ as the simulation sees it.
func Tabulated(seats []Leak, air Air, reach, delta float64) float64 {
	q, _ := newFlow(seats, air.withDefaults(), reach).at(delta)
	return q
}

// WorstMassError runs a scenario and returns the largest relative difference, over
// all steps, between the mass that the flows have left in the bore and the mass
// that pressure and ring temperatures amount to.
func WorstMassError(s Scenario) float64 {
	s = s.withDefaults()
	phases := schedule(s.Holds)
	e := newEngine(s, isolations(phases, len(s.Holds)))
	var worst float64
	see := func(_, _ instantaneous) {
		pi := e.pi(e.p)
		mass := e.p * e.now.extra / e.wall[0]
		for n, c := range e.columns {
			part := 1.0
			if n == e.barrel {
				part = e.now.barrel
			}
			for i, theta := range c.theta {
				mass += part * e.p * c.volume[i] / (theta * pi)
			}
		}
		give := e.volume * e.joint.Compliance / e.air.Ambient
		mass -= e.p * give * (e.now.ambient - e.p) / e.wall[0]
		worst = max(worst, math.Abs(mass/e.mass-1))
	}
	e.run(phases, s.longestStep(), see, func(phase, instantaneous) {})
	return worst
}

// Lasting runs a scenario with steps of at most longest seconds and returns the
// gauge pressure at its end.
func Lasting(s Scenario, longest float64) float64 {
	s = s.withDefaults()
	phases := schedule(s.Holds)
	e := newEngine(s, isolations(phases, len(s.Holds)))
	e.run(phases, longest, func(_, _ instantaneous) {}, func(phase, instantaneous) {})
	return e.p - e.now.ambient
}
