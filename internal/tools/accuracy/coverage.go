package main

import (
	"gonum.org/v1/gonum/stat/distuv"

	"boretight/internal/decay"
)

// The intervals that are asked whether they hold the truth: the result's own, and the
// one that is a standard uncertainty wide when there is no doubt about that (the normal
// distribution's share within one standard deviation). Both at once tell a distribution
// of the wrong width from one of the wrong shape.
const (
	stated = 0.95
	narrow = 0.6827
)

// interval returns the central interval of an estimate that holds the truth with the
// given probability, made as the result makes its own: Student's t with the degrees of
// freedom dof, +Inf for the normal distribution.
func interval(e decay.Estimate, dof, coverage float64) (low, high float64) {
	k := factor(dof, coverage)
	return e.Value - k*e.U, e.Value + k*e.U
}

// factor is the coverage factor of a central interval.
func factor(dof, coverage float64) float64 {
	p := (1 + coverage) / 2
	if dof < 1e4 {
		return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: max(dof, 1)}.Quantile(p)
	}
	return distuv.UnitNormal.Quantile(p)
}

// holds reports whether the interval of the given coverage holds the true leakage rate.
func (m measured) holds(coverage float64) bool {
	low, high := interval(*m.result.LeakRate, m.result.Dof, coverage)
	return low <= m.truth.LeakRate && m.truth.LeakRate <= high
}

// coverage is the percentage of those that gave a result whose interval holds the truth.
func (t table) coverage(of float64) float64 {
	held, n := 0, 0
	for _, m := range t {
		if !m.found {
			continue
		}
		n++
		if m.holds(of) {
			held++
		}
	}
	return 100 * float64(held) / float64(n)
}
