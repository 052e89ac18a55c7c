// Package trace holds what a gauge said: a [Reading], a [Trace] of them in order
// of time, and the trace file, the comma-separated form in which readings leave
// and enter the program.
//
// Sign and zero: a gauge of kind [Gauge] reports bore minus ambient, so suction is
// negative; a gauge of kind [Absolute] reports the pressure in the bore itself.
// Pressures are pascals, times are on the gauge's own clock where it has one.
package trace

import (
	"math"
	"time"
)

// Kind says what a pressure is measured against.
type Kind uint8

const (
	// Gauge is bore minus ambient: negative under suction.
	Gauge Kind = iota
	// Absolute is the pressure in the bore itself, about 100 kPa at rest.
	Absolute
)

// String returns "gauge" or "absolute".
func (k Kind) String() string {
	if k == Absolute {
		return "absolute"
	}
	return "gauge"
}

// Status holds what a gauge says about one of its own readings. The bits are
// those of the frame protocol; bits not named here are reserved and ignored.
type Status uint8

const (
	// Saturated means that the pressure lay outside the sensor's range.
	Saturated Status = 1 << iota
	// Faulty means that the sensor itself reported a fault.
	Faulty
	// SupplyLow means that the gauge's supply was low; the reading still counts.
	SupplyLow
)

// Usable reports whether the pressure beside the status may be used as a value.
func (s Status) Usable() bool { return s&(Saturated|Faulty) == 0 }

// Reading is one sample of a gauge.
type Reading struct {
	// T is the time since the start of the stream, on the gauge's own clock where
	// it has one. It never comes from the wall clock, so a step of that clock
	// cannot bend a decay.
	T time.Duration
	// Pressure in pascals, against what the stream's [Kind] says.
	Pressure float64
	// Celsius is the gauge's temperature in °C, NaN where it gives none.
	Celsius float64
	// Status is what the gauge said of this reading.
	Status Status
}

// Seconds returns the reading's time in seconds.
func (r Reading) Seconds() float64 { return r.T.Seconds() }

// HasTemperature reports whether the gauge gave a temperature with the reading.
func (r Reading) HasTemperature() bool { return !math.IsNaN(r.Celsius) }

// Trace is a stretch of readings of one gauge, in order of time.
type Trace struct {
	Kind     Kind
	Readings []Reading
}
