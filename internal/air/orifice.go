package air

import "math"

// Orifice returns the throughput in Pa·m³/s of a hole from one absolute pressure
// to another (Saint-Venant–Wantzel), choked where it must be; negative when the
// second pressure is the higher one. Area is the hole's, in m²; discharge is the
// coefficient of discharge, about 0.6 to 0.65 for a thin edge.
func Orifice(area, discharge, from, to, temperature float64) float64 {
	if to > from {
		return -Orifice(area, discharge, to, from, temperature)
	}
	return discharge * area * from * math.Sqrt(SpecificGasConstant*temperature) * flowFunction(to/from)
}

// CriticalRatio returns the ratio of pressures below which a hole is choked, 0.528.
func CriticalRatio() float64 {
	return math.Pow(2/(Gamma+1), Gamma/(Gamma-1))
}

// flowFunction is √(2γ/(γ−1)·(r^(2/γ) − r^((γ+1)/γ))). Written with Expm1 it keeps
// its digits near r = 1, where a test with a few kilopascals lives.
func flowFunction(r float64) float64 {
	lr := math.Log(max(r, CriticalRatio()))
	return math.Sqrt(2 * Gamma / (Gamma - 1) * math.Exp(2/Gamma*lr) * -math.Expm1((Gamma-1)/Gamma*lr))
}
