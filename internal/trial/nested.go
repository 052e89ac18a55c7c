package trial

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// layers is the scatter of holds taken apart into that of the rig and that of
// re-plugging.
type layers struct {
	weights []float64 // of the holds in the mean
	lines   []Line    // what is between, as it stands in the mean
	seen    Repeatability
}

// layersOf takes the scatter apart by an analysis of variance of two levels
// (JCGM 100:2008, H.5; Searle, Casella and McCulloch 1992): holds in one plugging
// show the rig's repeatability, the means of pluggings that of re-plugging. Without
// marks, or with one plugging only, all is between holds. known is what earlier
// trials told.
func layersOf(values, own []float64, plugging []int, known Repeatability) layers {
	groups := groupsOf(plugging)
	if len(groups) < 2 {
		p := pool(values, own, known.Holds)
		l := layers{weights: p.weights, seen: Repeatability{Holds: seen(p, float64(len(values)-1), known.Holds)}}
		l.add(p, sourceHolds, inMean(own, p.weights))
		if len(groups) == 1 && known.Replugging.told() {
			l.replug(known.Replugging)
		}
		return l
	}
	rig := within(values, own, groups, known.Holds)
	means, u := make([]float64, len(groups)), make([]float64, len(groups))
	for j, g := range groups {
		n := float64(len(g))
		for _, i := range g {
			means[j] += values[i] / n
			u[j] += (own[i]*own[i] + rig.between*rig.between) / (n * n)
		}
		u[j] = math.Sqrt(u[j])
	}
	p := pool(means, u, known.Replugging)
	l := layers{weights: make([]float64, len(values)), seen: Repeatability{
		Holds:      seen(rig, float64(len(values)-len(groups)), known.Holds),
		Replugging: seen(p, float64(len(groups)-1), known.Replugging),
	}}
	for j, g := range groups {
		for _, i := range g {
			l.weights[i] = p.weights[j] / float64(len(g))
		}
	}
	if p.between > 0 {
		rig.dof = math.Inf(1) // the scatter of the means, which holds the rig's, has been counted
	}
	l.add(pooled{l.weights, rig.between, rig.dof}, sourceHolds, inMean(own, l.weights))
	l.add(p, sourceReplug, inMean(u, p.weights))
	return l
}

// replug adds what another plugging would have changed, which no number of holds in
// this one averages.
func (l *layers) replug(known Scatter) {
	if known.U > 0 {
		line := Line{Shared: true}
		line.Source, line.U = sourceReplug, known.U
		if few(known.Dof) {
			line.Dof = known.Dof
		}
		l.lines = append(l.lines, line)
	}
}

// groupsOf are the holds of each plugging, in order of their first; none unless all
// are marked.
func groupsOf(plugging []int) (groups [][]int) {
	if slices.Contains(plugging, 0) {
		return nil
	}
	place := map[int]int{}
	for i, mark := range plugging {
		j, ok := place[mark]
		if !ok {
			j = len(groups)
			place[mark] = j
			groups = append(groups, nil)
		}
		groups[j] = append(groups[j], i)
	}
	return groups
}

// within is the scatter of holds about the mean of their plugging.
func within(values, own []float64, groups [][]int, known Scatter) pooled {
	var sum, stated, dof float64
	for _, g := range groups {
		var of []float64
		for _, i := range g {
			of = append(of, values[i])
			stated += own[i] * own[i] / float64(len(values))
		}
		if len(g) > 1 {
			sum += stat.Variance(of, nil) * float64(len(g)-1)
			dof += float64(len(g) - 1)
		}
	}
	if math.IsInf(known.Dof, 1) {
		return pooled{between: known.U, dof: known.Dof}
	}
	sum += known.Dof * (stated + known.U*known.U)
	dof += known.Dof
	if dof == 0 || sum/dof <= stated {
		return pooled{dof: math.Inf(1)}
	}
	return pooled{between: math.Sqrt(sum/dof - stated), dof: dof}
}

// exact stands for a scatter that is taken as exact, where infinity cannot be printed.
const exact = 1e6

// seen is what the next trial may be told of a scatter.
func seen(p pooled, dof float64, known Scatter) Scatter {
	return Scatter{U: p.between, Dof: min(dof+known.Dof, exact)}
}

// inMean is the variance that the results' own statements have in the mean.
func inMean(own, weights []float64) (v float64) {
	for i, u := range own {
		v += weights[i] * weights[i] * u * u
	}
	return v
}

func (l *layers) add(p pooled, source string, own float64) {
	if p.between > 0 {
		l.lines = append(l.lines, p.line(source, own))
	}
}
