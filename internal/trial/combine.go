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
func Combine(outcomes []Outcome, limit Limit) Trial {
	t := Trial{Schema: SchemaTrial, Holds: len(outcomes), Notes: []string{}}
	used := t.choose(outcomes)
	t.Used = len(used)
	if limit > 0 {
		t.Verdict = Inconclusive
		t.Decision = &Decision{Limit: float64(limit), Rule: rule, PConform: 0.5, Next: "a hold that gives a leakage rate"}
		if len(outcomes) > 0 {
			t.Decision.LimitSCCM = rounded(decay.SCCM(float64(limit), outcomes[0].Temperature))
		}
	}
	if t.Used == 0 {
		return t
	}
	q, own, common := mean(used)
	t.LeakRate = &LeakRate{Unit: "Pa·m³/s", Estimate: q.Estimate, Coverage: coverage}
	t.SCCM = sccm(used, q.Estimate)
	if limit > 0 {
		t.Decision.PConform, t.Decision.Next = conformity(q.Estimate, q.dof, limit), ""
		t.Verdict = verdict(t.Decision.PConform)
		if t.Verdict == Inconclusive {
			t.Decision.Next = settle(q.Estimate, used[0].Budget, own, common, float64(t.Used), limit)
		}
	}
	return t
}

// choose returns the outcomes that may be combined, and notes why others may not.
func (t *Trial) choose(outcomes []Outcome) (used []Outcome) {
	mixed, other := false, false
	for _, o := range outcomes {
		switch {
		case o.LeakRate == nil:
		case len(used) > 0 && o.Sign != used[0].Sign:
			mixed = true
		case len(used) > 0 && o.At != used[0].At:
			other = true
		default:
			used = append(used, o)
		}
	}
	if mixed {
		t.Notes = append(t.Notes, "Suction and pressure were mixed; they are never combined, so only the first sign counts.")
	}
	if other {
		t.Notes = append(t.Notes, "Holds at different stated pressure differences are never combined; only those at the first count.")
	}
	if skipped := len(outcomes) - len(used); skipped > 0 {
		t.Notes = append(t.Notes, fmt.Sprintf("%d of %d holds gave no leakage rate that could be combined.", skipped, len(outcomes)))
	}
	return used
}

// combined is a mean with its degrees of freedom.
type combined struct {
	decay.Estimate
	dof float64
}

// ownDof is how many holds' worth of scatter each set of holds' own statements of
// their noise counts for: two holds that happen to differ are no proof against them.
const ownDof = 20

// mean combines leakage rates. The part of the uncertainty that differs from hold
// to hold is what the holds say of it, pooled with the scatter seen where that is
// larger; scatter that cannot be chance (beyond the 99 % point of χ²) counts alone
// (JCGM 100:2008, 4.2 and G.4.1). own is that part for one hold, common what all share.
func mean(used []Outcome) (q combined, own, common float64) {
	n := float64(len(used))
	if n == 1 {
		own, common = split(used[0].Budget)
		dof := used[0].Dof
		if dof == 0 {
			dof = math.Inf(1) // read back from where it is not kept
		}
		return combined{used[0].LeakRate.Estimate, dof}, own, common
	}
	values := make([]float64, len(used))
	var v float64 // variance of the mean, as stated
	for i, o := range used {
		values[i] = o.LeakRate.Value
		a, b := split(o.Budget)
		v += a * a / (n * n)
		common = math.Max(common, b)
	}
	dof := math.Inf(1)
	if seen := stat.Variance(values, nil) / n; seen > v {
		chance := distuv.ChiSquared{K: n - 1}.Quantile(0.99) / (n - 1)
		if seen > chance*v {
			v, dof = seen, n-1
		} else {
			dof = ownDof + n - 1
			v = (ownDof*v + (n-1)*seen) / dof
		}
	}
	u := math.Sqrt(v + common*common)
	if v > 0 {
		dof *= math.Pow(u*u/v, 2) // Welch–Satterthwaite: only this part has few
	}
	k := distuv.UnitNormal.Quantile(0.975)
	if dof < 1e4 {
		k = distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile(0.975)
	}
	m := stat.Mean(values, nil)
	return combined{decay.Estimate{Value: m, U: u, Low: m - k*u, High: m + k*u}, dof}, math.Sqrt(v * n), common
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
	var k float64
	if q.U > 0 {
		k = (q.High - q.Value) / q.U
	}
	return &decay.Estimate{Value: q.Value * per, U: u, Low: q.Value*per - k*u, High: q.Value*per + k*u}
}
