package trial

import (
	"math"

	"gonum.org/v1/gonum/stat/combin"
	"gonum.org/v1/gonum/stat/distuv"
)

// toleranceFactor is k such that mean + k·s of n values of a normal population lies
// above a share of the population with a confidence (ISO 16269-6; NIST/SEMATECH
// e-Handbook 7.2.6.3). It is a quantile of the noncentral t distribution, found from
//
//	P(t ≤ x) = ∫ Φ(x·√(w/ν) − δ) dχ²_ν(w),  δ = z(share)·√n,  ν = n−1.
func toleranceFactor(n int, share, confidence float64) float64 {
	nu, root := float64(n-1), math.Sqrt(float64(n))
	delta := distuv.UnitNormal.Quantile(share) * root
	// Over σ = √(w/ν), in which the density is smooth.
	const nodes = 300
	chi := distuv.ChiSquared{K: nu}
	from, to := math.Sqrt(chi.Quantile(1e-9)/nu), math.Sqrt(chi.Quantile(1-1e-9)/nu)
	var scale, weight [nodes]float64
	for i := range nodes {
		s := from + (to-from)*(float64(i)+0.5)/nodes
		scale[i], weight[i] = s, chi.Prob(nu*s*s)*2*nu*s*(to-from)/nodes
	}
	covered := func(x float64) (p float64) {
		for i, s := range scale {
			p += weight[i] * distuv.UnitNormal.CDF(x*s-delta)
		}
		return p
	}
	low, high := 0.0, 2*delta+10*root
	for range 60 {
		if middle := (low + high) / 2; covered(middle) < confidence {
			low = middle
		} else {
			high = middle
		}
	}
	return high / root
}

// toleranceRank is the smallest rank, from 1, of n values in rising order that lies
// above a share of any population with a confidence (Wilks 1941): P(rank value is
// above) = P(fewer than rank values lie in the share). 0 when even the largest does not.
func toleranceRank(n int, share, confidence float64) int {
	sum := 0.0
	for below := range n {
		logTerm := combin.LogGeneralizedBinomial(float64(n), float64(below)) +
			float64(below)*math.Log(share) + float64(n-below)*math.Log1p(-share)
		if sum += math.Exp(logTerm); sum >= confidence {
			return below + 1
		}
	}
	return 0
}
