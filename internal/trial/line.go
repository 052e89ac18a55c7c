package trial

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"boretight/internal/decay"
)

// Sources of doubt that only several holds can show.
const (
	sourceHolds    = "between holds"
	sourceReplug   = "re-plugging"
	sourceNoise    = "noise"
	sourceZero     = "zero"
	sourceKnock    = "knock"
	sourceVolume   = "volume"
	sourceSpan     = "span"
	sourceRig      = "rig"
	sourceHeat     = "heat"
	sourceLaw      = "law"
	sourceCreep    = "creep"
	sourceAirDrift = "temperature drift"
)

// Line is one line of the budget of a combined result: what one source of doubt
// contributes to its standard uncertainty, in Pa·m³/s.
type Line struct {
	decay.Contribution
	// Shared tells that the error is the same in every hold, so that no number of
	// holds averages it.
	Shared bool `json:"shared"`
	// Dof are the degrees of freedom of U; 0 means that there are so many that they
	// do not matter.
	Dof float64 `json:"dof,omitempty"`
}

// varies reports whether a source of doubt takes a new value in every hold, so that
// more holds average it out. Heat, law and creep do not: their doubt is about the
// bore, the leak and the pads, which every hold of a joint shares. What of them does
// change from hold to hold shows in the scatter between holds.
func varies(source string) bool {
	switch source {
	case sourceNoise, sourceZero, sourceKnock, sourceHolds, sourceReplug:
		return true
	}
	return false
}

// split adds up a budget: what varies from hold to hold, and what all share.
func split(budget []decay.Contribution) (own, common float64) {
	for _, c := range budget {
		if varies(c.Source) {
			own = math.Hypot(own, c.U)
		} else {
			common = math.Hypot(common, c.U)
		}
	}
	return own, common
}

// linesOf is the budget of one hold. Only the noise is estimated from few readings,
// so that the degrees of freedom of the whole are its alone (JCGM 100:2008, G.4.1).
func linesOf(o Outcome) []Line {
	total := totalOf(o.Budget)
	lines := make([]Line, len(o.Budget))
	for i, c := range o.Budget {
		lines[i] = Line{Contribution: c, Shared: !varies(c.Source)}
		if c.Source == sourceNoise && few(o.Dof) && total > 0 {
			lines[i].Dof = o.Dof * math.Pow(c.U/total, 4)
		}
	}
	return lines
}

func totalOf(budget []decay.Contribution) (u float64) {
	for _, c := range budget {
		u = math.Hypot(u, c.U)
	}
	return u
}

// few reports whether degrees of freedom are so few that they matter.
func few(dof float64) bool { return dof > 0 && dof < 1e4 }

// welchSatterthwaite adds up independent contributions: their standard uncertainty
// and its effective degrees of freedom, not rounded down; +Inf when none of the lines
// has few (JCGM 100:2008, G.4.1; Welch 1947, Satterthwaite 1946).
func welchSatterthwaite(lines []Line) (u, dof float64) {
	var variance, fourths float64
	for _, l := range lines {
		variance += l.U * l.U
		if l.Dof > 0 {
			fourths += math.Pow(l.U, 4) / l.Dof
		}
	}
	if fourths == 0 {
		return math.Sqrt(variance), math.Inf(1)
	}
	return math.Sqrt(variance), variance * variance / fourths
}

// arrange fills in relative sizes and puts the largest first.
func arrange(lines []Line, value float64) {
	for i := range lines {
		lines[i].URelative = 0
		if value != 0 {
			lines[i].URelative = math.Abs(lines[i].U / value)
		}
	}
	slices.SortStableFunc(lines, func(a, b Line) int { return cmp.Compare(b.U, a.U) })
}

// student is the distribution of an error in units of its standard uncertainty.
type student struct{ dof float64 }

func (s student) known() bool { return !few(s.dof) }

// quantile is the coverage factor below which a share p of errors lies.
func (s student) quantile(p float64) float64 {
	if s.known() {
		return distuv.UnitNormal.Quantile(p)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: max(s.dof, 1)}.Quantile(p)
}

func (s student) cdf(z float64) float64 {
	if s.known() {
		return distuv.UnitNormal.CDF(z)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: max(s.dof, 1)}.CDF(z)
}
