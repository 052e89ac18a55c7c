package decay

import (
	"fmt"
	"testing"

	"boretight/internal/air"
)

func TestDeriv(t *testing.T) {
	var hist []knot
	for i := 0; i <= 100; i++ {
		hist = append(hist, knot{float64(i-100) * 0.01, 30 * float64(i)})
	}
	m, _ := newModel(air.Law{Sign: -1, At: 2500, Ambient: 101325}, newHeat(0.007, 2.1e-5, 0.12), hist, 0.1, 10, 20)
	p := []float64{120, 0.3, 3000, 0.05, 0.2, 0.1, 0.004, 0.003}
	d0, d1 := make([]float64, m.nodes), make([]float64, m.nodes)
	dv := make([]float64, m.nodes*nDecay)
	m.curve(p, d0, dv)
	for j := range nDecay {
		h := []float64{1e-3, 1e-5, 1e-2, 1e-5, 1e-5, 1e-5, 1e-5, 1e-5}[j]
		q := append([]float64(nil), p...)
		q[j] += h
		m.curve(q, d1, nil)
		q[j] -= 2 * h
		d2 := make([]float64, m.nodes)
		m.curve(q, d2, nil)
		for _, k := range []int{0, 1, 8, 40, m.nodes - 1} {
			fmt.Printf("p%d node %d num %.6g ana %.6g\n", j, k, (d1[k]-d2[k])/2/h, dv[k*nDecay+j])
		}
	}
}
