package air_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/air"
)

func TestACylinderIsItsOwnHeatDiameter(t *testing.T) {
	tube := air.Taper{Length: 0.25, From: 14.9e-3, To: 14.9e-3}
	assert.InEpsilon(t, 14.9e-3, air.HeatDiameter(tube), 1e-14)
	assert.InEpsilon(t, 14.9e-3, air.HeatDiameter(tube, tube, tube), 1e-14)
	assert.InEpsilon(t, math.Pi/4*14.9e-3*14.9e-3*0.25, air.Volume(tube), 1e-14)
}

func TestATaperAgreesWithItsIntegrals(t *testing.T) {
	neck := air.Taper{Length: 0.2, From: 12.5e-3, To: 25e-3}
	bow := air.Taper{Length: 0.6, From: 25e-3, To: 60e-3}
	var squares, fourths float64
	const n = 20_000
	for _, s := range []air.Taper{neck, bow} {
		for i := range n {
			d := s.From + (s.To-s.From)*(float64(i)+0.5)/n
			squares += d * d * s.Length / n
			fourths += d * d * d * d * s.Length / n
		}
	}
	assert.InEpsilon(t, math.Sqrt(fourths/squares), air.HeatDiameter(neck, bow), 1e-8)
	assert.InEpsilon(t, math.Pi/4*squares, air.Volume(neck, bow), 1e-8)

	turned := air.Taper{Length: 0.6, From: 60e-3, To: 25e-3}
	assert.InEpsilon(t, air.HeatDiameter(neck, bow), air.HeatDiameter(turned, neck), 1e-14, "direction and order do not matter")
}

func TestTheWideEndRulesTheHeat(t *testing.T) {
	cone := air.Taper{Length: 0.6, From: 10e-3, To: 50e-3}
	sameVolume := math.Sqrt(air.Volume(cone) / (math.Pi / 4 * cone.Length))
	assert.Greater(t, air.HeatDiameter(cone), sameVolume)
	assert.Less(t, air.HeatDiameter(cone), cone.To)
}
