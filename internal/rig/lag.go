package rig

import (
	"fmt"
	"math"

	"boretight/internal/air"
)

// Without a word about the bore it is taken to be some woodwind's.
const (
	boreMean, boreU = 14e-3, 6e-3 // m
	wideBore        = 24e-3       // m: beyond it free convection helps conduction
)

// heatLag is how long the warmth of the air lags behind a steady change: what leaks in
// under suction is compressed and warm, so Δp reads low by S times its rate for good.
// S = (γ−1)·a²/(8γα), the sum of all heat modes.
//
// A step makes the same lag once more: while its warmth goes, the pressure
// difference is larger than it will be, and the leak carries more. Together a line
// through readings after a step lies S·(2·r2 − r1) from the step's isothermal pressure,
// and one before it S·r1. (The closed loop s + k(1 + S·s) has the residue 1 − 2kS.)
// At a time constant of 20 s that is 0.4 % of the volume in a bore of 9 mm, 1.2 % in one
// of 16 mm.
type heatLag struct {
	Measured         // S in s
	settled  float64 // time after which heat is settled, s
	told     bool
}

// newHeatLag takes the heat diameter of the bore (zero: not told), room pressure and
// temperature. Conduction itself is trusted to 15 %, in wide bores to 40 %.
func newHeatLag(bore Measured, ambient, temperature float64) heatLag {
	told := bore.Value > 0
	if !told {
		bore = Measured{boreMean, boreU}
	}
	model := 0.15
	if bore.Value > wideBore {
		model = 0.4
	}
	radius := bore.Value / 2
	slow := radius * radius / air.ThermalDiffusivity(temperature, ambient)
	lag := (air.Gamma - 1) / (8 * air.Gamma) * slow
	return heatLag{Measured{lag, lag * math.Hypot(2*bore.Relative(), model)}, 5 * slow / 7.18, told}
}

// tooEarly is the doubt that readings were taken while the heat still moved; "" if not.
func (h heatLag) tooEarly(wait float64) string {
	if !h.told || wait >= h.settled {
		return ""
	}
	return fmt.Sprintf("Readings from %.2g s after the step count, but in this bore the heat needs %.2g s to settle.", wait, h.settled)
}
