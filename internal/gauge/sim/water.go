package sim

import (
	"fmt"
	"math"
	"math/rand/v2"

	"boretight/internal/trace"
)

// WaterColumn is a U-shaped tube of water on the gauge, in place of a joint: the
// difference of its levels is what the gauge sees. The numbers of water and gravity are
// its own.
type WaterColumn struct {
	Air   Air
	Place Place
	// Water's temperature in kelvins; 0 means the room's.
	Water float64
	// From is the height at the start, in metres; negative for suction.
	From   float64
	Levels []Level
	Sensor Sensor
	// Seed of everything random in the gauge.
	Seed uint64
}

// Level is a height of the column that is gone to within Ramp seconds and then held.
type Level struct {
	Height        float64 // m, true, not as somebody reads it; negative for suction
	Ramp, Seconds float64
}

// Place is where gravity acts.
type Place struct {
	Latitude float64 // degrees
	Altitude float64 // m
	// Anomaly is what rocks below add to gravity, in m/s².
	Anomaly float64
}

// Gravity in m/s²: the formula of the Geodetic Reference System 1980 (Moritz 1980), with
// the gradient in free air.
func (p Place) Gravity() float64 {
	sin, sin2 := math.Sin(p.Latitude*math.Pi/180), math.Sin(2*p.Latitude*math.Pi/180)
	return 9.780327*(1+0.0053024*sin*sin-0.0000058*sin2*sin2) - 3.086e-6*p.Altitude + p.Anomaly
}

// waterDensity of air-free water at one atmosphere, in kg/m³, at temperature in kelvins
// (Kell 1975).
func waterDensity(temperature float64) float64 {
	t := temperature - 273.15
	const (
		a0, a1, a2 = 999.83952, 16.945176, -7.9870401e-3
		a3, a4, a5 = -46.170461e-6, 105.56302e-9, -280.54253e-12
		b          = 16.879850e-3
	)
	return (a0 + t*(a1+t*(a2+t*(a3+t*(a4+t*a5))))) / (1 + b*t)
}

// Pressure is the gauge pressure in Pa that a height in metres balances: the water's
// weight less that of the air beside it.
func (c WaterColumn) Pressure(height float64) float64 {
	air := c.Air.withDefaults()
	water := c.Water
	if water == 0 {
		water = air.Temperature
	}
	beside := air.Ambient / (gasConstant * air.Temperature)
	return (waterDensity(water) - beside) * c.Place.Gravity() * height
}

// LevelTruth is what a level really was.
type LevelTruth struct {
	Height   float64 // m
	Pressure float64 // gauge pressure, Pa
	From, To float64 // s on the trace's clock, the ramp not included
}

// Run simulates the column and returns what the gauge said, with the truth of each level.
func (c WaterColumn) Run() (trace.Trace, []LevelTruth, error) {
	reader, truths, err := c.read(nil)
	if err != nil {
		return trace.Trace{}, nil, err
	}
	return reader.trace(), truths, nil
}

func (c WaterColumn) read(before *reader) (*reader, []LevelTruth, error) {
	if len(c.Levels) == 0 {
		return nil, nil, fmt.Errorf("simulate a water column: there are no levels: give at least one")
	}
	c.Air, c.Sensor = c.Air.withDefaults(), c.Sensor.withDefaults()
	if err := c.Sensor.validate(); err != nil {
		return nil, nil, fmt.Errorf("simulate a water column: %w", err)
	}
	r := newReader(c.Sensor, c.Air.Temperature-273.15, rand.New(rand.NewPCG(c.Seed, 0x77617465)))
	r.goOn(before)
	now := c.at(0, c.From)
	truths := make([]LevelTruth, len(c.Levels))
	for i, l := range c.Levels {
		if l.Ramp < 0 || l.Seconds < 0 || l.Ramp+l.Seconds == 0 {
			return nil, nil, fmt.Errorf("simulate a water column: level %d is gone to within %g s and held for %g s: want no negative times and some time", i, l.Ramp, l.Seconds)
		}
		reached := c.at(now.t+l.Ramp, l.Height)
		left := c.at(reached.t+l.Seconds, l.Height)
		for _, next := range []instantaneous{reached, left} {
			if next.t > now.t {
				r.see(now, next)
			}
			now = next
		}
		truths[i] = LevelTruth{Height: l.Height, Pressure: c.Pressure(l.Height), From: reached.t, To: left.t}
	}
	return r, truths, nil
}

// at is the air at the gauge at a time with the column at a height.
func (c WaterColumn) at(t, height float64) instantaneous {
	ambient := c.Air.Ambient + c.Air.AmbientDrift*t
	return instantaneous{t: t, p: ambient + c.Pressure(height), ambient: ambient}
}
