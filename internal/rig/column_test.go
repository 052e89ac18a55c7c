package rig_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/rig"
)

const celsius = 273.15

// benchColumn is a plain column of distilled water at a known place, read to half a
// millimetre.
func benchColumn() rig.Column {
	return rig.Column{
		Temperature: rig.Measured{Value: 20 + celsius, U: 1},
		Ambient:     rig.Measured{Value: 101325, U: 500},
		Place:       rig.Place{Latitude: 52, Told: true},
		ReadU:       0.3e-3, MeniscusU: 0.2e-3, RulerU: 5e-4, WaterU: 1e-4, Lean: 0.02,
	}
}

// 100 mm at 20 °C and 52°: ρgh with Tanaka's density and WGS 84 gravity is 979.488 Pa,
// less displaced moist air 978.311 Pa, computed apart from this program; dry air, which
// is taken here, is 5e-3 kg/m³ heavier.
func TestColumnOfAHundredMillimetres(t *testing.T) {
	c := benchColumn()
	c.Lean = 0
	d := c.Difference(0.1)
	assert.InDelta(t, 978.311, d.Value, 6e-3)
	assert.InDelta(t, -978.311, c.Difference(-0.1).Value, 6e-3, "suction")
}

func TestBudgetOfAColumn(t *testing.T) {
	d := benchColumn().Difference(0.1)
	u := map[string]float64{}
	for _, line := range d.Budget {
		u[line.Source] = line.U
	}
	const perMetre = 9783
	assert.InEpsilon(t, 1.41421*0.3e-3*perMetre, u["reading of the ruler"], 1e-3, "two levels")
	assert.InEpsilon(t, 0.2e-3*perMetre, u["meniscus"], 1e-3)
	assert.InEpsilon(t, 5e-4*978.3, u["scale of the ruler"], 1e-3)
	// dρ/dT of water at 20 °C is −0.207 kg/m³/K, of air +0.0041.
	assert.InDelta(t, 0.203*9.8125*0.1, u["temperature of the water"], 2e-3)
	assert.InEpsilon(t, 5e-4/9.8125*978.3, u["gravity"], 1e-3)
	assert.InEpsilon(t, 0.02*0.02/6.7082*978.3, u["lean of the ruler"], 1e-2)
}

func TestGravityOfNoPlaceIsAnywhereOnEarth(t *testing.T) {
	g := rig.Place{}.Gravity()
	assert.InDelta(t, 9.8063, g.Value, 1e-3)
	assert.InDelta(t, 0.015, g.U, 1e-4)
	told := rig.Place{Latitude: 45, Told: true}.Gravity()
	assert.InDelta(t, 9.80620, told.Value, 1e-5, "GRS80 series of 40 CFR 1065.630: 9.8061992026")
}

func TestMonteCarloAgreesWithTheColumnsBudget(t *testing.T) {
	c := benchColumn()
	model, inputs := c.MonteCarloInputs(0.25)
	d := c.Difference(0.25)
	mean, u := monteCarlo(model, inputs)
	assert.InDelta(t, d.Value, mean, 4*d.U/141)
	assert.InEpsilon(t, d.U, u, 0.03)
}

func TestColumnThatCannotStandIsRefused(t *testing.T) {
	for name, spoil := range map[string]func(*rig.Column){
		"water of 293 °C":            func(c *rig.Column) { c.Temperature.Value = 293 + celsius },
		"water at an unknown warmth": func(c *rig.Column) { c.Temperature = rig.Measured{} },
		"a ruler read to less than nothing": func(c *rig.Column) {
			c.ReadU = -1
		},
		"a ruler that lies down":   func(c *rig.Column) { c.Lean = 1 },
		"a room without air":       func(c *rig.Column) { c.Ambient.Value = 0 },
		"a latitude of 95 degrees": func(c *rig.Column) { c.Place.Latitude = 95 },
	} {
		t.Run(name, func(t *testing.T) {
			c := benchColumn()
			spoil(&c)
			_, err := rig.CalibrateAgainst(c, rig.Gauge{}, []rig.Level{{Height: 0}, {Height: 0.1, Reading: 978}, {Height: 0.2, Reading: 1957}})
			var refusal *rig.Refusal
			require.ErrorAs(t, err, &refusal)
		})
	}
}
