package rig

import "math"

// A pair is astray that stands farther from the line of the others than a gauge or a
// ruler is ever off: a slip of the pen. Common practice, no source.
const (
	strayPa    = 20.0 // Pa
	strayShare = 0.02 // of the largest reference
	strayTimes = 5    // what the others scatter about their line
)

// Stray returns which pair stands far from the line of all others, and by how much in Pa
// its reading is off there; false when none does. Of three pairs none can be told from
// the others, so that it is the last that is asked about. At least three are needed.
func Stray(pairs []Pair) (index int, off float64, found bool) {
	first := 0
	if len(pairs) == 3 {
		first = 2
	}
	if len(pairs) < 3 {
		return 0, 0, false
	}
	least, largest := math.Inf(1), 0.0
	for _, p := range pairs {
		largest = max(largest, math.Abs(p.Reference))
	}
	for i := first; i < len(pairs); i++ {
		line, scatter, ok := without(pairs, i)
		if !ok || scatter >= least {
			continue
		}
		least = scatter
		index, off = i, pairs[i].Reading-pairs[i].Reference-line(pairs[i].Reference)
	}
	far := max(strayPa, strayShare*largest, strayTimes*least)
	return index, off, !math.IsInf(least, 1) && math.Abs(off) > far
}

// without is the line of how far readings are off against the reference, of all pairs but
// one, and how they scatter about it; false where they are all at one reference.
func without(pairs []Pair, leave int) (line func(float64) float64, scatter float64, ok bool) {
	var n, x, y, xx, xy, squares float64
	for i, p := range pairs {
		if i != leave {
			n, x, y = n+1, x+p.Reference, y+p.Reading-p.Reference
		}
	}
	x, y = x/n, y/n
	for i, p := range pairs {
		if dx := p.Reference - x; i != leave {
			xx, xy = xx+dx*dx, xy+dx*(p.Reading-p.Reference-y)
		}
	}
	if !(xx > 0) {
		return nil, 0, false
	}
	slope := xy / xx
	line = func(at float64) float64 { return y + slope*(at-x) }
	for i, p := range pairs {
		if r := p.Reading - p.Reference - line(p.Reference); i != leave {
			squares += r * r
		}
	}
	return line, math.Sqrt(squares / max(n-2, 1)), true
}
