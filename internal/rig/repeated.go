package rig

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// varies reports whether a line of a syringe step's budget takes a new value each time.
func varies(source string) bool {
	switch source {
	case sourceBefore, sourceAfter, sourceRateBefore, sourceRateAfter, sourceInstant:
		return true
	}
	return false
}

// MeanVolume makes one volume of several syringe steps on one joint: what differs from
// step to step is averaged, with the scatter seen where that is larger than each says of
// itself; syringe, span and all else that they share is kept whole. None is dropped.
func MeanVolume(steps []Volume) (Volume, error) {
	if len(steps) == 0 {
		return Volume{}, &Refusal{doingVolume, "no syringe step at all", "take one, or better three"}
	}
	values := make([]float64, len(steps))
	for i, v := range steps {
		if v.Method != BySyringe {
			return Volume{}, &Refusal{doingVolume, "a volume by " + string(v.Method) + " among syringe steps", "average steps only"}
		}
		values[i] = v.Value
	}
	own, shared := apart(steps)
	repeatability, doubts := repeat(values, own)
	sources := append(shared, repeatability, source{name: "mean", Measured: Measured{stat.Mean(values, nil), 0}})
	v := Volume{Result: propagate(sum, sources), Method: BySyringe, RigIncluded: true}
	v.Doubts = doubts
	return v.accept("take more steps, or larger ones")
}

// apart returns the variance of the steps' mean as each states its own, and what all
// share: of each source the largest line.
func apart(steps []Volume) (own float64, shared []source) {
	n := float64(len(steps))
	for _, v := range steps {
		for _, b := range v.Budget {
			if varies(b.Source) {
				own += b.U * b.U / (n * n)
				continue
			}
			at := slices.IndexFunc(shared, func(s source) bool { return s.name == b.Source })
			if at < 0 {
				shared = append(shared, source{name: b.Source, Measured: Measured{0, b.U}})
			} else {
				shared[at].U = max(shared[at].U, b.U)
			}
		}
	}
	return own, shared
}

// repeat is what does not repeat in the mean of steps: the variance stated, or that seen
// where it is larger. Scatter that is no chance (beyond the 99 % point of χ²) is said.
func repeat(values []float64, stated float64) (source, []string) {
	s := source{name: "repeatability", Measured: Measured{0, math.Sqrt(stated)}}
	free := float64(len(values) - 1)
	if free == 0 {
		return s, nil
	}
	seen := stat.Variance(values, nil) / (free + 1)
	if seen <= stated {
		return s, nil
	}
	s.U, s.dof = math.Sqrt(seen), free
	chance := distuv.ChiSquared{K: free}.Quantile(0.99) / free
	if seen <= chance*stated {
		return s, nil
	}
	return s, []string{"The syringe steps differ more than each of them says of itself: the plunger, a seal or the room's warmth was not steady."}
}
