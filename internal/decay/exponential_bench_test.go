package decay_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"boretight/internal/decay"
)

// BenchmarkExponential fits an exponential with offset over three of its time constants.
func BenchmarkExponential(b *testing.B) {
	for _, n := range []int{1000, 10000} {
		r := rand.New(rand.NewPCG(1, uint64(n)))
		t := make([]float64, n)
		for i := range t[1:] {
			t[i+1] = 12 * r.Float64()
		}
		slices.Sort(t)
		uneven, even := make([]float64, n), make([]float64, n)
		step := 12 / float64(n-1)
		for i := range n {
			uneven[i] = 2500*math.Exp(-0.25*t[i]) + 15 + r.NormFloat64()
			even[i] = 2500*math.Exp(-0.25*step*float64(i)) + 15 + r.NormFloat64()
		}
		for _, k := range []float64{0, 0.5} {
			b.Run(fmt.Sprintf("any times/%d readings/from %g", n, k), func(b *testing.B) {
				b.ReportAllocs()
				var e decay.Exponential
				for b.Loop() {
					e = decay.FitExponential(t, uneven, k)
				}
				passes(b, e)
			})
			b.Run(fmt.Sprintf("a grid/%d readings/from %g", n, k), func(b *testing.B) {
				b.ReportAllocs()
				var e decay.Exponential
				for b.Loop() {
					e = decay.FitExponentialGrid(step, even, k)
				}
				passes(b, e)
			})
		}
	}
}

func passes(b *testing.B, e decay.Exponential) {
	if e.Ending != decay.Settled {
		b.Fatal(e)
	}
	b.ReportMetric(float64(e.Passes), "passes")
}
