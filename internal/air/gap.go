package air

import "math"

// Path is a laminar way out of the bore: the volume flow at the mean pressure for
// each pascal of pressure difference, in m³/(s·Pa). The conductance C of vacuum
// technology (m³/s) is a path times the ambient pressure.
//
// The constructors hold for thin, smooth, fully developed flow without slip: slip
// adds 8 % at a gap of 5 µm and 2 % at 20 µm, entry loss takes away from about 20 µm
// on under a pad at 2.5 kPa ([Law] has it as the inertial share).
type Path float64

// PlateGap returns the path between parallel plates: gap wide open over width,
// length along the flow, all in m (cubic law w·h³/(12·μ·L)).
func PlateGap(width, length, gap, viscosity float64) Path {
	return Path(width * cube(gap) / (12 * viscosity * length))
}

// RadialGap returns the path between two discs from the inner to the outer radius
// (π·h³/(6·μ·ln(r2/r1))).
func RadialGap(inner, outer, gap, viscosity float64) Path {
	return Path(math.Pi * cube(gap) / (6 * viscosity * math.Log(outer/inner)))
}

// Tube returns the path through a round tube (Hagen–Poiseuille, π·d⁴/(128·μ·L)).
func Tube(diameter, length, viscosity float64) Path {
	return Path(math.Pi * diameter * cube(diameter) / (128 * viscosity * length))
}

// Throughput returns the throughput in Pa·m³/s, isothermal and compressible:
// G·(p1² − p2²)/2, which is the mean pressure times the volume flow there.
func (g Path) Throughput(c Conditions) float64 {
	return float64(g) * c.MeanPressure() * c.Difference
}

// Conductance returns C in m³/s at an ambient pressure: to first order the
// throughput for each pascal of pressure difference.
func (g Path) Conductance(ambient float64) float64 { return float64(g) * ambient }

// Seat is the ring on which a pad closes.
type Seat struct {
	Hole float64 // diameter of the tone hole, m
	Land float64 // width of the seat's land along the flow, m
}

// MeanDiameter returns the mean diameter of the land in m.
func (s Seat) MeanDiameter() float64 { return s.Hole + s.Land }

// EquivalentGap returns the even gap in m all around the seat that would leak as
// much as a throughput q with the given inertial share does. A throughput below
// zero, as noise can make one, gives a gap below zero.
func (s Seat) EquivalentGap(q, inertial float64, c Conditions) float64 {
	laminar := q * (1 - inertial)
	driven := c.MeanPressure() * math.Pi * s.MeanDiameter() * c.Difference
	return math.Cbrt(12 * Viscosity(c.Temperature) * s.Land * laminar / driven)
}

// TiltedMeanCube returns the mean of h³ around a seat whose gap is
// mean·(1 + ratio·cos θ): h³·(1 + 1.5·ratio²). Ratio 1 touches on one side.
func TiltedMeanCube(mean, ratio float64) float64 {
	return cube(mean) * (1 + 1.5*ratio*ratio)
}

// TiltedGap returns the gap at the open side of a pad that touches at the other
// and leaks like the even gap: (16/5)^⅓ = 1.474 times as wide.
func TiltedGap(even float64) float64 { return even * math.Cbrt(16.0/5) }

// ThicknessToe returns by how much a pad is too thick whose toe (the far side)
// stands open by the gap while the heel touches. The hinge lies the given distance
// behind the near rim. All in m.
func (s Seat) ThicknessToe(open, hinge float64) float64 { return open * hinge / s.MeanDiameter() }

// ThicknessHeel returns by how much a pad is too thin whose heel (the near side)
// stands open by the gap while the toe touches.
func (s Seat) ThicknessHeel(open, hinge float64) float64 {
	d := s.MeanDiameter()
	return open * (hinge + d) / d
}

func cube(x float64) float64 { return x * x * x }
