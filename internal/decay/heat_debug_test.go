package decay

import (
	"fmt"
	"math"
	"testing"

	"boretight/internal/air"
)

func TestKernel(t *testing.T) {
	for _, c := range []struct{ a, sp float64 }{{0.0216, 0.25}, {0.0074, 0.12}, {0.0044, 0.12}} {
		al := 2.135e-5
		h := newHeat(c.a, al, c.sp)
		for _, lb := range []float64{0, 0.1, -0.2} {
			w := h.weights(lb, 0)
			full := air.DrawModes(60)
			a := c.a * math.Exp(lb)
			worst, at := 0.0, 0.0
			for tt := 0.05; tt < 20; tt *= 1.05 {
				var exact, approx float64
				for _, m := range full {
					exact += m.Weight * math.Exp(-tt/m.TimeConstant(a, al))
				}
				for i, v := range w {
					approx += v * math.Exp(-tt/h.taus[i])
				}
				if d := math.Abs(exact-approx) * 714; d > worst {
					worst, at = d, tt
				}
			}
			// the same for five modes and rest, without the grid
			five := air.DrawModes(heatModes)
			worst5 := 0.0
			for tt := 0.05; tt < 20; tt *= 1.05 {
				var exact, approx float64
				for _, m := range full {
					exact += m.Weight * math.Exp(-tt/m.TimeConstant(a, al))
				}
				for _, m := range five {
					approx += m.Weight * math.Exp(-tt/m.TimeConstant(a, al))
				}
				worst5 = max(worst5, math.Abs(exact-approx)*714)
			}
			fmt.Printf("a %.4f lb %.1f worst %.3f Pa at %.2f s; modes only %.3f ratio %.2f\n", c.a, lb, worst, at, worst5, h.ratio)
		}
	}
}
