package rig

import "fmt"

// AddedLeak is a reference leak added to a joint: what it lets through is known, so what
// it adds to the pressure rate tells the volume,
//
//	V = (q_ref − v_r·r2)/(r2 − r1),
//
// from V·r1 = q and (V + v_r)·r2 = q + q_ref. Both rates are isothermal ones at one
// pressure difference, as a hold's fit gives them; raw slopes are not.
type AddedLeak struct {
	Leak Certificate
	Room Room
	// Without and With are the pressure rates of the joint alone and with the leak. The
	// doubt about span is one for both, the larger of theirs.
	Without, With Rate
	// Dead is the volume v_r of leak and fitting, m³. It is not in the result.
	Dead Measured
}

// Volume returns what is enclosed in a hold of the joint alone, rig included.
func (a AddedLeak) Volume() (Volume, error) {
	q, err := a.Leak.Here(a.Room)
	if err != nil {
		return Volume{}, err
	}
	if !a.Without.sound() || !a.With.sound() || !a.Dead.sound() || a.Dead.Value < 0 {
		return Volume{}, &Refusal{doingVolume, "a rate is not a number, or dead volume or an uncertainty is below zero", ""}
	}
	added := propagate(func(x []float64) float64 { return x[1] - x[0] }, []source{{Measured: a.Without.Measured()}, {Measured: a.With.Measured()}})
	if added.Value < 5*added.U || added.Value <= 0 {
		return Volume{}, &Refusal{doingVolume,
			fmt.Sprintf("the added leak cannot be seen: it changed the rate by %.3g Pa/s, known to %.2g Pa/s", added.Value, added.U),
			"use a larger reference leak, or hold for longer"}
	}
	v := Volume{Result: propagate(addedModel, a.sources(q)), Method: ByLeak, RigIncluded: true}
	v.Doubts = q.Doubts
	if a.Without.Value > 3*added.Value {
		v.Doubts = append(v.Doubts, "The joint leaks more than three times as much as the reference leak: a small change of the joint between the two holds spoils the volume.")
	}
	return v.accept("use a larger reference leak, or hold for longer")
}

// sources are the inputs of addedModel in its order; the flow brings its own budget.
func (a AddedLeak) sources(q Result) []source {
	all := []source{
		{name: "reference leak", Measured: Measured{q.Value, 0}},
		{name: "rate without the leak", Measured: a.Without.Measured(), dof: a.Without.dof()},
		{name: "rate with the leak", Measured: a.With.Measured(), dof: a.With.dof()},
		{name: sourceSpan, Measured: Measured{1, max(a.Without.Span, a.With.Span)}},
		{name: "dead volume of the leak", Measured: a.Dead},
	}
	for _, b := range q.Budget {
		all = append(all, source{name: b.Source, Measured: Measured{0, b.U}})
	}
	return all
}

// addedModel is the formula of [AddedLeak].
func addedModel(x []float64) float64 {
	q, without, with, dead := x[0]+sum(x[5:]), x[1]*x[3], x[2]*x[3], x[4]
	return (q - dead*with) / (with - without)
}
