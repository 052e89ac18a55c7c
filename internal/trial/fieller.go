package trial

import "math"

// ratio is found over left with its interval by Fieller (1954): all r for which
// found − r·left does not differ from 0. It is exact for normal errors however badly
// left is known, and says by being open that left may be nothing. nil when found is
// not clearly above 0: then nothing is known of how many times.
func (p pair) ratio() *Ratio {
	const oneSided, twoSided = coverage, (1 + coverage) / 2
	if p.found.Value <= 0 || !p.differs(0, oneSided) {
		return nil
	}
	clipped := p
	clipped.left.Value = max(p.left.Value, 0) // no joint leaks less than nothing
	if math.IsInf(clipped.reach(oneSided), 0) {
		return nil
	}
	r := &Ratio{Coverage: coverage}
	if high, ok := clipped.upper(twoSided); ok {
		value := p.found.Value / p.left.Value
		r.Value, r.High = &value, &high
		r.Low = clipped.lower(twoSided)
		return r
	}
	r.Low = clipped.lower(oneSided)
	return r
}

// differs reports whether found − r·left lies further from 0 than its uncertainty at
// a probability.
func (p pair) differs(r, level float64) bool {
	u, dof := p.contrast(r)
	return math.Abs(p.found.Value-r*p.left.Value) > student{dof}.quantile(level)*u
}

// reach is an r that cannot be told from the ratio: the ratio itself or, where left may
// be nothing, one so large that found is lost in the uncertainty of r·left; +Inf where
// left is exactly 0.
func (p pair) reach(level float64) float64 {
	r := 1.0
	if p.left.Value > 0 {
		r = p.found.Value / p.left.Value
	}
	for p.differs(r, level) {
		r *= 2
	}
	return r
}

// lower is the least r above 0 that cannot be told from the ratio.
func (p pair) lower(level float64) float64 {
	if !p.differs(0, level) {
		return 0
	}
	return p.border(0, p.reach(level), level)
}

// unbounded times the ratio is as good as infinite.
const unbounded = 1e6

// upper is the largest r that cannot be told from the ratio; false when there is none
// because left cannot be told from nothing.
func (p pair) upper(level float64) (float64, bool) {
	if p.left.Value <= 0 {
		return 0, false
	}
	estimate := p.found.Value / p.left.Value
	if !p.differs(unbounded*estimate, level) {
		return 0, false
	}
	return p.border(unbounded*estimate, estimate, level), true
}

// border finds where differing ends, between an r that differs and one that does not.
func (p pair) border(differs, same, level float64) float64 {
	for range 200 {
		middle := (differs + same) / 2
		if math.Abs(differs-same) <= 1e-12*middle {
			break
		}
		if p.differs(middle, level) {
			differs = middle
		} else {
			same = middle
		}
	}
	return same
}
