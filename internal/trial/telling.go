package trial

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

const (
	// changed is the probability below which a scatter is not chance: something changed
	// while the trial was made.
	changed = 0.001
	// ordinary is how far holds of one joint repeat where few trials tell of the rig, as a
	// part of the leakage rate; settled where enough of them do. Common practice, no source.
	ordinary, settled = 0.05, 0.02
	// enoughTrials beside one can say what is usual on their rig.
	enoughTrials = 3
)

// Telling returns what earlier trials, newest first, saw of their rig's repeatability,
// without those that tell nothing of it: trials with an outlier, and those whose holds
// differ by far more than they state and than is usual on the rig (F test, p < 0.001).
// There the joint or the plugging changed in mid-trial, and how much says nothing of the
// next trial. What is usual is the median of the other trials, and where fewer than three
// of them tell, 5 % of the leakage rate: so one trial cannot make itself usual, but what
// most trials do is how the rig repeats.
func Telling(earlier []Trial) (seen []Repeatability) {
	told := slices.DeleteFunc(slices.Clone(earlier), func(t Trial) bool {
		return t.Repeatability == nil || t.LeakRate == nil || len(t.Outliers) > 0
	})
	told = told[:min(len(told), latestTrials)]
	holds, plugs := make([]spread, len(told)), make([]spread, len(told))
	for i, t := range told {
		holds[i], plugs[i] = t.spread(t.Repeatability.Holds), t.spread(t.Repeatability.Replugging)
	}
	for i, t := range told {
		if !holds[i].strange(without(holds, i)) && !plugs[i].strange(without(plugs, i)) {
			seen = append(seen, *t.Repeatability)
		}
	}
	return seen
}

// spread is a scatter with all that holds state of themselves in it, as relative variances.
type spread struct {
	whole, stated, dof float64
}

func (t Trial) spread(s Scatter) spread {
	if !s.told() || math.IsNaN(s.U) {
		return spread{}
	}
	size := math.Max(math.Abs(t.LeakRate.Value), t.LeakRate.U)
	stated := 0.0
	for _, l := range t.Budget {
		if varies(l.Source) && l.Source != sourceHolds && l.Source != sourceReplug {
			stated += l.U * l.U * float64(t.Used) // of one hold; the mean has less
		}
	}
	size *= size
	return spread{(s.U*s.U + stated) / size, stated / size, s.dof()}
}

func (s Scatter) dof() float64 { return min(s.Dof, exact) }

// strange reports whether a spread is more than chance makes of what is usual.
func (s spread) strange(others []spread) bool {
	others = slices.DeleteFunc(others, func(o spread) bool { return o.dof == 0 })
	if s.dof == 0 {
		return false
	}
	if len(others) < enoughTrials {
		return s.whole/(s.stated+ordinary*ordinary)*s.dof > distuv.ChiSquared{K: s.dof}.Quantile(1-changed)
	}
	dof := 0.0
	each := make([]float64, len(others))
	for i, o := range others {
		middle := math.Pow(1-2/(9*o.dof), 3) // the median of χ²/dof (Wilson and Hilferty 1931)
		each[i] = o.whole / middle
		dof += o.dof
	}
	usual := max(median(each), s.stated+settled*settled)
	return s.whole/usual > distuv.F{D1: s.dof, D2: dof}.Quantile(1-changed)
}

func without(all []spread, i int) []spread { return slices.Delete(slices.Clone(all), i, i+1) }
