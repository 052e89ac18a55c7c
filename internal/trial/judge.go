package trial

import (
	"fmt"
	"math"
	"strconv"

	"gonum.org/v1/gonum/stat/distuv"

	"boretight/internal/decay"
	"boretight/internal/hold"
)

// sure is the probability that a pass or a fail must have at least.
const sure = 0.95

// rule is the decision rule in words, printed with every verdict.
const rule = "pass when the probability that the leakage rate is at or below the limit is at least 0.95, fail when the probability that it is above is at least 0.95, else inconclusive (after JCGM 106:2012, 7 and 8); so the risk of a wrong pass or a wrong fail is at most 5 %"

// coverage of the intervals.
const coverage = 0.95

// Judge fits a hold and states whether it conforms to the limit.
func Judge(h *hold.Hold, s decay.Setup, limit Limit) Outcome {
	return outcome(h, decay.Fit(h, s), limit)
}

// outcome puts a fit into the form that is printed and kept.
func outcome(h *hold.Hold, r decay.Result, limit Limit) Outcome {
	o := Outcome{
		Schema: SchemaFit, Sign: h.Sign.String(), At: r.At, Disturbed: r.Disturbed,
		Budget: r.Budget, Notes: r.Notes, Method: r.Method, Curve: r.Curve,
		Dof: r.Dof, Temperature: r.Temperature,
		PressureRate: value(r.PressureRate), TimeConstant: value(r.TimeConstant),
		InertialShare: value(r.InertialShare), SCCM: r.SCCM,
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
	if limit > 0 {
		o.Verdict, o.Decision = decide(r, limit)
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

// decide applies the decision rule. Without a leakage rate nothing can be decided.
func decide(r decay.Result, limit Limit) (Verdict, *Decision) {
	d := &Decision{Limit: float64(limit), LimitSCCM: rounded(decay.SCCM(float64(limit), r.Temperature)), Rule: rule, PConform: 0.5}
	if r.LeakRate == nil {
		d.Next = "a hold that gives a leakage rate; the notes say what was missing"
		if r.PressureRate != nil {
			d.Next = "the volume enclosed: without it there is no leakage rate"
		}
		return Inconclusive, d
	}
	d.PConform = conformity(*r.LeakRate, r.Dof, limit)
	v := verdict(d.PConform)
	if v == Inconclusive {
		own, common := split(r.Budget)
		d.Next = settle(*r.LeakRate, r.Budget, own, common, 1, limit)
	}
	return v, d
}

func verdict(pConform float64) Verdict {
	switch {
	case pConform >= sure:
		return Pass
	case pConform <= 1-sure:
		return Fail
	}
	return Inconclusive
}

// conformity is the probability that the leakage rate is at or below the limit
// (JCGM 106:2012, 7.3, with Student's t for few degrees of freedom).
func conformity(q decay.Estimate, dof float64, limit Limit) float64 {
	if q.U == 0 {
		if q.Value <= float64(limit) {
			return 1
		}
		return 0
	}
	z := (float64(limit) - q.Value) / q.U
	if dof > 1e4 {
		return distuv.UnitNormal.CDF(z)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: math.Max(dof, 1)}.CDF(z)
}

// settle says what would turn an inconclusive verdict into one: more holds where
// what differs from hold to hold (own, of one hold) is to blame, else the largest
// other doubt. done is how many holds there are already.
func settle(q decay.Estimate, budget []decay.Contribution, own, common, done float64, limit Limit) string {
	need := math.Abs(float64(limit)-q.Value) / 1.645
	if need > common {
		more := math.Ceil(own*own/(need*need-common*common)) - done
		if more >= 1 && more <= 20 {
			return fmt.Sprintf("%.0f more %s of the same length, or one that is longer", more, plural(more, "hold"))
		}
	}
	for _, c := range budget {
		if !varies(c.Source) && c.U > 0.5*q.U {
			return fmt.Sprintf("a better known %s: it makes most of the doubt", c.Source)
		}
	}
	return "a leakage rate this near to the limit may stay undecided: a longer hold and a better known volume narrow it"
}

// rounded takes off what converting there and back has added in the last digits.
func rounded(x float64) float64 {
	v, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 12, 64), 64)
	if err != nil {
		return x
	}
	return v
}

func plural(n float64, word string) string {
	if n == 1 {
		return word
	}
	return word + "s"
}

// varies reports whether a source of doubt takes a new value in every hold, so
// that more holds average it out.
func varies(source string) bool { return source == "noise" || source == "zero" }

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
