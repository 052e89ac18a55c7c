package decay

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// gibbs draws from g within bounds via coordinate-wise Gibbs with precision matrix.
func gibbs(g gauss, bounds []bound, n int) {
	dim := len(g.mean)
	low := make([]float64, dim*dim)
	copy(low, g.cov)
	prec, ok := invertSPD(low, dim)
	fmt.Println("inv ok", ok)
	lo, hi := make([]float64, dim), make([]float64, dim)
	for i := range lo {
		lo[i], hi[i] = math.Inf(-1), math.Inf(1)
	}
	for _, b := range bounds {
		lo[b.index], hi[b.index] = b.lo, b.hi
	}
	x := append([]float64(nil), g.mean...)
	for i := range x {
		x[i] = math.Min(math.Max(x[i], lo[i]+1e-9), hi[i])
	}
	r := rand.New(rand.NewPCG(1, 1))
	s, s2 := make([]float64, dim), make([]float64, dim)
	for it := range n {
		for i := range dim {
			var v float64
			for j := range dim {
				if j != i {
					v += prec[i*dim+j] * (x[j] - g.mean[j])
				}
			}
			sd := 1 / math.Sqrt(prec[i*dim+i])
			m := g.mean[i] - v/prec[i*dim+i]
			a, b := cumulative((lo[i]-m)/sd), cumulative((hi[i]-m)/sd)
			if b-a < 1e-12 {
				continue
			}
			u := a + (b-a)*r.Float64()
			x[i] = m + sd*math.Sqrt2*math.Erfinv(2*u-1)
		}
		if it > n/10 {
			for i := range dim {
				s[i] += x[i]
				s2[i] += x[i] * x[i]
			}
		}
	}
	k := float64(n - n/10 - 1)
	for i := range dim {
		fmt.Printf("  gibbs %d %.5g ± %.3g\n", i, s[i]/k, math.Sqrt(s2[i]/k-s[i]/k*s[i]/k))
	}
}
