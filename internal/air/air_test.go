package air_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/air"
)

const (
	celsius = 273.15
	roomT   = 293.15
	ambient = air.StandardPressure
	roomMu  = 18.206e-6 // 20 °C, Lemmon and Jacobsen 2004
	perMin  = 60e6      // m³/s to cm³/min
)

// Published check values: Lemmon and Jacobsen, Int. J. Thermophys. 25 (2004) 21,
// table for dry air, in K, mol/dm³ and µPa·s.
func TestViscosityPassesThePapersCheckTable(t *testing.T) {
	for _, c := range []struct{ temperature, density, want float64 }{
		{100, 0, 7.09559},
		{300, 0, 18.5230},
		{100, 28, 107.923},
		{200, 10, 21.1392},
		{300, 5, 21.3241},
		{132.64, 10.4, 17.7623},
	} {
		assert.InEpsilon(t, c.want, air.ViscosityAt(c.temperature, c.density)*1e6, 4e-6, "%g K, %g mol/dm³", c.temperature, c.density)
	}
}

// Dry air at 101 325 Pa: equation of state of Lemmon et al. 2000, transport
// properties of Lemmon and Jacobsen 2004.
var dryAir = []struct{ t, density, microViscosity, diffusivity float64 }{
	{0, 1.29276, 17.218, 1.873e-5},
	{15, 1.22525, 17.962, 2.068e-5},
	{20, 1.20429, 18.206, 2.135e-5},
	{25, 1.18404, 18.448, 2.202e-5},
	{26.85, 1.17672, 18.537, 2.228e-5},
}

func TestDryAirAgreesWithTheReferenceEquations(t *testing.T) {
	for _, c := range dryAir {
		kelvin := c.t + celsius
		assert.InEpsilon(t, c.microViscosity, air.Viscosity(kelvin)*1e6, 4e-5, "viscosity at %g °C", c.t)
		assert.InEpsilon(t, c.density, air.Density(ambient, kelvin), 4e-4, "density at %g °C", c.t)
		assert.Less(t, air.Density(ambient, kelvin), c.density, "an ideal gas is the lighter one at %g °C", c.t)
		assert.InEpsilon(t, c.diffusivity, air.ThermalDiffusivity(kelvin, ambient), 4e-3, "diffusivity at %g °C", c.t)
	}
	assert.InEpsilon(t, 2*2.135e-5, air.ThermalDiffusivity(roomT, ambient/2), 1e-12, "thin air evens out faster")
}

func TestConditionsKnowTheBore(t *testing.T) {
	suction := air.Conditions{Sign: air.Suction, Difference: 2500, Ambient: 98300}
	assert.Equal(t, 95800.0, suction.Bore())
	assert.Equal(t, 97050.0, suction.MeanPressure())
	pressure := air.Conditions{Sign: air.Pressure, Difference: 2500, Ambient: 98300}
	assert.Equal(t, 100800.0, pressure.Bore())
	assert.Equal(t, 99550.0, pressure.MeanPressure())
	assert.Equal(t, "suction pressure none", air.Suction.String()+" "+air.Pressure.String()+" "+air.Sign(0).String())
}
