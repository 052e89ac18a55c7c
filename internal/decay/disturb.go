package decay

import (
	"fmt"
	"math"
	"slices"
)

// change is a place where the readings leave the curve: from there on it would have
// to run at another slope or from another level, or for a moment only.
type change struct {
	kind kind
	t    float64 // s since isolation
	z    float64 // how many standard deviations it stands out by
	size float64 // Pa/s of a bend, else Pa
}

// kind is the shape of a change.
type kind uint8

const (
	bend  kind = iota // another slope from there on
	step              // another level from there on
	pulse             // another level for the length of some bins
)

const (
	// changeZ is how far a change must stand out. In normal noise 6 would do for the
	// hundred or so places looked at, but noise is never quite what it is taken for,
	// and changes that matter stand out by far more.
	changeZ = 12
	// onsetZ is how far the beginning of a change must stand out that is known to
	// come: a few places are looked at, and a cut too early costs little.
	onsetZ = 4
	// slowest is how long in s a change may take to grow until it is noticed.
	slowest = 4.0
	// quietStart is how long after isolation in s no change is looked for: heat is at
	// its strongest there, and the model at its weakest.
	quietStart = 1.4
	// leastBend is the share of the slope by which it must change to be more than a flaw
	// of the model; the beginning of a change that is known to come may be less.
	leastBend, gentleBend = 0.05, 0.03
	// pulseBins is the longest pulse looked for, in bins.
	pulseBins = 3
)

// disturbance looks for the most telling change that matters. It must stand out of the
// noise that is left once it is itself taken off.
func (f *fitter) disturbance() (change, bool) {
	if f.white.cov == nil {
		return change{}, false
	}
	best := f.mostTelling(f.d.start + quietStart)
	if best.z < changeZ {
		return change{}, false
	}
	best.z *= f.rescale(best)
	return best, best.z > changeZ
}

// onset looks for the beginning of a bend that is known to come right after the end,
// and which way it bends.
func (f *fitter) onset(from, size float64) (change, bool) {
	var best change
	sc := f.scanner()
	for i, b := range f.d.held {
		if b.t < from || i+4 > len(f.d.held) {
			continue
		}
		if c := sc.score(i, len(f.d.held), bend); c.z > best.z && c.size*size > 0 && f.noticeable(c, gentleBend) {
			best = c
		}
	}
	best.z *= f.rescale(best)
	return best, best.z > onsetZ
}

// mostTelling returns the change that stands out most, of those that matter, from a
// time since isolation on.
func (f *fitter) mostTelling(from float64) (best change) {
	sc := f.scanner()
	n := len(f.d.held)
	consider := func(c change) {
		if c.z > best.z && f.matters(c) {
			best = c
		}
	}
	for i, b := range f.d.held {
		if b.t < from || i+4 > n {
			continue
		}
		consider(sc.score(i, n, bend))
		consider(sc.score(i, n, step))
		for k := 1; k <= pulseBins && i+k < n; k++ {
			consider(sc.score(i, i+k, pulse))
		}
	}
	return best
}

// scanner holds, for every held bin, sums from there to the end that make a score at
// any place a matter of a few differences.
type scanner struct {
	f    *fitter
	sums []sums // one more than there are held bins
}

// sums are of the products of weight w, time t, residuals r and derivatives J.
type sums struct {
	wr, twr      float64
	ww, tww, ttw float64 // w², t·w², t²·w²
	wj, twj      [nAll]float64
}

func (f *fitter) scanner() *scanner {
	n := len(f.d.held)
	sc := &scanner{f, make([]sums, n+1)}
	for k := n - 1; k >= 0; k-- {
		s := sc.sums[k+1]
		t, w, r := f.d.held[k].t, f.white.inv[k], f.white.sol.r[k]
		s.wr += w * r
		s.twr += t * w * r
		s.ww += w * w
		s.tww += t * w * w
		s.ttw += t * t * w * w
		for j, v := range f.white.sol.jac[k*nAll : (k+1)*nAll] {
			s.wj[j] += w * v
			s.twj[j] += t * w * v
		}
		sc.sums[k] = s
	}
	return sc
}

// score is the score test for a change over the held bins [from, to): how much of the
// residuals it explains that the parameters cannot.
func (sc *scanner) score(from, to int, shape kind) change {
	f := sc.f
	held := f.d.held
	t0 := (held[from].t + held[max(from-1, 0)].t) / 2
	a, b := &sc.sums[from], &sc.sums[to]
	num, size := b.wr-a.wr, a.ww-b.ww
	var along [nAll]float64
	for j := range along {
		along[j] = a.wj[j] - b.wj[j]
	}
	if shape == bend {
		num = b.twr - a.twr - t0*num
		size = a.ttw - b.ttw - 2*t0*(a.tww-b.tww) + t0*t0*size
		for j := range along {
			along[j] = a.twj[j] - b.twj[j] - t0*along[j]
		}
	}
	whole := size
	for i, v := range along {
		num += v * f.white.lean[i]
		row := f.white.cov[i*nAll : (i+1)*nAll]
		var s float64
		for j, w := range along {
			s += w * row[j]
		}
		size -= v * s
	}
	c := change{kind: shape, t: t0}
	if size > 1e-9*whole { // else the parameters explain it as well
		c.z, c.size = math.Abs(num)/math.Sqrt(size), num/size
	}
	return c
}

// The noise is looked at by itself over windows of at most so many s: long against
// what a sensor's noise remembers, short against what a bent fit leaves, and so enough
// of them in a hold that most are sound.
const (
	longestWindow = 2.0
	windows       = 5
)

// rescale is the noise that the score was weighted with over that of the readings
// themselves, 1 at most.
func (f *fitter) rescale(c change) float64 { return min(1, f.loudness(c)) }

// loudness is the same without a bound.
func (f *fitter) loudness(c change) float64 {
	own, known := f.ownNoise(c)
	if !known {
		return 1
	}
	return f.louderThan(own)
}

// louderThan is the noise that scores are weighted with over another.
func (f *fitter) louderThan(own noise) float64 {
	return f.white.noise.sigma * math.Sqrt(f.white.noise.inflation()) / (own.sigma * math.Sqrt(own.inflation()))
}

// ownNoise is the readings' own noise away from a change: that of the residuals less a
// parabola in every window, those windows left out that scatter far more than the
// quieter ones. A fit bent by the change cannot hide it so. It is not known of too few
// readings.
func (f *fitter) ownNoise(c change) (own noise, known bool) {
	var parts [][]float64
	var scatters []float64
	s := f.d.samples
	window := min(longestWindow, f.d.end/windows)
	for from := 0; from < len(s); {
		to := from
		for to < len(s) && s[to].t < s[from].t+window {
			to++
		}
		if to-from >= 10 && (s[to-1].t < c.t-0.5 || s[from].t > c.t+0.5) {
			part := slices.Clone(f.white.residuals[from:to])
			straighten(part)
			parts = append(parts, part)
			scatters = append(scatters, meanSquare(part))
		}
		from = to
	}
	if len(parts) == 0 {
		return noise{}, false
	}
	quiet := slices.Sorted(slices.Values(scatters))[len(scatters)/8]
	var left []float64
	for i, part := range parts {
		if scatters[i] <= 3*quiet {
			left = append(left, part...)
		}
	}
	return scatter(left, f.floor()), true
}

func meanSquare(v []float64) (s float64) {
	for _, x := range v {
		s += x * x
	}
	return s / float64(len(v))
}

// straighten takes the best parabola off values at even distances.
func straighten(v []float64) {
	n := float64(len(v))
	// Orthogonal on even places: 1, x, x² − (n²−1)/12.
	var mean, line, bow, xx, qq float64
	each := func(do func(i int, x, q float64)) {
		for i := range v {
			x := float64(i) - (n-1)/2
			do(i, x, x*x-(n*n-1)/12)
		}
	}
	each(func(i int, x, q float64) {
		mean, line, bow = mean+v[i], line+x*v[i], bow+q*v[i]
		xx, qq = xx+x*x, qq+q*q
	})
	each(func(i int, x, q float64) { v[i] -= mean/n + line/xx*x + bow/qq*q })
}

// matters reports whether a change is more than a flaw of the model: a share of the
// slope there, or a level that no leak and no heat makes.
func (f *fitter) matters(c change) bool {
	switch c.kind {
	case pulse: // no slow flaw of the model looks like one
		return math.Abs(c.size) > 1
	case step:
		return math.Abs(c.size) > max(4, 0.002*f.d.held[0].y)
	}
	return f.noticeable(c, leastBend)
}

// noticeable reports whether a bend is at least a share of the slope where it is.
func (f *fitter) noticeable(c change, share float64) bool {
	return math.Abs(c.size) > max(share*f.slopeAt(c.t), 0.3)
}

// slopeAt is how fast Δ falls at time t since isolation, in Pa/s.
func (f *fitter) slopeAt(t float64) float64 {
	for i, b := range f.d.held {
		if b.t >= t && i > 0 {
			a := f.d.held[max(i-6, 0)]
			return math.Abs(b.y-a.y) / (b.t - a.t)
		}
	}
	return 0
}

// tell says in a sentence what was found and what was made of it.
func (c change) tell() string {
	what := "the pressure jumped, as from a knock or a touched hose"
	switch {
	case c.kind == bend && c.size < 0:
		what = "the joint began to leak more, as when a finger slips or a key is let go"
	case c.kind == bend:
		what = "the joint began to leak less, or something moved"
	}
	return fmt.Sprintf("%.1f s after isolation %s: only the stretch before counts.", c.t, what)
}
