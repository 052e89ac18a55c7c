package decay

import "math"

// Variable projection (Golub and Pereyra 1973): for a given K the best A and C are those of
// a straight line, so what is left is a search along K alone, here along ln K, by Newton's
// method with exact derivatives. One pass over the readings gives value, slope and
// bend. A search over a few dozen means of neighbouring readings goes first and costs
// next to nothing: from where it ends the first whole pass is mostly the last but one.

// reduced is the sum of squares with the best a and level at a K, with what it takes to go on.
type reduced struct {
	k, a         float64
	level        float64 // mean of the readings
	meanE, meanD float64
	gg, gd, dd   float64 // about their means
	least, about float64 // sums of squares: about the curve, about the mean
	// by ln K, of half the sum
	slope, bend    float64
	gauss          float64 // bend but for the residuals: never negative
	aSlope, cSlope float64 // how the best a and c go with it
}

// reduce makes a pass at k. It measures from the curve of a and off, which should be
// near, and takes m from the exponential (see [curve]): neither changes what comes
// out, but for the rounding.
func (c course) reduce(k, a, off, m float64) (q reduced) {
	n := float64(len(c.y))
	s := c.sum(curve{k, a, off + a*m, m})
	q.k = k
	gg := s.gg - s.g*s.g/n
	gd := s.gd - s.g*s.d/n
	dd := s.dd - s.d*s.d/n
	rg := s.rg - s.r*s.g/n
	more := rg / gg
	level := (s.r - more*s.g) / n
	q.a = a + more
	// Of what the best curve leaves: along d and along w.
	rd := s.rd - more*s.gd - level*s.d
	rw := s.rw - more*(s.dd-m*s.w) - level*s.w
	q.meanE, q.meanD = s.g/n+m, s.d/n
	q.gg, q.gd, q.dd = gg, gd, dd
	q.level = off + s.r/n + a*q.meanE
	q.least = max(s.rr-more*s.rg-level*s.r, 0)
	q.about = q.least + q.a*q.a*gg
	mixed := rd - q.a*gd // by a and K
	q.slope = k * q.a * rd
	q.bend = k*k*(q.a*q.a*dd-q.a*rw-mixed*mixed/gg) + q.slope
	q.gauss = k * k * q.a * q.a * (dd - gd*gd/gg)
	q.aSlope = -k * mixed / gg
	q.cSlope = -q.aSlope*q.meanE + k*q.a*q.meanD
	return q
}

// descending is a fit under way.
type descending struct {
	c      course
	at     reduced
	last   float64 // step of ln K that leads away from at
	passes int
	ending Ending
}

const (
	mostPasses = 60
	// near is a Newton step of ln K after which none is worth its pass: the next
	// would be of the order of its square.
	near = 1e-6
	// nearest is the same for a step of another kind, and for one that no longer shrinks.
	nearest = 1e-11
	// straightest K·T that can be told from a straight line, and steepest K times the wait for
	// the second reading that can be told from a step.
	straightest, steepest = 1e-4, 30
)

// run searches from k, a and off until a step is shorter than enough.
func (s *descending) run(k, a, off, enough float64) {
	second, span := s.c.span()
	s.at = s.c.reduce(k, a, off, math.Exp(-k*span/2))
	for s.passes = 1; s.passes < mostPasses; s.passes++ {
		newton := s.at.bend > 0.1*s.at.gauss
		bend := s.at.gauss
		if newton {
			bend = s.at.bend
		}
		s.last = min(max(-s.at.slope/bend, -1.5), 1.5)
		switch size := math.Abs(s.last); {
		case math.IsNaN(s.last):
			s.ending = Unsettled
			return
		case newton && size < enough, size < nearest:
			s.ending = Settled
			return
		}
		if s.ending = s.advance(second, span); s.ending != Settled {
			return
		}
	}
	s.ending = Unsettled
}

// advance takes the step, or as much of it as makes the sum smaller.
func (s *descending) advance(second, span float64) Ending {
	from := s.at
	c := from.level - from.a*from.meanE
	for s.passes < mostPasses {
		k := from.k * math.Exp(s.last)
		if k*span < straightest {
			return TooSlow
		}
		if k*second > steepest {
			return TooFast
		}
		s.at = s.c.reduce(k, from.a+from.aSlope*s.last, c+from.cSlope*s.last, math.Exp(-k*span/2))
		// A short step is Newton's to take: sums that differ by rounding tell nothing.
		if s.at.least <= from.least || math.Abs(s.last) < 1e-3 {
			return Settled
		}
		s.last /= 4
		s.passes++
	}
	return Unsettled
}

// fitExponential searches the means first, where the readings are many, then all.
func fitExponential(c course, k float64) Exponential {
	n := len(c.y)
	if _, span := c.span(); !(span > 0) || math.IsInf(span, 0) {
		return Exponential{Ending: Unusable}
	}
	s := descending{c: c}
	if few, ok := thinned(c, k); ok {
		s.run(few.K, few.A, few.C, near)
	} else {
		s.start(k, near)
	}
	return s.result(float64(n))
}

// means is how many means of neighbours stand for the readings at first.
const means = 64

// thinned fits the means. It reports false where the readings are too few for that, or
// where their means show no decay: it may be over within the first.
func thinned(c course, k float64) (e Exponential, ok bool) {
	each := len(c.y) / means
	if each < 4 {
		return e, false
	}
	var t, y [means]float64
	for i := range means {
		y[i] = mean(c.y[i*each : (i+1)*each])
	}
	few := course{y: y[:], origin: c.origin, first: float64(each-1) / 2 * c.step, step: float64(each) * c.step}
	if c.t != nil {
		for i := range means {
			t[i] = mean(c.t[i*each : (i+1)*each])
		}
		few.t = t[:]
	}
	s := descending{c: few}
	s.start(k, 1e-3)
	e = s.result(means)
	return e, e.Ending == Settled
}

// mean adds in two chains, so that one addition need not wait for the other.
func mean(v []float64) float64 {
	var a, b float64
	i := 0
	for ; i+1 < len(v); i += 2 {
		a += v[i]
		b += v[i+1]
	}
	if i < len(v) {
		a += v[i]
	}
	return (a + b) / float64(len(v))
}

// start searches from k and, where there is none or it leads nowhere, from the best of
// a row of values from a slow decay to one that ends with the second reading.
func (s *descending) start(k, enough float64) {
	off := s.c.y[len(s.c.y)/2]
	if k > 0 && !math.IsInf(k, 0) {
		if s.run(k, 0, off, enough); s.ending == Settled {
			return
		}
	}
	second, span := s.c.span()
	best, least := 1/span, math.Inf(1)
	k = 0.25 / span
	for range mostPasses {
		if k*second > steepest {
			break
		}
		if q := s.c.reduce(k, 0, off, math.Exp(-k*span/2)); q.least < least {
			best, least = k, q.least
		}
		k *= 4
	}
	s.run(best, 0, off, enough)
}
