package decay

import (
	"math"
	"slices"
)

// restate turns rate and share from the pivot to the stated Δp. Far from what was
// held the rate follows the share, and bends: so it is taken at three shares, with
// weights that keep the share's mean and variance: those of Gauss and Hermite where no
// bound is near.
func (f *fitter) restate(g gauss) gauss {
	const n = nAll
	law := f.m.law
	u := math.Sqrt(g.cov[pShare*n+pShare])
	at := func(s float64) (ratio, share float64) {
		law.Inertial = min(max(s, 0), 1)
		y := law.Ratio(f.k.at)
		x := law.Inertial * y
		return y, x / (1 - law.Inertial + x)
	}
	s := min(max(g.mean[pShare], 0), 1)
	lo, hi := max(s-u*math.Sqrt(3), 0), min(s+u*math.Sqrt(3), 1)
	y0, s0 := at(s)
	y1, s1 := at(lo)
	y2, s2 := at(hi)
	ratio, byShare, shareByShare := y0, 0.0, 1.0
	if hi > lo {
		// Weights that keep mean and variance wherever the two ends lie.
		a, b := s-lo, hi-s
		if a > 0.6*u && b > 0.6*u {
			w1, w2 := u*u/(a*(a+b)), u*u/(b*(a+b))
			ratio = w1*y1 + (1-w1-w2)*y0 + w2*y2
		}
		byShare, shareByShare = (y2-y1)/(hi-lo), (s2-s1)/(hi-lo)
	}
	rate := g.mean[pRate]
	out := gauss{slices.Clone(g.mean), slices.Clone(g.cov)}
	out.mean[pRate], out.mean[pShare] = rate*ratio, s0
	// Rows, then columns, of J·cov·Jᵀ.
	for j := range n {
		r, s := out.cov[pRate*n+j], out.cov[pShare*n+j]
		out.cov[pRate*n+j], out.cov[pShare*n+j] = ratio*r+rate*byShare*s, shareByShare*s
	}
	for i := range n {
		r, s := out.cov[i*n+pRate], out.cov[i*n+pShare]
		out.cov[i*n+pRate], out.cov[i*n+pShare] = ratio*r+rate*byShare*s, shareByShare*s
	}
	return out
}
