package rig

import "fmt"

// Level is one height of a water column with what the gauge read there.
type Level struct {
	Height   float64 // of the column, m; negative for suction
	Reading  float64 // gauge pressure, Pa
	ReadingU float64 // of that mean, Pa; 0 when not known
	Course   Course
}

// CalibrateAgainst calibrates a gauge against levels of a water column.
func CalibrateAgainst(column Column, g Gauge, levels []Level) (Calibration, error) {
	if err := column.Validate(); err != nil {
		return Calibration{}, err
	}
	pairs := make([]Pair, len(levels))
	for i, l := range levels {
		pairs[i] = column.Pair(l.Height, l.Reading, l.ReadingU, l.Course)
	}
	return Calibrate(g, pairs, column.Common()...)
}

// Validate refuses a column that cannot stand; NaN fails every comparison.
func (c Column) Validate() error {
	refuse := func(format string, args ...any) error {
		return &Refusal{doingCalibration, fmt.Sprintf(format, args...), ""}
	}
	celsius := c.Temperature.Value - 273.15
	switch {
	case !(celsius >= 0 && celsius <= 40):
		return refuse("water at %.4g °C; its density is known from 0 to 40 °C", celsius)
	case !(c.Temperature.U >= 0 && c.Temperature.U < 20 && c.Ambient.U >= 0 && c.Ambient.U < 2e4 && c.ReadU >= 0 && c.MeniscusU >= 0 && c.RulerU >= 0 && c.WaterU >= 0):
		return refuse("an uncertainty of the water column is below zero, huge or not a number")
	case !(c.Lean >= 0 && c.Lean < 0.35):
		return refuse("a ruler that may lean by %.3g rad (at most 0.35)", c.Lean)
	case !(c.Ambient.Value > 3e4 && c.Ambient.Value < 12e4):
		return refuse("a room at %.5g Pa", c.Ambient.Value)
	case c.Place.Told && !(c.Place.Latitude >= -90 && c.Place.Latitude <= 90 && c.Place.Height > -500 && c.Place.Height < 9000):
		return refuse("a place at latitude %.4g°, %.4g m above the sea", c.Place.Latitude, c.Place.Height)
	}
	return nil
}
