package trial

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// Scatter is how much results differ beyond what each of them says of itself: a
// standard deviation in Pa·m³/s and the degrees of freedom it is known with. The
// zero value is not known. +Inf degrees of freedom take it as exact.
type Scatter struct {
	U   float64 `json:"u"`
	Dof float64 `json:"dof"`
}

func (s Scatter) told() bool { return s.Dof > 0 }

// pooled is what several results of one quantity say of it together.
type pooled struct {
	weights []float64 // of the results in the mean; they add up to 1
	between float64   // standard deviation between the results beyond what they state
	dof     float64   // of within and between together; +Inf where nothing is between
}

// pool finds the scatter between results q ± own and their weights, by Mandel and
// Paule (1970; as a random-effects estimator DerSimonian and Kacker 2007): between is
// what makes Σ(q−mean)²/(own²+between²) as large as chance makes it, n−1, and none
// where it is smaller already. A scatter known from elsewhere counts like so many
// results more.
//
// Where there is something between, the whole scatter has been estimated and has no
// more degrees of freedom than that; else each result's own statement stands. The
// intervals that follow hold the truth in 92 % or more (for 95 %) of three results and more,
// whatever lies between; of two, 86 % at worst, where chance hides it.
func pool(values, own []float64, known Scatter) pooled {
	n := float64(len(values))
	if math.IsInf(known.Dof, 1) {
		return pooled{weightsOf(own, known.U*known.U), known.U, math.Inf(1)}
	}
	var stated float64 // mean of own²
	for _, u := range own {
		stated += u * u / n
	}
	dof := n - 1 + known.Dof
	excess := func(between float64) float64 {
		w := weightsOf(own, between)
		m := stat.Mean(values, w)
		sum := 0.0
		for i, v := range values {
			sum += (v - m) * (v - m) / (own[i]*own[i] + between)
		}
		if known.told() {
			sum += known.Dof * (stated + known.U*known.U) / (stated + between)
		}
		return sum - dof
	}
	// Results may state no doubt at all; this is nothing beside their differences.
	low := 1e-12 * (variance(values) + known.U*known.U)
	if dof <= 0 || low == 0 || excess(low) <= 0 {
		return pooled{weightsOf(own, 0), 0, math.Inf(1)}
	}
	high := variance(values) + known.U*known.U + stated
	for excess(high) > 0 {
		high *= 2
	}
	for range 100 {
		if middle := (low + high) / 2; excess(middle) > 0 {
			low = middle
		} else {
			high = middle
		}
	}
	return pooled{weightsOf(own, high), math.Sqrt(high), dof}
}

// weightsOf are the inverse variances, made to add up to 1; equal where one is 0.
func weightsOf(own []float64, between float64) []float64 {
	weights := make([]float64, len(own))
	sum := 0.0
	for i, u := range own {
		weights[i] = 1 / (u*u + between)
		sum += weights[i]
	}
	for i := range weights {
		weights[i] /= sum
		if math.IsInf(sum, 1) {
			weights[i] = 1 / float64(len(own))
		}
	}
	return weights
}

func variance(values []float64) float64 {
	if len(values) < 2 {
		return 0
	}
	return stat.Variance(values, nil)
}

// line is the budget's line of what is between results whose own statements add up
// to the variance own in the mean: its degrees of freedom are such that with own,
// which is taken as known, the whole has those of p (the variance of between² is that
// of the whole scatter, of which own² is taken off).
func (p pooled) line(source string, own float64) Line {
	var weight float64
	for _, w := range p.weights {
		weight += w * w
	}
	l := Line{}
	l.Source, l.U = source, p.between*math.Sqrt(weight)
	if few(p.dof) {
		share := l.U * l.U / (l.U*l.U + own)
		l.Dof = p.dof * share * share
	}
	return l
}
