package sim

import "math"

// Properties of dry air. gamma is taken as exactly 1.4, as in the theory of the
// rebound, although the real value near room temperature is 1.402.
const (
	gamma       = 1.4
	gasConstant = 287.05 // J/(kg·K), specific, dry air
	// poisson is (γ−1)/γ: along an adiabat, T ∝ p^poisson.
	poisson = (gamma - 1) / gamma

	// Thermal diffusivity at 20 °C and one atmosphere, from the reference
	// equation of state and conductivity of air (Lemmon and others 2000, 2004).
	diffusivity20 = 2.135e-5 // m²/s
	celsius20     = 293.15   // K
	atmosphere    = 101325.0 // Pa
)

// StatedPa is the test pressure difference at which leakage rates are stated
// unless a scenario says otherwise, in pascals.
const StatedPa = 2500.0

// Air is the room: what surrounds the joint and leaks into it.
type Air struct {
	// Ambient is the station pressure in pascals; 0 means 101325.
	Ambient float64
	// Temperature of room and walls in kelvins; 0 means 293.15.
	Temperature float64
	// AmbientDrift is weather, in Pa/s: it moves the room, and with it what a
	// vented gauge reads.
	AmbientDrift float64
	// WallDrift is how fast the walls of the whole joint warm, in K/s.
	WallDrift float64
}

func (a Air) withDefaults() Air {
	if a.Ambient == 0 {
		a.Ambient = atmosphere
	}
	if a.Temperature == 0 {
		a.Temperature = celsius20
	}
	return a
}

// diffusivity of air in m²/s at temperature T in kelvins and pressure p in
// pascals.
func diffusivity(temperature, p float64) float64 {
	return diffusivity20 * math.Pow(temperature/celsius20, 1.8) * atmosphere / p
}

// viscosity of air in Pa·s at temperature T in kelvins: 18.206 µPa·s at 20 °C
// (Lemmon and Jacobsen 2004), carried to other temperatures by Sutherland's law.
func viscosity(temperature float64) float64 {
	const s = 111.0 // K
	return 18.206e-6 * math.Pow(temperature/celsius20, 1.5) * (celsius20 + s) / (temperature + s)
}
