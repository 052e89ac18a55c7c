package rig

import (
	"cmp"
	"math"
	"slices"
)

// source is one input of a model, independent of the others.
type source struct {
	name string
	Measured
	dof float64 // 0: many
}

// model computes a result from the values of its sources, in their order.
type model func(x []float64) float64

// propagate evaluates a model with its whole uncertainty (JCGM 100:2008, 5.1.2): each
// source contributes half the change of the result between its value plus and minus
// its standard uncertainty, which is right to one order more than a derivative is.
func propagate(f model, sources []source) Result {
	x := make([]float64, len(sources))
	for i, s := range sources {
		x[i] = s.Value
	}
	r := Result{Measured: Measured{Value: f(x)}}
	var variance, fourths float64
	for i, s := range sources {
		if s.U == 0 {
			continue
		}
		x[i] = s.Value + s.U
		above := f(x)
		x[i] = s.Value - s.U
		below := f(x)
		x[i] = s.Value
		u := math.Abs(above-below) / 2
		if u == 0 {
			continue
		}
		variance += u * u
		if s.dof > 0 {
			fourths += u * u * u * u / s.dof
		}
		r.Budget = append(r.Budget, Contribution{Source: s.name, U: u})
	}
	r.U = math.Sqrt(variance)
	r.Dof = welchSatterthwaite(variance, fourths)
	arrange(r.Budget, r.Value)
	return r
}

// welchSatterthwaite are the effective degrees of freedom of a variance, not rounded
// down (JCGM 100:2008, G.4.1); fourths is Σu⁴/ν. 0 when there is nothing to limit them.
func welchSatterthwaite(variance, fourths float64) float64 {
	if fourths == 0 {
		return 0
	}
	return variance * variance / fourths
}

// arrange puts the largest contribution first and fills in the shares of the result.
func arrange(budget []Contribution, value float64) {
	for i := range budget {
		if value != 0 {
			budget[i].URelative = budget[i].U / math.Abs(value)
		}
	}
	slices.SortStableFunc(budget, func(a, b Contribution) int { return cmp.Compare(b.U, a.U) })
}
