package decay

import "math"

// course is readings at given times, or, where there are none, evenly spaced.
type course struct {
	t, y   []float64
	origin float64 // what to take from each time
	// first and step place the readings where t is nil.
	first, step float64
}

// span returns the times of the second and of the last reading from the first.
func (c course) span() (second, last float64) {
	n := len(c.y)
	if c.t == nil {
		return c.step, float64(n-1) * c.step
	}
	for _, t := range c.t { // readings may share the first time
		if t > c.t[0] {
			return t - c.t[0], c.t[n-1] - c.t[0]
		}
	}
	return 0, 0
}

// curve is a·(exp(−k·u) − m) + c at times u from the first reading. Taking the constant
// m, about the mean of the exponential, keeps a and c apart: a slow decay is a large
// a less nearly as much.
type curve struct{ k, a, c, m float64 }

// tally is of sums over the readings, of g = e − m, e = exp(−k·u), d = u·e, w = u²·e and what the
// curve leaves, r. That it is r and not y that is summed leaves nothing large to cancel.
type tally struct{ g, gg, d, gd, dd, w, r, rg, rd, rw, rr float64 }

// sum makes one pass over the readings.
func (c course) sum(v curve) (s tally) {
	if c.t == nil {
		c.even(v, &s)
	} else {
		c.uneven(v, &s)
	}
	return s
}

const (
	longestRun = 128 // readings between two exponentials, on uneven times
	evenRun    = 32  // the same on even ones: a power is off by half a rounding each
	// runSpan is the largest k·Δu in a run: to both sides of its middle, the seventh
	// term of the series is below 2⁻⁵⁴.
	runSpan = 1.0 / 32
)

// uneven cuts the readings in runs so short that the exponential in them is a polynomial
// about the middle; only that costs a call. Where readings are far apart a run is one.
func (c course) uneven(v curve, s *tally) {
	t := c.t
	for i, n := 0, longestRun; i < len(t); i += n {
		n = min(2*n, longestRun, len(t)-i)
		for n > 1 && v.k*(t[i+n-1]-t[i]) > runSpan {
			n /= 2
		}
		s.run(t[i:i+n], c.y[i:i+n], c.origin, v)
	}
}

// run adds readings so close that |k·Δu| stays below runSpan/2 from the middle.
func (s *tally) run(t, y []float64, origin float64, v curve) {
	middle := t[0] + (t[len(t)-1]-t[0])/2
	um := middle - origin
	em := math.Exp(-v.k * um)
	k, a, c, m := -v.k, v.a, v.c, v.m
	var g1, gg, d1, gd, dd, w1, r1, rg, rd, rw, rr float64
	y = y[:len(t)]
	for i, ti := range t {
		du := ti - middle
		x := k * du
		xx := x * x
		e := em * ((1 + x) + xx*((1.0/2+x*(1.0/6))+xx*((1.0/24+x*(1.0/120))+xx*(1.0/720))))
		u := um + du
		g := e - m
		r := y[i] - a*g - c
		d := u * e
		w := u * d
		g1 += g
		gg += g * g
		d1 += d
		gd += g * d
		dd += d * d
		w1 += w
		r1 += r
		rg += r * g
		rd += r * d
		rw += r * w
		rr += r * r
	}
	s.add(tally{g1, gg, d1, gd, dd, w1, r1, rg, rd, rw, rr})
}

// even goes from one exponential to the next by a factor, and begins anew before the
// roundings of its powers add up.
func (c course) even(v curve, s *tally) {
	q := math.Exp(-v.k * c.step)
	a, off, m := v.a, v.c, v.m
	for i := 0; i < len(c.y); i += evenRun {
		u := c.first + float64(i)*c.step
		e := math.Exp(-v.k * u)
		var g1, gg, d1, gd, dd, w1, r1, rg, rd, rw, rr float64
		for _, y := range c.y[i:min(i+evenRun, len(c.y))] {
			g := e - m
			r := y - a*g - off
			d := u * e
			w := u * d
			g1 += g
			gg += g * g
			d1 += d
			gd += g * d
			dd += d * d
			w1 += w
			r1 += r
			rg += r * g
			rd += r * d
			rw += r * w
			rr += r * r
			e *= q
			u += c.step
		}
		s.add(tally{g1, gg, d1, gd, dd, w1, r1, rg, rd, rw, rr})
	}
}

func (s *tally) add(o tally) {
	s.g += o.g
	s.gg += o.gg
	s.d += o.d
	s.gd += o.gd
	s.dd += o.dd
	s.w += o.w
	s.r += o.r
	s.rg += o.rg
	s.rd += o.rd
	s.rw += o.rw
	s.rr += o.rr
}
