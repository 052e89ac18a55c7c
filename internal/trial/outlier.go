package trial

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// strange is the probability with which a hold among so many that are all alike is
// called an outlier.
const strange = 0.05

// Outlier is a hold that lies further from the others than chance allows. It counts
// in the result: whether something was wrong with it is for a person to say, who may
// void it with a reason.
type Outlier struct {
	ID    string `json:"id,omitempty"`
	Place int    `json:"place"` // among the holds of the trial, from 1
	// Deviation from the mean of the others, in Pa·m³/s.
	Deviation float64 `json:"deviation"`
	// G is Grubbs's statistic, |value − mean|/s, Critical what it exceeds.
	G        float64 `json:"g"`
	Critical float64 `json:"critical"`
	Reason   string  `json:"reason"`
}

// outliers finds the hold that is furthest from the mean, if Grubbs's test (Grubbs
// 1950; ISO 5725-2, 7.3.4) finds it strange and it also differs from the others by
// more than its own expanded uncertainty and theirs (|E_n| > 1, ISO 13528): a value
// of three may look strange by the first alone where all three agree to a hair. It
// takes three holds. place are those of the holds in the whole trial, from 0.
func outliers(used []Outcome, place []int) []Outlier {
	n := len(used)
	if n < 3 {
		return nil
	}
	values := make([]float64, n)
	for i, o := range used {
		values[i] = o.LeakRate.Value
	}
	g, i := grubbs(values)
	critical := grubbsCritical(n, strange/2)
	if !(g > critical) {
		return nil
	}
	others := slices.Delete(slices.Clone(values), i, i+1)
	deviation := values[i] - stat.Mean(others, nil)
	u := 0.0
	for j, o := range used {
		own, _ := split(o.Budget)
		if j != i {
			own /= float64(n - 1)
		}
		u = math.Hypot(u, own)
	}
	if math.Abs(deviation) <= 2*u {
		return nil
	}
	who := name(used[i], place[i])
	return []Outlier{{
		ID: used[i].ID, Place: place[i] + 1, Deviation: deviation, G: g, Critical: critical,
		Reason: fmt.Sprintf("%s differs from the mean of the others by %+.2g %%, more than chance allows (G = %.3f, critical %.3f at 5 %%); it counts all the same: look for what was different, and void it with that reason, or measure again.",
			capital(who), 100*deviation/math.Abs(stat.Mean(others, nil)), g, critical),
	}}
}

// grubbs is the largest distance from the mean in standard deviations, and whose it is.
func grubbs(values []float64) (g float64, i int) {
	mean, s := stat.MeanStdDev(values, nil)
	if s == 0 {
		return 0, 0
	}
	for j, v := range values {
		if d := math.Abs(v-mean) / s; d > g {
			g, i = d, j
		}
	}
	return g, i
}

// grubbsCritical is what Grubbs's statistic of n values exceeds on one side with
// probability alpha.
func grubbsCritical(n int, alpha float64) float64 {
	m := float64(n)
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: m - 2}.Quantile(1 - alpha/m)
	return (m - 1) / math.Sqrt(m) * math.Sqrt(t*t/(m-2+t*t))
}

// capital begins a sentence with a name of [name].
func capital(text string) string { return strings.ToUpper(text[:1]) + text[1:] }
