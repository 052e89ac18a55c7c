package decay

import "math"

// qr is the factorisation of a Jacobian, J = Q·R with the residuals turned along, and
// all that steps are made of. Made once for a Jacobian, it gives a step for any damping
// and any set of held parameters at the cost of a few columns squared: the rows, of
// which there are many more, are not looked at again.
type qr struct {
	rows, cols int
	a          []float64 // columns of rows: R in the upper triangle, reflectors below
	head       []float64 // first elements of the reflectors
	beta       []float64 // their factors
	turned     []float64 // Qᵀ·r; only the first cols rows matter to a step

	top, low []float64 // the damped system: rows of R, rows of the damping
	lowRight []float64
	h        []float64
}

func newQR(rows, cols int) *qr {
	rows = max(rows, cols) // missing rows are zero
	return &qr{
		rows: rows, cols: cols, a: make([]float64, rows*cols), head: make([]float64, cols), beta: make([]float64, cols),
		turned: make([]float64, rows), top: make([]float64, cols*cols), low: make([]float64, cols*cols),
		lowRight: make([]float64, cols), h: make([]float64, cols),
	}
}

// factor takes a Jacobian, row by row, and its residuals apart by Householder's
// reflections (Golub and Van Loan, Matrix Computations, 5.2). Columns left out are 0.
func (q *qr) factor(jac, r []float64, out []bool) {
	m := q.cols
	n := len(jac) / m
	for j := range m {
		col := q.column(j)
		if out[j] {
			clear(col)
			continue
		}
		clear(col[n:])
		for i := range n {
			col[i] = jac[i*m+j]
		}
	}
	copy(q.turned, r)
	clear(q.turned[len(r):])
	for j := range m {
		col := q.column(j)[j:]
		norm := math.Sqrt(dot(col, col))
		q.head[j], q.beta[j] = 0, 0
		if norm == 0 { // nothing to reflect
			continue
		}
		if col[0] > 0 {
			norm = -norm
		}
		q.head[j] = col[0] - norm
		q.beta[j] = -1 / (norm * q.head[j])
		for k := j + 1; k < m; k++ {
			if !out[k] {
				q.reflect(j, q.column(k))
			}
		}
		q.reflect(j, q.turned)
		col[0] = norm
	}
}

func (q *qr) column(j int) []float64 { return q.a[j*q.rows : (j+1)*q.rows] }

// reflect applies reflection j to a column.
func (q *qr) reflect(j int, v []float64) {
	below := q.column(j)[j+1:]
	s := q.beta[j] * (q.head[j]*v[j] + dot(below, v[j+1:]))
	v[j] -= s * q.head[j]
	subtract(s, below, v[j+1:])
}

// turn replaces a column, as long as the rows, by Qᵀ times it.
func (q *qr) turn(v []float64) {
	for j := range q.cols {
		q.reflect(j, v)
	}
}

// slope returns J's column j times r: how half the sum of squares changes with
// parameter j.
func (q *qr) slope(j int) float64 { return dot(q.column(j)[:j+1], q.turned) }

// norm returns the length of J's column j.
func (q *qr) norm(j int) float64 {
	col := q.column(j)[:j+1]
	return math.Sqrt(dot(col, col))
}

// promise returns by how much the linear model lowers the sum of squares with step h.
func (q *qr) promise(h []float64) (gain float64) {
	for i := range q.cols {
		var d float64
		for j := i; j < q.cols; j++ {
			d += q.a[j*q.rows+i] * h[j]
		}
		gain -= d * (2*q.turned[i] + d)
	}
	return gain
}

// step returns the h that makes |R·h + right|² + damping·|D·h|² least, D the scale,
// valid until the next call. Parameters that are held take the step put down for them.
func (q *qr) step(right, scale []float64, held []bool, put []float64, damping float64) []float64 {
	m, root := q.cols, math.Sqrt(damping)
	b := q.h // the right side turns into the solution in place
	copy(b, right[:m])
	clear(q.low)
	clear(q.lowRight)
	for j := range m {
		q.low[j*m+j] = root * scale[j]
		col := q.column(j)
		if !held[j] {
			for i := range j + 1 {
				q.top[i*m+j] = col[i]
			}
			continue
		}
		q.low[j*m+j], q.lowRight[j] = 1, -put[j]
		for i := range j + 1 {
			q.top[i*m+j] = 0
			b[i] += col[i] * put[j]
		}
	}
	for j := range m {
		q.eliminate(j, b)
	}
	for j := m - 1; j >= 0; j-- {
		v := b[j]
		row := q.top[j*m : j*m+m]
		for k := j + 1; k < m; k++ {
			v -= row[k] * b[k]
		}
		b[j] = 0
		if row[j] != 0 {
			b[j] = v / row[j]
		}
	}
	for j := range b {
		b[j] = -b[j]
	}
	return b
}

// eliminate clears column j of the damping's rows against row j of R, one rotation a
// row (Moré 1978, 5): the rows down to j have something there, those below nothing yet.
func (q *qr) eliminate(j int, b []float64) {
	m := q.cols
	row := q.top[j*m : j*m+m]
	for i := range j + 1 {
		other := q.low[i*m : i*m+m]
		if other[j] == 0 {
			continue
		}
		length := math.Hypot(row[j], other[j])
		c, s := row[j]/length, other[j]/length
		for k := j; k < m; k++ {
			row[k], other[k] = c*row[k]+s*other[k], c*other[k]-s*row[k]
		}
		b[j], q.lowRight[i] = c*b[j]+s*q.lowRight[i], c*q.lowRight[i]-s*b[j]
	}
}

// dot returns the product of a with as much of b, in four sums that need not wait for
// one another.
func dot(a, b []float64) float64 {
	b = b[:len(a)]
	var s0, s1, s2, s3 float64
	for len(a) >= 4 && len(b) >= 4 {
		s0 += a[0] * b[0]
		s1 += a[1] * b[1]
		s2 += a[2] * b[2]
		s3 += a[3] * b[3]
		a, b = a[4:], b[4:]
	}
	for i, v := range a {
		s0 += v * b[i]
	}
	return (s0 + s1) + (s2 + s3)
}

// subtract takes k times x off as much of y.
func subtract(k float64, x, y []float64) {
	y = y[:len(x)]
	for i, v := range x {
		y[i] -= k * v
	}
}
