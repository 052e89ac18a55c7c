package air

import "math"

// StandardGravity is the standard acceleration of free fall in m/s² (CGPM 1901).
const StandardGravity = 9.80665

// Gravity returns the acceleration of free fall in m/s² at a latitude in degrees
// and a height above the sea in m: Somigliana's formula on the ellipsoid of WGS 84
// (NIMA TR8350.2), less 3.086e-6 m/s² a metre. What the ground below adds or takes
// away, up to some 1e-3 m/s² in mountains, is not known to it.
func Gravity(latitude, height float64) float64 {
	sine := math.Sin(latitude * math.Pi / 180)
	s := sine * sine
	ellipsoid := 9.7803253359 * (1 + 0.00193185265241*s) / math.Sqrt(1-0.00669437999013*s)
	return ellipsoid - 3.086e-6*height
}

// WaterDensity returns the density of pure water without dissolved air in kg/m³ at
// the standard atmosphere, from 0 to 40 °C (Tanaka et al., Metrologia 38 (2001) 301).
// Air that water has taken up makes it lighter by 2 to 5 parts in a million.
func WaterDensity(temperature float64) float64 {
	t := temperature - 273.15
	d := t - 3.983035
	return 999.974950 * (1 - d*d*(t+301.797)/(522528.9*(t+69.34881)))
}

// WaterColumn returns the pressure difference in Pa that a column of water balances
// whose levels, both in air at a pressure (Pa), lie a height (m) apart.
func WaterColumn(height, temperature, pressure, gravity float64) float64 {
	return (WaterDensity(temperature) - Density(pressure, temperature)) * gravity * height
}
