package rig

import (
	"math"

	"boretight/internal/air"
)

// Column is a column of water in a U-shaped tube, read with a ruler: where it stands,
// what it is filled with and how well it is read.
//
//	Δp = (ρ_water(T) − ρ_air)·g·h·(1 − a²/6)
//
// with h the distance of the two levels along the ruler and a the most that the ruler
// may lean. Any lean makes h too long, never too short; a lean evenly spread over ±a
// takes a²/6 away on average, known to a²/(3√5).
type Column struct {
	Temperature Measured // of the water, K
	Ambient     Measured // absolute pressure of the room, Pa; it hardly matters
	Place       Place
	// ReadU is that of one reading of one level, m; a millimetre ruler read to half a
	// millimetre either way has 0.3 mm.
	ReadU float64
	// MeniscusU is that of the difference of the two menisci, m: the same at every
	// height, so it moves the line up or down and leaves its slope alone.
	MeniscusU float64
	// RulerU is the relative standard uncertainty of the ruler's scale.
	RulerU float64
	// WaterU is the relative standard uncertainty of the density beside the temperature:
	// 1e-5 for distilled water, some 2e-4 for hard tap water.
	WaterU float64
	// Lean is the most that the ruler may lean, rad.
	Lean float64
}

// Place is where gravity acts. Without Told nothing is known but the Earth.
type Place struct {
	Latitude float64 // degrees
	Height   float64 // above the sea, m
	Told     bool
}

// Gravity returns the acceleration of free fall in m/s². A place that was told has
// normal gravity with a standard uncertainty of 5e-4 m/s² for what lies below the
// ground; one that was not has the middle of equator (9.780) and pole (9.832).
func (p Place) Gravity() Measured {
	if !p.Told {
		equator, pole := air.Gravity(0, 0), air.Gravity(90, 0)
		return Measured{(equator + pole) / 2, (pole - equator) / 2 / math.Sqrt(3)}
	}
	return Measured{air.Gravity(p.Latitude, p.Height), 5e-4}
}

// Names of what all heights of a column share.
const (
	sourceTemperature = "temperature of the water"
	sourceDensity     = "density of the water"
	sourceGravity     = "gravity"
	sourceRuler       = "scale of the ruler"
	sourceLean        = "lean of the ruler"
	sourceMeniscus    = "meniscus"
	sourceReading     = "reading of the ruler"
)

// sources are the inputs of the column's model at a height.
func (c Column) sources(height float64) []source {
	return []source{
		{name: sourceReading, Measured: Measured{height, math.Sqrt2 * c.ReadU}},
		{name: sourceMeniscus, Measured: Measured{0, c.MeniscusU}},
		{name: sourceRuler, Measured: Measured{1, c.RulerU}},
		{name: sourceTemperature, Measured: c.Temperature},
		{name: sourceDensity, Measured: Measured{1, c.WaterU}},
		{name: sourceGravity, Measured: c.Place.Gravity()},
		{name: sourceLean, Measured: Measured{1 - c.Lean*c.Lean/6, c.Lean * c.Lean / (3 * math.Sqrt(5))}},
		{name: "pressure of the room", Measured: c.Ambient},
	}
}

// columnModel is the model of [Column], its inputs in the order of sources.
func columnModel(x []float64) float64 {
	height := (x[0] + x[1]) * x[2] * x[6]
	temperature, purity, gravity, ambient := x[3], x[4], x[5], x[7]
	density := air.WaterDensity(temperature)*purity - air.Density(ambient, temperature)
	return density * gravity * height
}

// Difference returns the gauge pressure in Pa that a height in m balances, with its
// whole budget. A height is negative for suction.
func (c Column) Difference(height float64) Result { return propagate(columnModel, c.sources(height)) }

// Pair returns a pair for [Calibrate]: a height in m, and what the gauge read there in
// Pa with the standard uncertainty of that mean (0 when not known).
// ReferenceU is that of reading the ruler alone; what all heights share is in Common.
func (c Column) Pair(height, reading, readingU float64, course Course) Pair {
	p := Pair{Reading: reading, ReadingU: readingU, Course: course}
	d := c.Difference(height)
	p.Reference = d.Value
	for _, b := range d.Budget {
		if b.Source == sourceReading {
			p.ReferenceU = b.U
		}
	}
	return p
}

// Common returns what all heights of this column share, for [Calibrate].
func (c Column) Common() []Common {
	const metre = 1.0
	var all []Common
	for _, b := range c.Difference(metre).Budget {
		switch b.Source {
		case sourceReading:
		case sourceMeniscus:
			all = append(all, Common{Source: b.Source, Offset: b.U})
		default:
			all = append(all, Common{Source: b.Source, Relative: b.URelative})
		}
	}
	return all
}
