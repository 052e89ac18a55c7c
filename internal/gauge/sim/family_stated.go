package sim

import "math"

// What the estimate believes of a hold before it looks at it, stated once more: this
// package must not know the estimate's. Holds drawn from these very beliefs tell whether
// its intervals are as wide as the beliefs make them, neither narrower nor wider. They
// are not what joints are like: there is no pad that grows when it is drawn.
const (
	// The inertial share is normal about 0.2 within 0 and 1; mean and deviation both
	// fall away below the throughput of a trickle, in Pa·m³/s.
	statedShare, statedShareU, statedTrickle = 0.2, 0.45, 9e-5
	// The logarithm of the mean bore is off the told one by so much, the second where
	// the told radius is beyond statedWide, in m.
	statedBoreU, statedWideBoreU, statedWide = 0.12, 0.25, 0.012
	// A bore runs evenly from 1−w to 1+w of its mean; these are of w², within 0 and 0.4.
	statedTaper, statedTaperU, statedTaperMost = 0.03, 0.05, 0.4
	// Hose and stoppers hold so much, in m³, but no more than statedHoseMost of the
	// volume; the deviation is 1.5 times their share and 0.02, but at most statedHoseU.
	statedHose, statedHoseMost, statedHoseU = 2e-6, 0.2, 0.25
	// The walls warm or cool by so much, in K/s.
	statedWarmingU = 0.0002
	// The zero drifts by so much, weather included, in Pa/s.
	statedDriftU = 0.03
)

// statedCreep are the shares of Δ by which a joint gives way at each time constant in s.
// Each is believed to be there, the four independent of each other. A joint of this
// package has one creep, so one is drawn of the four and twice as large: mean and
// covariance of the four are the same.
var statedCreep = [...]Creep{{0.006, 0.5}, {0.005, 1.2}, {0.004, 3}, {0.002, 7.5}}

// normal draws a normal value that lies within two bounds.
func (d dice) normal(mean, deviation, from, to float64) float64 {
	for {
		if x := mean + deviation*d.NormFloat64(); x >= from && x <= to {
			return x
		}
	}
}

// statedPriors is a joint of any size with a leak of any time constant from 1.5 to 300 s
// on a quiet gauge, told is the bore's mean radius in m as the repairer says it.
func statedPriors(d dice) (s Scenario, told float64) {
	volume := d.log(10e-6, 2.5e-3)
	told = 4.4e-3 * math.Pow(volume/11.5e-6, 0.34) * d.even(0.8, 1.2)
	off := statedBoreU
	if told > statedWide {
		off = statedWideBoreU
	}
	sign := pick(d, Suction, Pressure)
	q := StatedPa * volume / d.log(1.5, 300)
	known := q * q / (q*q + statedTrickle*statedTrickle)
	share := 0.0
	if known > 1e-6 {
		share = d.normal(known*statedShare, known*statedShareU, 0, 1)
	}
	s = d.of(sign, told, volume, q, share, d.even(8, 30))
	s.Joint = d.statedJoint(told*math.Exp(off*d.NormFloat64()), volume)
	s.Air.AmbientDrift = 0 // in the zero's
	s.Air.WallDrift = statedWarmingU * d.NormFloat64()
	s.Sensor.Correlated = 0
	s.Sensor.Drift = statedDriftU * d.NormFloat64()
	return s, told
}

// statedJoint is a bore of the mean radius with its taper, hose and creep. The volume
// that a repairer measures includes what creeps in the end.
func (d dice) statedJoint(radius, volume float64) Joint {
	creep := pick(d, statedCreep[:]...)
	creep.Kappa *= 2 * d.NormFloat64()
	volume /= 1 + creep.Kappa
	narrow := min(statedHose/volume, statedHoseMost)
	narrow = d.normal(narrow, min(1.5*narrow+0.02, statedHoseU), 0, 0.95)
	w := math.Sqrt(d.normal(statedTaper, statedTaperU, 0, statedTaperMost))
	hose := Hose(1)
	hose.Volume = narrow * volume
	segments := Taper(radius*(1-w), radius*(1+w), volume-hose.Volume, 5)
	if hose.Volume > 0 {
		segments = append(segments, hose)
	}
	return Joint{Segments: segments, Creep: creep}
}
