package trial

import (
	"math"
	"strconv"

	"boretight/internal/decay"
)

// sure is the probability that a pass or a fail must have at least.
const sure = 0.95

// rule is the decision rule in words, printed with every verdict.
const rule = "pass when the probability that the leakage rate is at or below the limit is at least 0.95, fail when the probability that it is above is at least 0.95, else inconclusive (after JCGM 106:2012, 7 and 8); so the risk of a wrong pass or a wrong fail is at most 5 %"

// coverage of the intervals.
const coverage = 0.95

// decide applies the decision rule to a hold. Without a leakage rate nothing can be
// decided.
func decide(o Outcome, limit Limit) (Verdict, *Decision) {
	d := &Decision{Limit: float64(limit), LimitSCCM: rounded(decay.SCCM(float64(limit), o.Temperature)), Rule: rule, PConform: 0.5}
	if o.LeakRate == nil {
		d.Next = "a hold that gives a leakage rate; the notes say what was missing"
		if o.PressureRate != nil {
			d.Next = "the volume enclosed: without it there is no leakage rate"
		}
		return Inconclusive, d
	}
	d.PConform = conformity(o.LeakRate.Estimate, o.Dof, limit)
	v := verdict(d.PConform)
	if v == Inconclusive {
		s := settlement{q: o.LeakRate.Estimate, dof: o.Dof, lines: linesOf(o), holds: 1, limit: limit}
		s.stretch, s.tau = stretchOf(o)
		d.Next = s.next()
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

// Stands reports whether a finished hold whose probability of conformity is this gets the
// verdict.
func Stands(v Verdict, pConform float64) bool { return v != Inconclusive && verdict(pConform) == v }

// conformity is the probability that the leakage rate is at or below the limit
// (JCGM 106:2012, 7.3, with Student's t for few degrees of freedom). Of an interval
// that leans, the side on which the limit lies counts.
func conformity(q decay.Estimate, dof float64, limit Limit) float64 {
	if q.U == 0 {
		if q.Value <= float64(limit) {
			return 1
		}
		return 0
	}
	away := float64(limit) - q.Value
	return student{dof}.cdf(away / (q.U * leanOf(q).toward(away > 0)))
}

// rounded takes off what converting there and back has added in the last digits.
func rounded(x float64) float64 {
	v, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 12, 64), 64)
	if err != nil || math.IsNaN(v) {
		return x
	}
	return v
}
