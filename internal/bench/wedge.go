package bench

import (
	"math"

	"boretight/internal/decay"
	"boretight/internal/hold"
	"boretight/internal/trial"
)

// wedgePoints is the number of points of a wedge: smooth on any screen.
const wedgePoints = 80

// wedge returns the curve of a joint that leaks just as much as the limit allows,
// from the isolation of h on for the given time in seconds. It takes the laminar
// law and a bore at wall temperature: it is a guide for the eye, not the verdict.
// Without a limit or a volume there is none.
func wedge(h *hold.Hold, s decay.Setup, limit trial.Limit, seconds float64) []decay.Point {
	if limit <= 0 || !s.Volume.Told() || !h.Isolated() {
		return nil
	}
	ambient, at := s.Ambient.Value, s.At
	if ambient == 0 {
		ambient = standardAmbient
	}
	if at == 0 {
		at = decay.DefaultAt
	}
	sign := h.Sign.Float()
	// Conductance that carries the limit at the stated Δp: q = C·|p_a² − p²|/(2·p_a).
	bore := ambient + sign*at
	conductance := float64(limit) * 2 * ambient / math.Abs(ambient*ambient-bore*bore)
	start := h.Delta(h.Held.From)
	points := make([]decay.Point, wedgePoints)
	for i := range points {
		t := seconds * float64(i) / (wedgePoints - 1)
		e := math.Exp(-conductance * t / s.Volume.Value)
		// Suction: Δ = 2·p_a·Δ0·E/(2·p_a − Δ0 + Δ0·E); pressure has the other signs.
		delta := 2 * ambient * start * e / (2*ambient + sign*start*(1-e))
		points[i] = decay.Point{T: h.Isolation + t, Pressure: h.RestLevel + sign*delta}
	}
	return points
}

// standardAmbient in Pa, used where no ambient pressure is told; ISO 2533.
const standardAmbient = 101_325
