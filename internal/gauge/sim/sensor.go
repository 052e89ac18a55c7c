package sim

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"boretight/internal/trace"
)

// Sensor is the gauge: what it makes of the true pressure, in the order lag,
// span and zero, noise, range, quantisation. The zero Sensor is a perfect one at
// 100 readings a second, without a thermometer.
type Sensor struct {
	// Rate of readings per second; 0 means 100.
	Rate float64
	// Jitter is the standard deviation of the instants of reading, in seconds.
	// The stamps tell the true instants.
	Jitter float64
	// Absolute reports the pressure in the bore, not its difference from ambient.
	Absolute bool
	// Lag is the time constant of the membrane and its filter, in seconds.
	Lag float64
	// Zero is added to every reading, in pascals.
	Zero float64
	// Span is the relative error of the scale: 0.01 reads 1 % too much.
	Span float64
	// Hysteresis is by how much more it reads where a pressure was come down to than
	// where it was come up to, in pascals: the play of its membrane.
	Hysteresis float64
	// Noise is the standard deviation of the white part, in pascals.
	Noise float64
	// Correlated is the standard deviation of a part that fades by the factor
	// Memory from one reading to the next.
	Correlated, Memory float64
	// Drift of the zero in Pa/s.
	Drift float64
	// Wander is a random walk of the zero, in Pa/√s.
	Wander float64
	// Step is the quantum of the readings in pascals; 0 means none.
	Step float64
	// Min and Max bound what the sensor can tell, in pascals; both 0 means no
	// bounds. Beyond, the reading is the bound and its status says so.
	Min, Max float64
	// Faults is the fraction of readings with the fault status and a wild value.
	Faults float64
	// Lost is the fraction of readings that never arrive, in bursts of the mean
	// length Burst; 0 means 1, single readings.
	Lost, Burst float64
	// Thermometer adds a temperature, read WarmBy kelvins too high by the warmth of
	// the electronics.
	Thermometer bool
	WarmBy      float64
}

func (s Sensor) withDefaults() Sensor {
	if s.Rate == 0 {
		s.Rate = 100
	}
	s.Burst = max(s.Burst, 1)
	return s
}

// identity is what the sensor says of itself.
func (s Sensor) identity(serial string) identity {
	id := identity{serial: serial, min: s.Min, max: s.Max, resolution: s.Step, rate: s.Rate}
	if s.Absolute {
		id.kind = trace.Absolute
	}
	return id
}

// validate names what no sensor can be.
func (s Sensor) validate() error {
	if s.Rate < 0 || s.Lost < 0 || s.Lost >= 1 || math.Abs(s.Memory) >= 1 || s.Hysteresis < 0 {
		return fmt.Errorf("the sensor reads at %g Hz, loses %g of its readings, remembers %g of its noise and has %g Pa of play: want a positive rate, losses from 0 to below 1, a memory below 1 and no negative play", s.Rate, s.Lost, s.Memory, s.Hysteresis)
	}
	return nil
}

// reader reads the air as the simulation passes by.
type reader struct {
	Sensor
	random  *rand.Rand
	celsius float64

	taken    int     // readings due so far, lost ones included
	due      float64 // s, instant of the next
	membrane float64 // Pa, after the lag
	follower float64 // Pa, what the membrane drags along, behind by its play
	ready    bool
	slowly   float64 // Pa, correlated noise
	walk     float64 // Pa, wandering zero
	losing   bool
	readings []trace.Reading
}

func newReader(s Sensor, celsius float64, random *rand.Rand) *reader {
	r := &reader{Sensor: s, random: random, celsius: celsius}
	r.slowly = r.Correlated * random.NormFloat64()
	r.schedule()
	return r
}

// goOn makes the sensor the one it was at the end of before, if that is not nil: lag,
// play, noise and wandering zero go on.
func (r *reader) goOn(before *reader) {
	if before == nil {
		return
	}
	r.membrane, r.follower, r.ready = before.membrane, before.follower, before.ready
	r.slowly, r.walk = before.slowly, before.walk+before.Drift*before.due
}

// trace is what was read.
func (r *reader) trace() trace.Trace {
	tr := trace.Trace{Readings: r.readings}
	if r.Absolute {
		tr.Kind = trace.Absolute
	}
	return tr
}

// schedule sets the instant of the next reading. Jitter is cut at two fifths of
// the period, so that readings keep their order.
func (r *reader) schedule() {
	period := 1 / r.Rate
	r.due = float64(r.taken) * period
	if r.Jitter > 0 {
		r.due = max(0, r.due+min(max(r.Jitter*r.random.NormFloat64(), -0.4*period), 0.4*period))
	}
}

// sees is what the membrane is exposed to, in pascals.
func (r *reader) sees(i instantaneous) float64 {
	if r.Absolute {
		return i.p
	}
	return i.p - i.ambient
}

// see follows the pressure through one step and takes the readings due in it.
func (r *reader) see(from, to instantaneous) {
	x, end := r.sees(from), r.sees(to)
	if !r.ready {
		r.membrane, r.follower, r.ready = x, x, true
	}
	slope := (end - x) / (to.t - from.t)
	for r.due <= to.t {
		r.take(r.lagged(x, slope, r.due-from.t))
		r.taken++
		r.schedule()
	}
	r.membrane = r.lagged(x, slope, to.t-from.t)
}

// lagged is the membrane's answer, t seconds on, to a pressure that runs straight
// from x: exact, whatever the lag.
func (r *reader) lagged(x, slope, t float64) float64 {
	now := x + slope*t
	if r.Lag == 0 {
		return now
	}
	fading := math.Exp(-t / r.Lag)
	return now - slope*r.Lag*(1-fading) + (r.membrane-x)*fading
}

// drag pulls the follower along, half the play behind.
func (r *reader) drag(pressure float64) {
	r.follower = min(max(r.follower, pressure-r.Hysteresis/2), pressure+r.Hysteresis/2)
}

// take makes a reading of the value behind the membrane, and maybe loses it.
func (r *reader) take(pressure float64) {
	r.slowly = r.Memory*r.slowly + r.Correlated*math.Sqrt(1-r.Memory*r.Memory)*r.random.NormFloat64()
	r.walk += r.Wander / math.Sqrt(r.Rate) * r.random.NormFloat64()
	r.drag(pressure)
	value := r.follower*(1+r.Span) + r.Zero + r.Drift*r.due + r.walk + r.slowly + r.Noise*r.random.NormFloat64()

	reading := trace.Reading{T: time.Duration(math.Round(r.due*1e6)) * time.Microsecond, Celsius: math.NaN()}
	if r.Min != 0 || r.Max != 0 {
		if value < r.Min || value > r.Max {
			reading.Status |= trace.Saturated
		}
		value = min(max(value, r.Min), r.Max)
	}
	if r.Faults > 0 && r.random.Float64() < r.Faults {
		reading.Status |= trace.Faulty
		value = r.Zero
	}
	if r.Step > 0 {
		value = math.Round(value/r.Step) * r.Step
	}
	reading.Pressure = value
	if r.Thermometer {
		reading.Celsius = math.Round((r.celsius+r.WarmBy+0.02*r.random.NormFloat64())*100) / 100
	}
	if !r.lose() {
		r.readings = append(r.readings, reading)
	}
}

// lose decides whether this reading is lost: a chain of two states whose mean
// share and mean length of losses are those of the sensor.
func (r *reader) lose() bool {
	if r.Lost <= 0 {
		return false
	}
	if r.losing {
		r.losing = r.random.Float64() >= 1/r.Burst
	} else {
		r.losing = r.random.Float64() < r.Lost/(1-r.Lost)/r.Burst
	}
	return r.losing
}
