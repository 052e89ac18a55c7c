// Package air computes what dry air does in a closed bore and on its way through
// a leak: its properties, the flow laws of gaps, tubes and holes, the decay they
// cause, the heat that follows a change of pressure, and the column of water that a
// gauge is held against.
//
// Everything is a pure function of float64 in SI units (Pa, m, m³, K, s, Pa·s,
// Pa·m³/s); pressures are absolute unless a name says difference. Functions do
// not check their arguments: lengths, temperatures and absolute pressures must be
// positive, and where they are not the result has no meaning (often NaN).
//
// A throughput is R_s·T·ṁ, the mass flow in units of pressure times volume per
// time, with the gas at the temperature T of its surroundings. It is the same on
// both sides of a leak. A throughput is positive for air that takes the pressure
// difference away: into the bore under suction, out of it under pressure.
package air

const (
	// Gamma is the ratio of the heat capacities of dry air. From 0 to 27 °C at the
	// standard atmosphere the real value falls from 1.4027 to 1.4017 (Lemmon et al.
	// 2000); taking 1.4 makes a thermal rebound small by 0.5 % of itself at most.
	Gamma = 1.4

	// SpecificGasConstant is R_s of dry air in J/(kg·K).
	SpecificGasConstant = 287.05

	// StandardPressure is the standard atmosphere in Pa (CGPM 1954).
	StandardPressure = 101325.0
)

// Sign says to which side of ambient a test takes the bore. It is the sign of the
// gauge pressure, so that gauge pressure = sign × pressure difference. The zero
// value is neither and makes the laws of this package ignore that air expands.
type Sign int8

const (
	// Suction is a bore below ambient.
	Suction Sign = -1
	// Pressure is a bore above ambient.
	Pressure Sign = +1
)

// String returns "suction", "pressure" or "none".
func (s Sign) String() string {
	switch {
	case s < 0:
		return "suction"
	case s > 0:
		return "pressure"
	default:
		return "none"
	}
}

// Density returns the density of dry air in kg/m³ as an ideal gas. At the standard
// atmosphere it reads low by 0.04 % at 0 °C and by 0.01 % at 25 °C (against Lemmon
// et al. 2000); air at 20 °C and 50 % relative humidity is 0.4 % lighter (CIPM-2007).
func Density(pressure, temperature float64) float64 {
	return pressure / (SpecificGasConstant * temperature)
}

// Conditions are those a leakage rate is stated for: the test pressure difference,
// on which side of ambient, in which room.
type Conditions struct {
	Sign        Sign
	Difference  float64 // test pressure difference, positive, Pa
	Ambient     float64 // absolute pressure of the room, Pa
	Temperature float64 // of room and wall, K
}

// Bore returns the absolute pressure in the bore in Pa.
func (c Conditions) Bore() float64 { return c.Ambient + float64(c.Sign)*c.Difference }

// MeanPressure returns the mean of bore and ambient pressure in Pa.
func (c Conditions) MeanPressure() float64 { return c.Ambient + float64(c.Sign)*c.Difference/2 }
