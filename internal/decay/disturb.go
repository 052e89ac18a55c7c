package decay

import (
	"fmt"
	"math"
	"slices"
)

// change is a place where the readings leave the curve for good: from there on the
// curve would have to run at another slope, or from another level.
type change struct {
	t     float64 // s since isolation
	z     float64 // how many standard deviations it stands out by
	slope float64 // change of slope, Pa/s
	step  float64 // change of level, Pa; one of the two is 0
}

const (
	// changeZ is how far a change must stand out. Of some hundred places looked at
	// in a clean hold, one in a million passes it in normal noise; that noise is
	// never quite what it is taken for is why it is not less.
	changeZ = 8
	// quietStart is how long after isolation in s no change is looked for: heat is at
	// its strongest there, and the model at its weakest.
	quietStart = 1.4
	// shortest clean stretch in s that still gives a leakage rate once a hold was disturbed.
	shortestClean = 2.0
)

// disturbance looks for the most telling change. It must stand out of the noise
// that is left once it is itself taken off, and matter against the leak's own slope.
func (f *fitter) disturbance() (change, bool) {
	best := f.mostTelling(f.d.start + quietStart)
	if best.z < changeZ {
		return change{}, false
	}
	best.z *= f.rescale(best)
	return best, best.z > changeZ && f.matters(best)
}

// mostTelling returns the change that stands out most from a time since isolation on.
func (f *fitter) mostTelling(from float64) (best change) {
	for i, b := range f.d.held {
		if b.t < from || i+4 > len(f.d.held) {
			continue
		}
		for _, ramp := range [...]bool{true, false} {
			if c := f.score(f.white.cov, i, ramp); c.z > best.z {
				best = c
			}
		}
	}
	return best
}

// score is the score test for a change at held bin i: how much of the residuals a
// ramp or a step from there on explains that the parameters cannot.
func (f *fitter) score(cov []float64, i int, ramp bool) change {
	var along [nAll]float64
	var num, size float64
	t0 := (f.d.held[i].t + f.d.held[max(i-1, 0)].t) / 2
	for k := i; k < len(f.d.held); k++ {
		x := f.white.inv[k]
		if ramp {
			x *= f.d.held[k].t - t0
		}
		num -= x * f.white.sol.r[k]
		size += x * x
		for j, v := range f.white.sol.jac[k*nAll : (k+1)*nAll] {
			along[j] += x * v
		}
	}
	for a, v := range along {
		num += v * f.white.lean[a]
		for b, w := range along {
			size -= v * w * cov[a*nAll+b]
		}
	}
	c := change{t: t0}
	if size <= 0 {
		return c
	}
	c.z = math.Abs(num) / math.Sqrt(size)
	if ramp {
		c.slope = num / size
	} else {
		c.step = num / size
	}
	return c
}

// window is the length in s over which the noise is looked at by itself: long
// against what a sensor's noise remembers, short against what a bent fit leaves.
const window = 2.0

// rescale is the noise that the score was weighted with over that of the readings
// themselves: of the residuals less a straight line in every window, the windows
// about the change left out. A fit bent by the change cannot hide it so.
func (f *fitter) rescale(c change) float64 {
	var left []float64
	s := f.d.samples
	for from := 0; from < len(s); {
		to := from
		for to < len(s) && s[to].t < s[from].t+window {
			to++
		}
		if to-from >= 8 && (s[to-1].t < c.t-0.5 || s[from].t > c.t+0.5) {
			part := slices.Clone(f.white.residuals[from:to])
			detrend(part)
			left = append(left, part...)
		}
		from = to
	}
	if len(left) < 16 {
		return 1
	}
	n := scatter(left, f.floor())
	return min(1, f.white.noise.sigma*math.Sqrt(f.white.noise.inflation())/(n.sigma*math.Sqrt(n.inflation())))
}

// detrend takes the best straight line off values at even distances.
func detrend(v []float64) {
	n := float64(len(v))
	if n < 3 {
		return
	}
	var sy, sxy, sxx float64
	for i, y := range v {
		x := float64(i) - (n-1)/2
		sy += y
		sxy += x * y
		sxx += x * x
	}
	for i := range v {
		v[i] -= sy/n + sxy/sxx*(float64(i)-(n-1)/2)
	}
}

// matters reports whether a change is more than a flaw of the model: a tenth of
// the slope there, or a step that no leak and no heat makes.
func (f *fitter) matters(c change) bool {
	d := f.d
	var slope float64
	for i := 1; i < len(d.held); i++ {
		if d.held[i].t >= c.t {
			j := max(i-6, 0)
			slope = math.Abs(d.held[i].y-d.held[j].y) / (d.held[i].t - d.held[j].t)
			break
		}
	}
	return math.Abs(c.slope) > max(0.1*slope, 0.3) || math.Abs(c.step) > max(4, 0.002*d.held[0].y)
}

// tell says in a sentence what was found and what was made of it.
func (c change) tell() string {
	what := "the pressure jumped, as from a knock or a touched hose"
	switch {
	case c.slope < 0:
		what = "the joint began to leak more, as when a finger slips or a key is let go"
	case c.slope > 0:
		what = "the joint began to leak less, or something moved"
	}
	return fmt.Sprintf("%.1f s after isolation %s: only the stretch before counts.", c.t, what)
}
