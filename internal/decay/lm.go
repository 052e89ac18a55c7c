package decay

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// stop says why the least-squares core stopped.
type stop uint8

const (
	// stopped at a minimum: the step or the gain had become negligible.
	stopConverged stop = iota
	// stopped because the allowed number of steps was used up.
	stopSteps
	// stopped because no step, however short, made the sum smaller.
	stopStuck
	// stopped because a parameter no longer makes a difference: the fit ran off.
	stopRanOff
	// stopped because the model has no value at the start.
	stopNoStart
)

var stopNames = [...]string{"converged", "too many steps", "stuck", "ran off", "no value at the start"}

func (s stop) String() string {
	if int(s) < len(stopNames) {
		return stopNames[s]
	}
	return fmt.Sprintf("stop %d", s)
}

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
	steps int
}

// minimise follows Levenberg and Marquardt in the form of Moré (1978): columns
// scaled by their largest norm so far, each step from a QR factorisation of the
// Jacobian stacked on the damping, damping by the ratio of gain to promise
// (Nielsen 1999).
func minimise(pr problem, start []float64) solution {
	n, m := pr.rows, pr.cols
	s := solution{p: append([]float64(nil), start...), r: make([]float64, n), jac: make([]float64, n*m)}
	if !pr.eval(s.p, s.r, s.jac) || !finite(s.r) {
		s.stop = stopNoStart
		return s
	}
	s.sum = square(s.r)
	limit, tol := cmp.Or(pr.steps, 200), cmp.Or(pr.tolerance, 1e-9)
	scale := make([]float64, m)
	largest := make([]float64, m)
	try, r, jac := make([]float64, m), make([]float64, n), make([]float64, n*m)
	work := newQR(n+m, m)
	damping, growth := cmp.Or(pr.damping, 1e-3), 2.0
	frozen := make([]bool, m)
	for s.steps = 1; s.steps <= limit; s.steps++ {
		columnNorms(s.jac, n, m, scale)
		for j, c := range scale {
			largest[j] = max(largest[j], c)
			scale[j] = largest[j]
			if scale[j] == 0 {
				scale[j] = 1
			}
		}
		pr.freeze(s, frozen)
		for {
			h := pr.step(work, s, scale, frozen, damping)
			promise := promised(s.jac, s.r, h)
			var size, length float64
			for j := range h {
				try[j] = s.p[j] + h[j]
				size = math.Hypot(size, scale[j]*h[j])
				length = math.Hypot(length, scale[j]*s.p[j])
			}
			for _, b := range pr.bounds { // rounding may have led out of them
				try[b.index] = min(max(try[b.index], b.lo), b.hi)
			}
			// A step kept within bounds may promise less than nothing: then it is too long.
			if size <= tol*(length+tol) || promise >= 0 && promise <= max(1e-15*s.sum, pr.enough) {
				s.stop = verdict(s.jac, n, m, largest)
				return s
			}
			// Most steps are taken, so the derivatives are computed at once.
			ok := pr.eval(try, r, jac) && finite(r)
			sum := math.Inf(1)
			if ok {
				sum = square(r)
			}
			if gain := (s.sum - sum) / promise; ok && promise > 0 && gain > 0 {
				copy(s.p, try)
				s.r, r = r, s.r
				s.jac, jac = jac, s.jac
				s.sum = sum
				damping *= max(1.0/3, 1-math.Pow(2*gain-1, 3))
				damping = max(damping, 1e-16)
				growth = 2
				break
			}
			damping *= growth
			growth *= 2
			if damping > 1e18 {
				s.stop = stopStuck
				return s
			}
		}
	}
	s.stop = stopSteps
	return s
}

// freeze finds the parameters that stand at a bound and would be pushed through it.
func (pr problem) freeze(s solution, frozen []bool) {
	clear(frozen)
	for _, b := range pr.bounds {
		if s.p[b.index] > b.lo && s.p[b.index] < b.hi {
			continue
		}
		var slope float64 // of half the sum of squares
		for i := range pr.rows {
			slope += s.r[i] * s.jac[i*pr.cols+b.index]
		}
		frozen[b.index] = s.p[b.index] <= b.lo && slope > 0 || s.p[b.index] >= b.hi && slope < 0
	}
}

// step is the damped step within the bounds. Of the parameters that would leave
// them, the one that gets there first is put at its bound and the rest is solved
// again, until nothing leaves any more.
func (pr problem) step(work *qr, s solution, scale []float64, frozen []bool, damping float64) []float64 {
	held := slices.Clone(frozen)
	put := make([]float64, pr.cols)
	for {
		h := work.step(s.jac, s.r, pr.rows, pr.cols, scale, held, put, damping)
		first, share := bound{index: -1}, 1.0
		for _, b := range pr.bounds {
			lo, hi := b.reachOf(s.p[b.index])
			to := min(max(h[b.index], lo), hi)
			if !held[b.index] && to != h[b.index] {
				if part := to / h[b.index]; first.index < 0 || part < share {
					first, share = b, part
				}
			}
		}
		if first.index < 0 {
			return h
		}
		lo, hi := first.reachOf(s.p[first.index])
		held[first.index], put[first.index] = true, min(max(h[first.index], lo), hi)
	}
}

// promised is by how much the linear model lowers the sum of squares with step h.
func promised(jac, r, h []float64) float64 {
	m := len(h)
	var gain float64
	for i, v := range r {
		var d float64
		for j, x := range jac[i*m : i*m+m] {
			d += x * h[j]
		}
		gain -= d * (2*v + d)
	}
	return gain
}

// verdict tells a minimum from a plain on which a parameter has stopped to matter:
// there its column has all but vanished against what it once was.
func verdict(jac []float64, n, m int, largest []float64) stop {
	now := make([]float64, m)
	columnNorms(jac, n, m, now)
	for j := range now {
		if now[j] <= 1e-8*largest[j] {
			return stopRanOff
		}
	}
	return stopConverged
}

func columnNorms(jac []float64, n, m int, out []float64) {
	for j := range out {
		out[j] = 0
	}
	for i := range n {
		row := jac[i*m : i*m+m]
		for j, v := range row {
			out[j] += v * v
		}
	}
	for j := range out {
		out[j] = math.Sqrt(out[j])
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

// qr is room for a Householder factorisation, column by column.
type qr struct {
	rows, cols int
	a          []float64 // column-major
	b          []float64
	h          []float64
}

func newQR(rows, cols int) *qr {
	return &qr{rows, cols, make([]float64, rows*cols), make([]float64, rows), make([]float64, cols)}
}

// step returns the h that makes |J·h + r|² + damping·|D·h|² least, valid until the
// next call. Parameters that are held take the step put down for them.
func (q *qr) step(jac, r []float64, n, m int, scale []float64, held []bool, put []float64, damping float64) []float64 {
	root := math.Sqrt(damping)
	copy(q.b, r)
	clear(q.b[n:])
	for j := range m {
		col := q.a[j*q.rows : (j+1)*q.rows]
		clear(col)
		if held[j] {
			col[n+j] = 1
			q.b[n+j] = -put[j]
			if put[j] != 0 {
				for i := range n {
					q.b[i] += jac[i*m+j] * put[j]
				}
			}
			continue
		}
		col[n+j] = root * scale[j]
		for i := range n {
			col[i] = jac[i*m+j]
		}
	}
	q.solve()
	for j := range q.h {
		q.h[j] = -q.h[j]
	}
	return q.h
}

// solve finds the least-squares solution of a·h = b in place.
func (q *qr) solve() {
	for j := range q.cols {
		col := q.a[j*q.rows : (j+1)*q.rows]
		norm := math.Sqrt(square(col[j:]))
		if norm == 0 {
			continue
		}
		if col[j] > 0 {
			norm = -norm
		}
		// The reflector is kept in the column, its first element apart.
		head := col[j] - norm
		beta := -1 / (norm * head)
		reflect := func(v []float64) {
			s := head * v[j]
			for i := j + 1; i < q.rows; i++ {
				s += col[i] * v[i]
			}
			s *= beta
			v[j] -= s * head
			for i := j + 1; i < q.rows; i++ {
				v[i] -= s * col[i]
			}
		}
		for k := j + 1; k < q.cols; k++ {
			reflect(q.a[k*q.rows : (k+1)*q.rows])
		}
		reflect(q.b)
		col[j] = norm
	}
	for j := q.cols - 1; j >= 0; j-- {
		v := q.b[j]
		for k := j + 1; k < q.cols; k++ {
			v -= q.a[k*q.rows+j] * q.h[k]
		}
		if d := q.a[j*q.rows+j]; d != 0 {
			q.h[j] = v / d
		} else {
			q.h[j] = 0
		}
	}
}
