package air

import "math"

// Lemmon and Jacobsen, Int. J. Thermophys. 25 (2004) 21, dry air.
const (
	molarMass       = 28.9586  // g/mol
	collisionSize   = 0.360    // nm
	collisionEnergy = 103.3    // K, ε/k
	reducingT       = 132.6312 // K
	reducingDensity = 10.4477  // mol/dm³
)

// Viscosity returns the dynamic viscosity of dry air in Pa·s near room pressure.
// It is the correlation of Lemmon and Jacobsen (2004) for an ideal gas at 101.325 kPa;
// a pressure 10 kPa away would move it by 0.01 %. Humidity, which makes air a little
// thinner, is left out.
func Viscosity(temperature float64) float64 {
	const molarGasConstant = 8.31446261815324 // J/(mol·K), exact
	molPerLitre := StandardPressure / (molarGasConstant * temperature) / 1000
	return viscosity(temperature, molPerLitre)
}

// viscosity is the whole correlation: the dilute gas and the part that grows with
// density. Temperature in K, density in mol/dm³, result in Pa·s.
func viscosity(temperature, density float64) float64 {
	return (diluteMicro(temperature) + residualMicro(temperature, density)) * 1e-6
}

// diluteMicro is the viscosity at zero density in µPa·s, equations 2 and 3.
func diluteMicro(temperature float64) float64 {
	x := math.Log(temperature / collisionEnergy)
	integral := math.Exp(0.431 + x*(-0.4623+x*(0.08406+x*(0.005341-x*0.00331))))
	return 0.0266958 * math.Sqrt(molarMass*temperature) / (collisionSize * collisionSize * integral)
}

// residualMicro is what density adds in µPa·s, equation 4.
func residualMicro(temperature, density float64) float64 {
	tau, delta := reducingT/temperature, density/reducingDensity
	damped := math.Exp(-delta)
	return 10.72*math.Pow(tau, 0.2)*delta +
		1.122*math.Pow(tau, 0.05)*math.Pow(delta, 4) +
		0.002019*math.Pow(tau, 2.4)*math.Pow(delta, 9) -
		8.876*math.Pow(tau, 0.6)*delta*damped -
		0.02916*math.Pow(tau, 3.6)*math.Pow(delta, 8)*damped
}
