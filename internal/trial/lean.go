package trial

import "boretight/internal/decay"

// leaning is how much further than the other an interval reaches to each side: 1 and
// 1 for a symmetric one.
type leaning struct{ low, high float64 }

// leanOf is the lean of an estimate; none where it has no interval about its value.
func leanOf(e decay.Estimate) leaning {
	if !(e.Low < e.Value && e.Value < e.High) {
		return leaning{1, 1}
	}
	half := (e.High - e.Low) / 2
	return leaning{(e.Value - e.Low) / half, (e.High - e.Value) / half}
}

// add takes an estimate into a mean: a mean leans as those that it is made of,
// because they share most of their doubt.
func (l *leaning) add(e decay.Estimate, weight float64) {
	of := leanOf(e)
	l.low += weight * of.low
	l.high += weight * of.high
}

// toward is the lean on the side on which a value lies of the estimate's.
func (l leaning) toward(above bool) float64 {
	if above {
		return l.high
	}
	return l.low
}
