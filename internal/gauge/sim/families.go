package sim

import "math"

// sccm is one cm³/min at 0 °C and one atmosphere, as throughput at 20 °C.
const sccm = 1.68875e-3 * celsius20 / 273.15 // Pa·m³/s

// of builds what all families have in common: a joint of a bore and a volume
// with the given throughput and inertial share.
func (d dice) of(sign Sign, radius, volume, q, share, seconds float64) Scenario {
	air := d.air()
	return Scenario{
		Air: air, Joint: d.joint(radius, volume), Leaks: d.seats(q, share, sign, air),
		Holds: []Hold{d.hold(sign, seconds)}, Sensor: d.gauge(),
	}
}

// small is a joint of an oboe, clarinet or flute; the bore goes with the volume.
func (d dice) small() (radius, volume float64) {
	volume = d.log(10e-6, 60e-6)
	radius = min(max(5.2e-3*(volume/20e-6)*d.even(0.8, 1.2), 4e-3), 10e-3)
	return radius, volume
}

func smallLaminar(d dice) Scenario {
	return d.laminar(pick(d, Suction, Suction, Pressure))
}

// laminar is a small joint with a small inertial share. Its throughput lies
// between 0.1 and 20 sccm and its time constant between 1.5 and 300 s.
func (d dice) laminar(sign Sign) Scenario {
	radius, volume := d.small()
	q := d.log(0.1*sccm, 20*sccm)
	q = min(max(q, StatedPa*volume/300), StatedPa*volume/1.5)
	return d.of(sign, radius, volume, q, d.even(0, 0.1), d.even(8, 30))
}

func pressure(d dice) Scenario { return d.laminar(Pressure) }

func wide(d dice) Scenario {
	volume := d.log(150e-6, 2.5e-3)
	// No joint is longer than 1.6 m, so the largest volumes have the widest bores.
	radius := max(d.log(9e-3, 22.5e-3), math.Sqrt(volume/(math.Pi*1.6)))
	tau := d.log(5, 300)
	return d.of(pick(d, Suction, Pressure), radius, volume, StatedPa*volume/tau, d.even(0, 0.3), d.even(12, 40))
}

func fast(d dice) Scenario {
	radius, volume := d.small()
	tau := d.log(0.25, 1)
	s := d.of(pick(d, Suction, Pressure), radius, volume, StatedPa*volume/tau, d.even(0, 0.4), d.even(3, 8))
	s.Holds[0].Draw.To = StatedPa * d.even(1.15, 1.6)
	return s
}

func mixedLaw(d dice) Scenario {
	radius, volume := d.small()
	tau := d.log(2, 60)
	return d.of(pick(d, Suction, Pressure), radius, volume, StatedPa*volume/tau, d.Float64(), d.even(8, 30))
}

func tight(d dice) Scenario {
	radius, volume := d.small()
	tau := d.log(600, 20e3)
	return d.of(pick(d, Suction, Pressure), radius, volume, StatedPa*volume/tau, 0, d.even(12, 40))
}

func coarse(d dice) Scenario {
	s := smallLaminar(d)
	s.Sensor.Rate = 20
	s.Sensor.Step = 2 * 7500.0 / 1024
	s.Sensor.Noise = d.even(0.5, 6)
	return s
}

func correlated(d dice) Scenario {
	s := smallLaminar(d)
	s.Sensor.Noise = d.even(0.3, 1)
	s.Sensor.Correlated = d.even(1, 3)
	s.Sensor.Memory = d.even(0.7, 0.97)
	s.Sensor.Wander = d.even(0, 0.3)
	return s
}

func lossy(d dice) Scenario {
	s := smallLaminar(d)
	s.Sensor.Lost = d.even(0.1, 0.3)
	s.Sensor.Burst = d.log(1, 12)
	return s
}

func creeping(d dice) Scenario {
	s := smallLaminar(d)
	s.Joint.Compliance = d.even(0, 0.05)
	s.Joint.Creep = Creep{Kappa: d.log(0.002, 0.03), Tau: d.log(0.4, 4)}
	return s
}

func mixture(d dice) Scenario {
	return pick(d, smallLaminar, wide, fast, mixedLaw, tight, coarse, correlated, lossy, creeping, pressure)(d)
}
