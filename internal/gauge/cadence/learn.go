package cadence

import (
	"math"
	"slices"
)

const (
	// learnSeconds and learnLines are what a period is learned from; learnAtMost is
	// when a gauge that is slower is given up for this time.
	learnSeconds = 1.0
	learnLines   = 12
	learnAtMost  = 4.0
	// coarse and fine are the steps, as shares of the median slope, between the
	// periods tried. The median is high by the share of lines lost, and wrong by
	// some lump over half a second either way.
	coarse      = 0.005
	coarseBelow = 40
	coarseAbove = 8
	fine        = 0.0005
	fineAround  = 10
	// misfit bounds the mean delay above the envelope, in periods and s: even lines
	// in long lumps are late by half a period on average.
	misfitPeriods = 0.75
	misfitSeconds = 3e-3
	// lossCost is what a share of lost lines adds to the delay above the envelope, in
	// periods. Without it, a period of which lumps are a multiple of a part explains
	// everything: lines of 100 Hz in lumps of 16 ms lie on a grid of 16/1.8 ms.
	// Few lines are lost at most gauges, so that many cost more.
	lossCost = 3
	manyCost = 20
	manyLost = 0.07
)

// learned is a grid and the number of the last line on it.
type learned struct {
	line line
	n    int64
}

// findPeriod returns the grid above which points lie closest; ok is false if they lie
// close to none.
func findPeriod(points []point) (best learned, ok bool) {
	median := medianSlope(points)
	if !(median > 0) {
		return learned{}, false
	}
	score := math.Inf(1)
	try := func(period float64) {
		for _, late := range [...]float64{1 - tolerance, 1 + tolerance/2} {
			if found, s := replay(points, period, late); s < score {
				best, score = found, s
			}
		}
	}
	for i := -coarseBelow; i <= coarseAbove; i++ {
		try(median * (1 + coarse*float64(i)))
	}
	middle := best.line.period
	for i := -fineAround; i <= fineAround; i++ {
		try(middle * (1 + fine*float64(i)))
	}
	return best, score <= misfitPeriods*best.line.period+misfitSeconds
}

// medianSlope is the median time from line to line over stretches of half the span.
func medianSlope(points []point) float64 {
	half := len(points) / 2
	slopes := make([]float64, 0, half)
	for i := range len(points) - half {
		a, b := points[i], points[i+half]
		if b.n > a.n {
			slopes = append(slopes, (b.t-a.t)/float64(b.n-a.n))
		}
	}
	if len(slopes) == 0 {
		return 0
	}
	slices.Sort(slopes)
	return slopes[len(slopes)/2]
}

// replay counts the points on a grid of the given period and returns the grid below
// them, with the points' mean delay above it. Lines are lost before one that is late by
// so many periods: a little less than 1 where lumps are shorter than the period, and a
// little more where they are longer, so that ordinary delays reach up to 1.
func replay(points []point, period, late float64) (found learned, score float64) {
	lowest := points[0].t // delay of the envelope so far, against a grid through 0
	var shift, lostNow int64
	sum, least := 0.0, math.Inf(1)
	leastAt := point{}
	origin := points[0].n
	for _, p := range points {
		n := p.n - origin + shift
		r := p.t - float64(n)*period
		switch lag := r - lowest; {
		case lag > period*late:
			k := int64(lag/period + max(0, 1-late))
			shift, lostNow = shift+k, lostNow+k
			r -= float64(k) * period
		case lag < -0.6*period && lostNow > 0:
			k := min(lostNow, int64(math.Round(-lag/period)))
			shift, lostNow = shift-k, lostNow-k
			r += float64(k) * period
		}
		lowest = min(lowest, r)
		sum += r
		if r < least {
			least, leastAt = r, point{p.n + shift, p.t}
		}
	}
	found.line = line{leastAt.n, leastAt.t, period}
	found.n = points[len(points)-1].n + shift
	share := float64(shift) / float64(found.n-origin+1)
	cost := lossCost*share + manyCost*max(0, share-manyLost)
	return found, sum/float64(len(points)) - least + cost*period
}
