package guided

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"boretight/internal/trace"
)

const (
	// steadySpan is how long a gauge must read the same.
	steadySpan = 2 * time.Second
	// A pressure is steady if its quarters differ by no more than this, in Pa and as a
	// share of it, or by what their noise lets them: a ruler is read to 3 Pa or so.
	steadyPa, steadyShare = 2, 0.001
)

// steady is the mean of readings that stood still.
type steady struct {
	mean, u float64       // Pa
	until   time.Duration // of the newest reading
}

// fewest readings make a mean: two in each quarter. A slow gauge gets the time for them,
// but no more than it is watched for.
const fewest = 8

// stand returns the mean of the last two seconds of readings after a time, or why there is
// none. wait tells that more readings are needed, nothing else.
func stand(recent []trace.Reading, after time.Duration) (s steady, wait bool, why string) {
	if len(recent) == 0 {
		return s, false, "the gauge is not heard: look at its cable, then type it again"
	}
	newest := recent[len(recent)-1].T
	from := newest - steadySpan
	fresh := recent[sort.Search(len(recent), func(i int) bool { return recent[i].T > after }):]
	var window []trace.Reading
	for _, r := range slices.Backward(fresh) {
		if r.T < from && len(window) >= fewest {
			break
		}
		if r.Status&trace.Saturated != 0 {
			return s, false, "the gauge is beyond its range: leave this one out"
		}
		if r.Status.Usable() {
			window = append(window, r)
		}
	}
	slices.Reverse(window)
	switch {
	case len(window) >= fewest && window[0].T <= from+steadySpan/10:
	case len(fresh) > 0 && newest-fresh[0].T > recentSpan*9/10:
		return s, false, fmt.Sprintf("the gauge gives too few readings, %d in %.0f s", len(window), (newest - fresh[0].T).Seconds())
	default:
		return s, true, "too few readings yet"
	}
	s.mean, s.u = meanOf(window)
	s.until = newest
	moved, noise := quarters(window)
	s.u = math.Max(s.u, noise)
	if allowed := max(steadyPa, steadyShare*math.Abs(s.mean), 5*noise); moved > allowed {
		return s, false, fmt.Sprintf("the gauge still moves, by %.2g Pa in the last %.0f s: wait until all is still and type it again", moved, (newest - window[0].T).Seconds())
	}
	return s, false, ""
}

// meanOf returns the mean pressure and its standard uncertainty if readings are independent.
func meanOf(rs []trace.Reading) (mean, u float64) {
	n := float64(len(rs))
	for _, r := range rs {
		mean += r.Pressure / n
	}
	var squares float64
	for _, r := range rs {
		squares += (r.Pressure - mean) * (r.Pressure - mean)
	}
	return mean, math.Sqrt(squares / (n - 1) / n)
}

// quarters returns by how much the means of four quarters differ at most, and what one
// of them is uncertain by for its readings' noise about it.
func quarters(rs []trace.Reading) (moved, noise float64) {
	low, high := math.Inf(1), math.Inf(-1)
	for i := range 4 {
		mean, u := meanOf(rs[i*len(rs)/4 : (i+1)*len(rs)/4])
		low, high = min(low, mean), max(high, mean)
		noise = max(noise, u)
	}
	return high - low, noise
}
