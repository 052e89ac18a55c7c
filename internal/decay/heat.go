package decay

import (
	"math"

	"boretight/internal/air"
)

// heatModes is how many modes of heat are followed singly in each part of the
// bore; one more stands for the rest (see air.DrawModes).
const heatModes = 12

// nHeat is the largest number of low-passes that stand for all heat. Their time constants
// are fixed, and only their weights move with bore and taper: so the recorded draw
// is run through them once, and derivatives cost no further curves.
const nHeat = 19

// heat is what conduction makes of a bore.
type heat struct {
	radius, alpha float64 // m, m²/s
	modes         air.Modes
	n             int            // low-passes in use
	taus          [nHeat]float64 // geometric
	ratio         float64        // ln of the ratio of neighbours
}

// newHeat spans the time constants that a bore may have whose mean radius is known
// to within the factor e^±spread.
func newHeat(radius, alpha, spread float64) heat {
	h := heat{radius: radius, alpha: alpha, modes: air.DrawModes(heatModes)}
	slowest := h.modes[0].TimeConstant(radius, alpha)
	// Three times the spread and a taper of 0.4 upwards; below, what has passed
	// before the fit begins is as good as prompt.
	top := slowest * 1.7 * math.Exp(6*spread)
	bottom := min(max(top/5000, 4e-3), slowest/4)
	span := math.Log(top / bottom)
	h.n = min(max(int(math.Ceil(span/spacing))+1, neighbours), nHeat)
	h.ratio = span / float64(h.n-1)
	for i := range h.n {
		h.taus[i] = bottom * math.Exp(h.ratio*float64(i))
	}
	return h
}

// spacing is ln of the ratio of neighbouring time constants that Lagrange's polynomial
// still bridges to some 10⁻⁴ of an exponential.
const spacing = 0.48

// sections of the taper: Gauss's three points along its length.
var sections = [...]struct{ at, length float64 }{
	{-0.7745966692414834, 5.0 / 18}, {0, 8.0 / 18}, {0.7745966692414834, 5.0 / 18},
}

// weights returns the shares of the low-passes for a bore of mean radius
// radius·e^logBore that runs evenly from 1−w to 1+w of that, w² given; their sum is 1.
func (h *heat) weights(logBore, taper float64) (out [nHeat]float64) {
	taper = math.Sqrt(max(taper, 0))
	var volume float64
	for _, s := range sections {
		r := 1 + taper*s.at
		volume += s.length * r * r
	}
	for _, s := range sections {
		r := 1 + taper*s.at
		part := s.length * r * r / volume
		for _, m := range h.modes {
			tau := m.TimeConstant(h.radius, h.alpha)
			h.share(&out, math.Log(tau/h.taus[0])+2*(logBore+math.Log(math.Abs(r))), part*m.Weight)
		}
	}
	return out
}

// neighbours is how many fixed time constants stand for one between them.
const neighbours = 6

// share gives a weight at the place x = ln(τ/τ₀) to its neighbours, by Lagrange's
// polynomial: e^(−t/τ) is smooth in ln τ. Beyond the ends all goes to the last.
func (h *heat) share(out *[nHeat]float64, x, weight float64) {
	x = min(x/h.ratio, float64(h.n-1))
	if x <= 0 {
		out[0] += weight
		return
	}
	first := min(max(int(x)-(neighbours/2-1), 0), h.n-neighbours)
	for i := range neighbours {
		w := weight
		for j := range neighbours {
			if i != j {
				w *= (x - float64(first+j)) / float64(i-j)
			}
		}
		out[first+i] += w
	}
}
