package trial

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"boretight/internal/decay"
)

// Combine makes one result of the outcomes of several holds of one joint in one
// closure: their mean; what differs from hold to hold is averaged, with the
// scatter actually seen where that is larger than each hold says of itself, and
// what all share (volume, span, heat, law …) is kept whole.
func Combine(outcomes []Outcome, s decay.Setup, limit Limit) Trial {
	t := Trial{Schema: SchemaTrial, Holds: len(outcomes), Notes: []string{}}
	var used []Outcome
	for _, o := range outcomes {
		if o.LeakRate == nil {
			continue
		}
		if len(used) > 0 && o.Sign != used[0].Sign {
			t.Notes = append(t.Notes, "Suction and pressure were mixed; they are never combined, so only the first sign counts.")
			continue
		}
		used = append(used, o)
	}
	t.Used = len(used)
	if skipped := t.Holds - t.Used; skipped > 0 {
		t.Notes = append(t.Notes, fmt.Sprintf("%d of %d holds gave no leakage rate that could be combined.", skipped, t.Holds))
	}
	if t.Used == 0 {
		if limit > 0 {
			t.Verdict = Inconclusive
			t.Decision = &Decision{Limit: float64(limit), Rule: rule, PConform: 0.5, Next: "a hold that gives a leakage rate"}
		}
		return t
	}
	q, dof := mean(used)
	t.LeakRate = &LeakRate{Unit: "Pa·m³/s", Estimate: q, Coverage: coverage}
	t.SCCM = sccm(used, q)
	if limit > 0 {
		t.Decision = &Decision{Limit: float64(limit), Rule: rule, PConform: conformity(q, dof, limit)}
		if q.Value != 0 {
			t.Decision.LimitSCCM = float64(limit) * t.SCCM.Value / q.Value
		}
		t.Verdict = verdict(t.Decision.PConform)
		if t.Verdict == Inconclusive {
			t.Decision.Next = settle(decay.Result{LeakRate: &q, Budget: used[0].Budget}, limit)
		}
	}
	return t
}

// mean combines leakage rates; the result's degrees of freedom follow from the
// scatter where that decides (JCGM 100:2008, 4.2 and G.4.1).
func mean(used []Outcome) (decay.Estimate, float64) {
	n := float64(len(used))
	values := make([]float64, len(used))
	var own, common float64
	for i, o := range used {
		values[i] = o.LeakRate.Value
		a, b := split(o.Budget)
		own += a * a / (n * n)
		common = math.Max(common, b)
	}
	m := stat.Mean(values, nil)
	dof := math.Inf(1)
	if len(used) > 1 {
		if seen := stat.Variance(values, nil) / n; seen > own {
			own, dof = seen, n-1
		}
	}
	u := math.Sqrt(own + common*common)
	if !math.IsInf(dof, 1) {
		dof *= math.Pow(u*u/own, 2) // Welch–Satterthwaite: only own has few
	}
	k := distuv.UnitNormal.Quantile(0.975)
	if dof < 1e4 {
		k = distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile(0.975)
	}
	return decay.Estimate{Value: m, U: u, Low: m - k*u, High: m + k*u}, dof
}

// sccm restates a throughput as its holds did, with their doubt about the temperature.
func sccm(used []Outcome, q decay.Estimate) *decay.Estimate {
	first := used[0]
	if first.SCCM == nil || first.LeakRate.Value == 0 {
		return nil
	}
	per := first.SCCM.Value / first.LeakRate.Value
	a, b := first.SCCM.U/math.Abs(first.SCCM.Value), first.LeakRate.U/math.Abs(first.LeakRate.Value)
	temperature := math.Sqrt(math.Max(a*a-b*b, 0))
	u := math.Hypot(q.U*per, q.Value*per*temperature)
	k := (q.High - q.Value) / q.U
	if q.U == 0 {
		k = 0
	}
	return &decay.Estimate{Value: q.Value * per, U: u, Low: q.Value*per - k*u, High: q.Value*per + k*u}
}
