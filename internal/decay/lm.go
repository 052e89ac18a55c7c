package decay

import (
	"cmp"
	"math"
	"slices"
)

// problem is a sum of squares to be made small: rows residuals, cols parameters.
type problem struct {
	rows, cols int
	// eval fills r with the residuals and, unless jac is nil, jac with their
	// derivatives, row by row. It reports false where there is no value.
	eval func(p, r, jac []float64) bool
	// steps is the largest number of steps; 0 means 200.
	steps int
	// tolerance of the relative step; 0 means 1e-9.
	tolerance float64
	// enough is a gain in the sum of squares not worth a further step; 0 means
	// what float64 can tell.
	enough float64
	// damping at the start, relative to the squares of the columns; 0 means 1e-3.
	// A start known to be near wants next to none: damping hides weak directions.
	damping float64
	// bounds that parameters must keep to; the start must.
	bounds []bound
}

// reachOf is how far a parameter may go in one step.
func (b bound) reachOf(p float64) (lo, hi float64) {
	lo, hi = b.lo-p, b.hi-p
	if b.reach > 0 {
		lo, hi = max(lo, -b.reach), min(hi, b.reach)
	}
	return lo, hi
}

// bound says that a parameter lies between two values, and, unless 0, how far one
// step may take it: further, the linear model is not worth following.
type bound struct {
	index  int
	lo, hi float64
	reach  float64
}

// solution is where the core stopped.
type solution struct {
	p     []float64
	sum   float64 // of squares
	r     []float64
	jac   []float64
	stop  stop
	by    criterion // when converged
	steps int
}

// minimise follows Levenberg and Marquardt in the form of Moré (1978): columns
// scaled by their largest norm so far, each step from a QR factorisation of the
// Jacobian that the damping is put under, damping by the ratio of gain to promise
// (Nielsen 1999). A descent that has become long is bent along its valley
// (Transtrum and Sethna 2012).
func minimise(pr problem, start []float64) solution {
	d := newDescent(pr, start)
	s := &d.s
	if !pr.eval(s.p, s.r, s.jac) || !finite(s.r) || !d.look() {
		s.stop = stopNoStart
		return *s
	}
	s.sum = square(s.r)
	for s.steps = 1; s.steps <= d.limit; s.steps++ {
		if s.steps > 1 && !d.look() {
			s.stop = stopStuck
			return *s
		}
		if done := d.advance(); done {
			return *s
		}
	}
	s.stop = stopSteps
	return *s
}

// descent is a minimisation under way.
type descent struct {
	pr    problem
	s     solution
	q     *qr
	limit int
	tol   float64

	scale   []float64 // largest norm so far of each column, 1 where that is 0
	largest []float64
	fixed   []bool // parameters whose bounds leave them no room
	frozen  []bool // parameters at a bound that would be pushed through it

	damping, growth float64

	try, r, jac []float64 // the next point
	held        []bool    // room for step
	put, h      []float64
	bent        []float64 // room for bend
}

func newDescent(pr problem, start []float64) *descent {
	n, m := pr.rows, pr.cols
	q := newQR(n, m)
	columns := make([]float64, 5*m)
	cut := func() (part []float64) { part, columns = columns[:m:m], columns[m:]; return part }
	flags := make([]bool, 3*m)
	fixed := flags[2*m:]
	for _, b := range pr.bounds {
		fixed[b.index] = b.lo == b.hi
	}
	return &descent{
		pr: pr, q: q, limit: cmp.Or(pr.steps, 200), tol: cmp.Or(pr.tolerance, 1e-9),
		s:     solution{p: slices.Clone(start), r: make([]float64, n), jac: make([]float64, n*m)},
		scale: cut(), largest: cut(), try: cut(), put: cut(), h: cut(), fixed: fixed, frozen: flags[:m], held: flags[m : 2*m],
		damping: cmp.Or(pr.damping, 1e-3), growth: 2,
		r: make([]float64, n), jac: make([]float64, n*m),
	}
}

// look takes the Jacobian apart where the descent stands. It reports false where
// there is none.
func (d *descent) look() bool {
	d.q.factor(d.s.jac, d.s.r, d.fixed)
	for j := range d.scale {
		norm := d.q.norm(j)
		if math.IsNaN(norm) || math.IsInf(norm, 0) {
			return false
		}
		d.largest[j] = max(d.largest[j], norm)
		d.scale[j] = cmp.Or(d.largest[j], 1)
	}
	copy(d.frozen, d.fixed)
	for _, b := range d.pr.bounds {
		j := b.index
		if d.fixed[j] || d.s.p[j] > b.lo && d.s.p[j] < b.hi {
			continue
		}
		slope := d.q.slope(j)
		d.frozen[j] = d.s.p[j] <= b.lo && slope > 0 || d.s.p[j] >= b.hi && slope < 0
	}
	return true
}

// advance takes one step, the longest that lowers the sum. It reports true when
// there is none to take, with the reason.
func (d *descent) advance() (done bool) {
	s := &d.s
	if d.level() {
		s.stop, s.by = stopConverged, bySlope
		if d.plain() {
			s.stop, s.by = stopRanOff, notMet
		}
		return true
	}
	for rejected := false; ; {
		free := d.step(d.damping)
		size, length := d.lengths()
		promise := d.q.promise(d.h)
		if d.tooShort(size, length, promise) != notMet {
			if s.stop, s.by = d.verdict(rejected); s.by != notMet || s.stop != stopConverged {
				return true
			}
			d.damping /= 1e3 // it was short for its damping alone
			continue
		}
		if free && s.steps > patience && size > 1e-3*length {
			d.bend(size)
		}
		d.place()
		// Most steps are taken, so the derivatives are computed at once.
		ok := d.pr.eval(d.try, d.r, d.jac) && finite(d.r)
		sum := math.Inf(1)
		if ok {
			sum = square(d.r)
		}
		if gain := (s.sum - sum) / promise; ok && promise > 0 && gain > 0 {
			copy(s.p, d.try)
			s.r, d.r = d.r, s.r
			s.jac, d.jac = d.jac, s.jac
			s.sum = sum
			d.damping *= max(1.0/3, 1-math.Pow(2*gain-1, 3))
			d.damping = max(d.damping, 1e-16)
			d.growth = 2
			return false
		}
		rejected = true
		d.damping *= d.growth
		d.growth *= 2
		if d.damping > 1e18 {
			s.stop = stopStuck
			return true
		}
	}
}

func square(v []float64) float64 {
	var s float64
	for _, x := range v {
		s += x * x
	}
	return s
}

func finite(v []float64) bool {
	for _, x := range v {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}
