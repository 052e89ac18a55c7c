package hold

import (
	"math"
	"slices"
	"time"

	"boretight/internal/trace"
)

// block is the mean of a few neighbouring readings. The finder decides on blocks,
// so that a gauge of 20 readings a second and one of 1,000 look alike to it and
// the cost of a reading stays a handful of additions.
type block struct {
	from, to int     // readings [from, to) of the finder's buffer
	t        float64 // mean time of the usable readings, s
	p        float64 // their mean pressure, Pa
}

// blockSeconds is how long a block lasts at least: short against a stroke of a
// hand pump (0.2 s and more), long against the interval of common gauges.
const blockSeconds = 0.04

// blocker gathers readings into blocks.
type blocker struct {
	from  int
	n     int
	sumT  float64
	sumP  float64
	start float64 // time of the first reading of the block
}

// add takes reading i and returns a finished block when it completes one. The
// block is closed by the reading that begins the next, so a lone reading of a
// slow gauge is told one interval late.
func (b *blocker) add(i int, r trace.Reading) (done block, ok bool) {
	t := r.Seconds()
	if b.n > 0 && t-b.start >= blockSeconds {
		done, ok = b.close(i)
	}
	if !usable(r) {
		return done, ok
	}
	if b.n == 0 {
		b.from, b.start = i, t
	}
	b.n++
	b.sumT += t
	b.sumP += r.Pressure
	return done, ok
}

// close ends the block in progress before reading i.
func (b *blocker) close(i int) (block, bool) {
	if b.n == 0 {
		return block{}, false
	}
	n := float64(b.n)
	done := block{from: b.from, to: i, t: b.sumT / n, p: b.sumP / n}
	*b = blocker{}
	return done, true
}

// usable reports whether a reading may enter a mean.
func usable(r trace.Reading) bool {
	return r.Status.Usable() && !math.IsNaN(r.Pressure) && !math.IsInf(r.Pressure, 0)
}

// interval returns the median time between readings in seconds, and 0 for fewer
// than two. It is taken over several readings at once, so that a gauge whose
// readings arrive in bursts is not taken for a fast one.
func interval(rs []trace.Reading) float64 {
	lag := min(8, len(rs)-1)
	if lag < 1 {
		return 0
	}
	d := make([]time.Duration, len(rs)-lag)
	for i := range d {
		d[i] = rs[i+lag].T - rs[i].T
	}
	slices.Sort(d)
	return d[len(d)/2].Seconds() / float64(lag)
}

// spread returns a robust standard deviation of the differences of neighbours
// divided by √2: the noise of one value where the level itself moves slowly. A
// sensor that mostly sits on one of its steps has no median difference; then the
// root mean square of all but the largest tenth speaks.
func spread(v []float64) float64 {
	if len(v) < 3 {
		return 0
	}
	d := make([]float64, len(v)-1)
	for i := range d {
		d[i] = math.Abs(v[i+1] - v[i])
	}
	slices.Sort(d)
	var sum float64
	most := d[:len(d)-len(d)/10]
	for _, x := range most {
		sum += x * x
	}
	// 0.9539 = 0.6745·√2: the median of |difference of two normals| in their σ.
	return max(d[len(d)/2]/0.9539, math.Sqrt(sum/float64(2*len(most))))
}

// wander returns a robust standard deviation of values about a level: that of noise
// that remembers is larger than [spread] shows.
func wander(v []float64, level float64) float64 {
	away := make([]float64, len(v))
	for i, x := range v {
		away[i] = math.Abs(x - level)
	}
	return median(away) / 0.6745 // of a normal distribution
}

// median sorts a copy of v and returns its middle; NaN when empty.
func median(v []float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	s := slices.Clone(v)
	slices.Sort(s)
	return s[len(s)/2]
}
