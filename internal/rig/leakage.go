package rig

import "math"

// Enclosed is what a hold with a reference leak encloses, in m³.
type Enclosed struct {
	Body Measured // what the leak sits on: a bottle, a joint
	Rig  Measured // hose, stoppers, gauge
	Dead Measured // of leak and fitting
}

// Volume returns all of it.
func (e Enclosed) Volume() Measured {
	return Measured{
		Value: e.Body.Value + e.Rig.Value + e.Dead.Value,
		U:     math.Hypot(math.Hypot(e.Body.U, e.Rig.U), e.Dead.U),
	}
}

const sourceSpan = "span of the gauge"

// LeakageRate makes a leakage rate in Pa·m³/s of a pressure rate: times what is enclosed,
// less what the rig leaks by itself.
func LeakageRate(rate Rate, e Enclosed, background Measured) Result {
	return propagate(func(x []float64) float64 { return x[0]*x[1]*(x[2]+x[3]+x[4]) - x[5] }, []source{
		{name: "pressure rate", Measured: rate.Measured(), dof: rate.dof()},
		{name: sourceSpan, Measured: Measured{1, rate.Span}},
		{name: "volume", Measured: e.Body},
		{name: "volume of the rig", Measured: e.Rig},
		{name: "dead volume of the leak", Measured: e.Dead},
		{name: "blank", Measured: background},
	})
}

// OwnU returns the relative standard uncertainty of a leakage rate without the gauge's
// span, which holds on several bottles share; as wide as few degrees of freedom ask for.
func OwnU(q Result) float64 {
	var variance float64
	for _, c := range q.Budget {
		if c.Source != sourceSpan {
			variance += c.U * c.U
		}
	}
	if q.U > 0 {
		variance *= math.Pow(q.Standard().U/q.U, 2)
	}
	return Measured{q.Value, math.Sqrt(variance)}.Relative()
}
