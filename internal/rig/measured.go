package rig

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Measured is a value with its standard uncertainty, both in SI units.
type Measured struct {
	Value float64 `json:"value"`
	U     float64 `json:"u"`
}

// Relative returns U as a share of the value's size; +Inf at value 0.
func (m Measured) Relative() float64 {
	if m.Value == 0 {
		return math.Inf(1)
	}
	return math.Abs(m.U / m.Value)
}

// sound reports whether a value can be computed with. Nothing here is larger than 1e9 in
// SI units; beyond that squares run off.
func (m Measured) sound() bool {
	const largest = 1e9
	return math.Abs(m.Value) < largest && m.U >= 0 && m.U < largest
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// Contribution is one line of a budget: what one source of doubt alone contributes
// to the standard uncertainty of a result.
type Contribution struct {
	Source string `json:"source"`
	// URelative is U as a share of the result's size; 0 where the result is 0.
	URelative float64 `json:"u_relative"`
	// U is in the unit of the result.
	U float64 `json:"u"`
}

// Result is a measured value with all that is known of it.
type Result struct {
	Measured
	// Dof are the effective degrees of freedom of U; 0 when U is well known.
	Dof float64 `json:"dof,omitempty"`
	// Budget, largest first; its lines add up in squares to U.
	Budget []Contribution `json:"budget,omitempty"`
	// Doubts are whole sentences for people.
	Doubts []string `json:"doubts,omitempty"`
}

// Interval returns the central 95 % interval, with Student's t for few degrees of
// freedom.
func (r Result) Interval() (low, high float64) {
	k := coverageFactor(r.Dof)
	return r.Value - k*r.U, r.Value + k*r.U
}

// Standard returns the value with the standard uncertainty that, taken as well known, has
// the same 95 % interval: for whoever cannot take degrees of freedom along.
func (r Result) Standard() Measured {
	return Measured{r.Value, r.U * coverageFactor(r.Dof) / coverageFactor(0)}
}

// coverageFactor is the factor of a central 95 % interval. Many degrees of freedom
// are taken as infinitely many: at 1e4 the factor differs by 1 part in 8,000.
func coverageFactor(dof float64) float64 {
	if dof == 0 || dof > 1e4 {
		return distuv.UnitNormal.Quantile(0.975)
	}
	return distuv.StudentsT{Sigma: 1, Nu: dof}.Quantile(0.975)
}
