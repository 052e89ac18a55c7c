package decay

import (
	"fmt"
	"math"
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
	limit, tol := pr.steps, pr.tolerance
	if limit == 0 {
		limit = 200
	}
	if tol == 0 {
		tol = 1e-9
	}
	scale := make([]float64, m)
	largest := make([]float64, m)
	try, r := make([]float64, m), make([]float64, n)
	work := newQR(n+m, m)
	damping, growth := 1e-3, 2.0
	for s.steps = 1; s.steps <= limit; s.steps++ {
		columnNorms(s.jac, n, m, scale)
		for j, c := range scale {
			largest[j] = max(largest[j], c)
			scale[j] = largest[j]
			if scale[j] == 0 {
				scale[j] = 1
			}
		}
		for {
			h, promise := work.step(s.jac, s.r, n, m, scale, damping)
			var size, length float64
			for j := range h {
				try[j] = s.p[j] + h[j]
				size = math.Hypot(size, scale[j]*h[j])
				length = math.Hypot(length, scale[j]*s.p[j])
			}
			// Gain below what float64 can tell from the sum: nothing left to win.
			if size <= tol*(length+tol) || promise <= 1e-15*s.sum {
				s.stop = verdict(s.jac, n, m, largest)
				return s
			}
			ok := pr.eval(try, r, nil) && finite(r)
			sum := math.Inf(1)
			if ok {
				sum = square(r)
			}
			if gain := (s.sum - sum) / promise; ok && gain > 0 {
				copy(s.p, try)
				pr.eval(s.p, s.r, s.jac)
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

// step solves min |J·h + r|² + damping·|D·h|² and returns h, valid until the next
// call, and by how much the linear model promises to lower the sum of squares.
func (q *qr) step(jac, r []float64, n, m int, scale []float64, damping float64) (h []float64, promise float64) {
	root := math.Sqrt(damping)
	for j := range m {
		col := q.a[j*q.rows : (j+1)*q.rows]
		for i := range n {
			col[i] = jac[i*m+j]
		}
		clear(col[n:])
		col[n+j] = root * scale[j]
	}
	copy(q.b, r)
	clear(q.b[n:])
	q.solve()
	for j := range q.h {
		q.h[j] = -q.h[j]
	}
	// |r|² − |r + Jh|² = |Jh|² + 2·damping·|Dh|² at the damped solution.
	for i := range n {
		var v float64
		for j, x := range jac[i*m : i*m+m] {
			v += x * q.h[j]
		}
		promise += v * v
	}
	for j := range m {
		v := scale[j] * q.h[j]
		promise += 2 * damping * v * v
	}
	return q.h, promise
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
