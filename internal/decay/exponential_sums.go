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
	var at buffer
	if c.t == nil {
		c.even(v, &s, &at)
	} else {
		c.uneven(v, &s, &at)
	}
	return s
}

const (
	longestRun = 128 // readings between two exponentials, on uneven times
	evenRun    = 32  // the same on even ones: a power is off by half a rounding each
	// runSpan is the largest k·Δu in a run: to both sides of its middle, the first term
	// left out of the series, the ninth power's, is below 2⁻⁵⁴.
	runSpan = 1.0 / 8
)

// uneven cuts the readings in runs so short that the exponential in them is a polynomial
// about the middle; only that costs a call. Where readings are far apart a run is one.
func (c course) uneven(v curve, s *tally, at *buffer) {
	t := c.t
	for i, n := 0, longestRun; i < len(t); i += n {
		n = min(2*n, longestRun, len(t)-i)
		for n > 1 && v.k*(t[i+n-1]-t[i]) > runSpan {
			n /= 2
		}
		s.run(t[i:i+n], c.y[i:i+n], c.origin, v, at)
	}
}

// run adds readings so close that |k·Δu| stays below runSpan/2 from the middle.
func (s *tally) run(t, y []float64, origin float64, v curve, at *buffer) {
	middle := t[0] + (t[len(t)-1]-t[0])/2
	um := middle - origin
	em := math.Exp(-v.k * um)
	k := -v.k
	u, e := at.u[:len(t)], at.e[:len(t)]
	for i, ti := range t {
		du := ti - middle
		x := k * du
		xx := x * x
		x4 := xx * xx
		e[i] = em * ((1 + x) + xx*(1.0/2+x*(1.0/6)) + x4*((1.0/24+x*(1.0/120))+xx*(1.0/720+x*(1.0/5040))+x4*(1.0/40320)))
		u[i] = um + du
	}
	s.add(u, e, y, v)
}

// even goes from one exponential to the next by a factor, and begins anew before the
// roundings of its powers add up.
func (c course) even(v curve, s *tally, at *buffer) {
	q := math.Exp(-v.k * c.step)
	for i := 0; i < len(c.y); i += evenRun {
		y := c.y[i:min(i+evenRun, len(c.y))]
		u, e := at.u[:len(y)], at.e[:len(y)]
		start := c.first + float64(i)*c.step
		power := math.Exp(-v.k * start)
		for j := range y {
			e[j] = power
			u[j] = start + float64(j)*c.step
			power *= q
		}
		s.add(u, e, y, v)
	}
}

// buffer has a run's times and exponentials.
type buffer struct{ u, e [longestRun]float64 }

// add makes its sums in two loops, so that each can keep its own in registers.
func (s *tally) add(u, e, y []float64, v curve) {
	e, y = e[:len(u)], y[:len(u)]
	var d1, gd, dd, w1 float64
	for i, u := range u {
		d := u * e[i]
		d1 += d
		gd += (e[i] - v.m) * d
		dd += d * d
		w1 += u * d
	}
	var g1, gg, r1, rg, rd, rw, rr float64
	for i, u := range u {
		g := e[i] - v.m
		r := y[i] - v.a*g - v.c
		g1 += g
		gg += g * g
		r1 += r
		rg += r * g
		rr += r * r
		x := r * e[i] * u
		rd += x
		rw += x * u
	}
	s.g += g1
	s.gg += gg
	s.d += d1
	s.gd += gd
	s.dd += dd
	s.w += w1
	s.r += r1
	s.rg += rg
	s.rd += rd
	s.rw += rw
	s.rr += rr
}
