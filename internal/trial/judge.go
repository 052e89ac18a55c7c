package trial

import (
	"fmt"
	"slices"

	"boretight/internal/decay"
	"boretight/internal/hold"
)

// Judge fits a hold and states whether it conforms to the limit.
func Judge(h *hold.Hold, s decay.Setup, limit Limit) Outcome {
	return outcome(h, decay.Fit(h, s), limit)
}

// outcome puts a fit into the form that is printed and kept.
func outcome(h *hold.Hold, r decay.Result, limit Limit) Outcome {
	o := Outcome{
		Schema: SchemaFit, Sign: h.Sign.String(), At: r.At, Disturbed: r.Disturbed,
		Budget: r.Budget, Notes: slices.Concat(r.Notes, r.Assumed), Pressing: len(r.Notes), Method: r.Method, Curve: r.Curve,
		Dof: r.Dof, Temperature: r.Temperature,
		PressureRate: value(r.PressureRate), TimeConstant: value(r.TimeConstant),
		InertialShare: value(r.InertialShare), SCCM: r.SCCM,
	}
	if len(h.Readings) > 0 {
		o.Parts = new(h.Parts())
	}
	if o.Budget == nil {
		o.Budget = []decay.Contribution{}
	}
	if o.Notes == nil {
		o.Notes = []string{}
	}
	if h.Isolated() {
		o.Hold = extent(h, r)
	}
	if r.PressureRate != nil {
		o.Zero = value(&r.Zero)
	}
	if r.LeakRate != nil {
		o.LeakRate = &LeakRate{Unit: "Pa·m³/s", Estimate: *r.LeakRate, Coverage: coverage}
	}
	switch err := limit.check(); {
	case err != nil:
		o.Press(fmt.Sprintf("There is no verdict: %v.", err))
	case limit > 0:
		o.Verdict, o.Decision = decide(o, limit)
	}
	return o
}

func value(e *decay.Estimate) *Value {
	if e == nil {
		return nil
	}
	return &Value{e.Value, e.U}
}

// extent is the stretch that the result rests on; without one, all that was held.
func extent(h *hold.Hold, r decay.Result) *Extent {
	used := r.Used
	if used.Len() == 0 {
		used = h.Held
	}
	e := &Extent{
		Start: h.Isolation, End: h.Readings[used.To-1].Seconds(),
		DeltaStart: r.DeltaStart, DeltaEnd: r.DeltaEnd,
		Held:     h.Duration().Seconds(),
		Readings: h.UsableIn(used), Lost: h.LostIn(used), Ending: h.Ending.String(),
	}
	if r.PressureRate == nil {
		e.DeltaStart, e.DeltaEnd = ends(h, used)
	}
	return e
}

// ends are Δp of the first and the last usable reading of a span; 0 without any.
func ends(h *hold.Hold, s hold.Span) (first, last float64) {
	for s.From < s.To && !h.Usable(s.From) {
		s.From++
	}
	for s.From < s.To && !h.Usable(s.To-1) {
		s.To--
	}
	if s.Len() == 0 {
		return 0, 0
	}
	return h.Delta(s.From), h.Delta(s.To - 1)
}
