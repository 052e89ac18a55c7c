package air

import "math"

// LaminarDecay returns the pressure difference in Pa that is left of the start
// after some time, for a laminar leak on an isothermal volume. The time constant
// is V/C in s, volume over [Path.Conductance]; times are in s, pressures in Pa.
func LaminarDecay(sign Sign, start, ambient, timeConstant, elapsed float64) float64 {
	left := math.Exp(-elapsed / timeConstant)
	gone := -math.Expm1(-elapsed / timeConstant)
	return start * left / (1 + float64(sign)*start*gone/(2*ambient))
}

// State is the gas in a closed volume at one moment.
type State struct {
	Pressure    float64 // absolute, Pa
	Temperature float64 // K
}

// ChangeThroughput returns the mean throughput into a volume (m³) in Pa·m³/s,
// stated for gas at the given temperature, from the states before and after a time
// in s: V·T·(p₂/T₂ − p₁/T₁)/Δt, the pressure-change technique of EN 13184 and
// 40 CFR 1065.644. Divided by R·T it is the flow in mol/s.
func ChangeThroughput(volume, temperature float64, before, after State, seconds float64) float64 {
	change := after.Pressure/after.Temperature - before.Pressure/before.Temperature
	return volume * temperature * change / seconds
}
