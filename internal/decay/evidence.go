package decay

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// What is believed beforehand is narrow, because most joints are rigid and most
// benches quiet. Some are not; so each such belief has a wider twin, and the readings
// say which of the two they were made under; the likelier counts alone. What the
// readings cannot tell, like a hand on a joint that hardly leaks, stays with the narrow
// one.
const (
	// creepWider is how much more a soft hose or an old pad may give.
	creepWider = 5
	// warmWider takes the narrow belief to what a hand or a lamp does (0.01 K/s and
	// more, design figure), in one hold of thirty or so. To be told as a disturbance it
	// must be likely at 97 %.
	warmWider, warmOdds, warmCertain = 50, 30., 1000.
)

// reconsider widens the belief that the solved fit speaks against most, and reports
// whether there is one. What one of them explains the other need not, so the fit has
// to be solved again before the next is looked at.
func (f *fitter) reconsider() bool {
	creep, warm := math.Inf(-1), math.Inf(-1)
	if f.k.creepU == creepU {
		params := make([]int, nCreep)
		for j := range params {
			params[j] = pCreep + j
		}
		creep = f.post.spoken(params, f.k.creepU[:], creepWider)
	}
	if !f.stirred {
		warm = f.post.spoken([]int{pWarm}, []float64{f.k.warmU}, warmWider) - math.Log(warmOdds)
	}
	switch {
	case creep > 0 && creep >= warm:
		for j := range f.k.creepU {
			f.k.creepU[j] *= creepWider
		}
		return true
	case warm > 0:
		f.k.warmU *= warmWider
		f.stirred, f.warmed = true, warm > math.Log(warmCertain/warmOdds)
		return true
	}
	return false
}

// spoken is the evidence where the readings themselves speak for the wider belief, and
// −∞ where only bounds would: a share that came out below nothing by chance once made a
// tight joint's walls grow warm, and its rate 18 % wrong.
func (g gauss) spoken(params []int, u []float64, wider float64) float64 {
	if g.linearEvidence(params, u, wider) <= 0 {
		return math.Inf(-1)
	}
	return g.evidence(params, u, wider)
}

// evidence is the logarithm of how much likelier the readings are if the parameters
// listed, whose prior is normal about 0 with the standard deviations u, had those
// times wider instead; the distribution is that under the narrow prior. What cannot
// be, like a share below nothing, counts against the belief that asks for it.
func (g gauss) evidence(params []int, u []float64, wider float64) float64 {
	wide := gauss{slices.Clone(g.mean), slices.Clone(g.cov)}
	for k, i := range params {
		wide.update(i, (1/(wider*wider)-1)/(u[k]*u[k]), 0)
	}
	e := g.linearEvidence(params, u, wider)
	for _, b := range bounds {
		if b.index < pCreep { // creep may be a little below 0 by its prior's own making
			e += wide.logMass(b) - g.logMass(b)
		}
	}
	return e
}

// logMass is the logarithm of how much of a parameter's distribution lies within its
// bounds.
func (g gauss) logMass(b bound) float64 {
	n := len(g.mean)
	m, sd := g.mean[b.index], math.Sqrt(g.cov[b.index*n+b.index])
	lo, hi := (b.lo-m)/sd, (b.hi-m)/sd
	if lo > 0 { // in the left tail erfc keeps its digits
		lo, hi = -hi, -lo
	}
	if hi < -30 { // beyond what erfc holds: the tail's leading term
		return -hi*hi/2 - math.Log(-hi*math.Sqrt(2*math.Pi))
	}
	return math.Log(cumulative(hi) - cumulative(lo))
}

// linearEvidence is the same without bounds: the Bayes factor of a linear model. It is
// −∞ when it cannot be told.
func (g gauss) linearEvidence(params []int, u []float64, wider float64) float64 {
	n, k := len(g.mean), len(params)
	cov, mean := mat.NewSymDense(k, nil), mat.NewVecDense(k, nil)
	for a, i := range params {
		mean.SetVec(a, g.mean[i])
		for b := a; b < k; b++ {
			cov.SetSym(a, b, g.cov[i*n+params[b]])
		}
	}
	var c mat.Cholesky
	if !c.Factorize(cov) {
		return math.Inf(-1)
	}
	// In terms of what the readings say alone: precision Λ = cov⁻¹ − P, and Λm = cov⁻¹·mean.
	var said mat.VecDense
	precision := new(mat.SymDense)
	if c.InverseTo(precision) != nil || c.SolveVecTo(&said, mean) != nil {
		return math.Inf(-1)
	}
	likelihood := func(scale float64) (float64, bool) {
		whole := mat.NewSymDense(k, nil)
		whole.CopySym(precision)
		var logPrior float64
		for a, v := range u {
			p, q := 1/(v*v), 1/(scale*scale*v*v)
			whole.SetSym(a, a, whole.At(a, a)-p+q)
			logPrior += math.Log(q)
		}
		var c mat.Cholesky
		var x mat.VecDense
		if !c.Factorize(whole) || c.SolveVecTo(&x, &said) != nil {
			return 0, false
		}
		return (mat.Dot(&said, &x) - c.LogDet() + logPrior) / 2, true
	}
	narrow, ok := likelihood(1)
	wide, ok2 := likelihood(wider)
	if !ok || !ok2 {
		return math.Inf(-1)
	}
	return wide - narrow
}
