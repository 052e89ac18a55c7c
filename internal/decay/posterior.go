package decay

import "math"

// gauss is a normal distribution of a few parameters: mean and covariance, row by row.
type gauss struct {
	mean []float64
	cov  []float64
}

// atMinimum returns the normal distribution that a solved sum of squares stands
// for: covariance (JᵀJ)⁻¹ about where the linear model has its least, which is
// beyond the bounds when the solution stands at one. It reports false when the
// Jacobian is singular.
func atMinimum(s solution, rows, cols int) (gauss, bool) {
	info := make([]float64, cols*cols)
	slope := make([]float64, cols)
	for i := range rows {
		row := s.jac[i*cols : i*cols+cols]
		for a, v := range row {
			if v == 0 {
				continue
			}
			slope[a] += v * s.r[i]
			for b := 0; b <= a; b++ {
				info[a*cols+b] += v * row[b]
			}
		}
	}
	cov, ok := invertSPD(info, cols)
	if !ok {
		return gauss{}, false
	}
	mean := append([]float64(nil), s.p...)
	for a := range mean {
		for b, v := range slope {
			mean[a] -= cov[a*cols+b] * v
		}
	}
	return gauss{mean, cov}, true
}

// invertSPD inverts a symmetric positive definite matrix of which the lower
// triangle is given, scaled to a unit diagonal first.
func invertSPD(a []float64, n int) ([]float64, bool) {
	scale := make([]float64, n)
	for i := range n {
		d := a[i*n+i]
		if !(d > 0) {
			return nil, false
		}
		scale[i] = 1 / math.Sqrt(d)
	}
	l := make([]float64, n*n)
	for i := range n {
		for j := 0; j <= i; j++ {
			v := a[i*n+j] * scale[i] * scale[j]
			for k := range j {
				v -= l[i*n+k] * l[j*n+k]
			}
			if i == j {
				if v <= 1e-15 {
					return nil, false
				}
				l[i*n+i] = math.Sqrt(v)
			} else {
				l[i*n+j] = v / l[j*n+j]
			}
		}
	}
	// Columns of the inverse of L, then (L⁻¹)ᵀL⁻¹.
	inv := make([]float64, n*n)
	for j := range n {
		inv[j*n+j] = 1 / l[j*n+j]
		for i := j + 1; i < n; i++ {
			var v float64
			for k := j; k < i; k++ {
				v -= l[i*n+k] * inv[k*n+j]
			}
			inv[i*n+j] = v / l[i*n+i]
		}
	}
	out := make([]float64, n*n)
	for i := range n {
		for j := 0; j <= i; j++ {
			var v float64
			for k := i; k < n; k++ {
				v += inv[k*n+i] * inv[k*n+j]
			}
			v *= scale[i] * scale[j]
			out[i*n+j], out[j*n+i] = v, v
		}
	}
	return out, true
}

// within narrows a normal distribution to its part inside bounds and returns the
// normal one nearest to that, by expectation propagation (Minka 2001; for boxes
// Cunningham, Hennig and Lacoste-Julien 2011): each bound's effect is stood for by
// a factor that gives the right mean and variance beside those of the others.
func (g gauss) within(bounds []bound) gauss {
	n := len(g.mean)
	out := gauss{append([]float64(nil), g.mean...), append([]float64(nil), g.cov...)}
	type site struct{ precision, shift float64 }
	sites := make([]site, len(bounds))
	for range 30 {
		var moved float64
		for k, b := range bounds {
			i := b.index
			v, m := out.cov[i*n+i], out.mean[i]
			// The distribution without this bound's factor.
			cp := 1/v - sites[k].precision
			if cp <= 0 {
				continue
			}
			cv := 1 / cp
			cm := cv * (m/v - sites[k].shift)
			tm, tv := truncated(cm, math.Sqrt(cv), b.lo, b.hi)
			next := site{1/tv - cp, tm/tv - cm*cp}
			if next.precision < 0 {
				next.precision = 0
			}
			dp, ds := next.precision-sites[k].precision, next.shift-sites[k].shift
			sites[k] = next
			out.update(i, dp, ds)
			moved = math.Max(moved, math.Abs(out.mean[i]-m)/math.Sqrt(v))
		}
		if moved < 1e-4 {
			break
		}
	}
	return out
}

// update multiplies the distribution by a factor of parameter i with the given
// change of precision and of precision times mean.
func (g gauss) update(i int, precision, shift float64) {
	n := len(g.mean)
	v, m := g.cov[i*n+i], g.mean[i]
	k := precision / (1 + precision*v)
	gain := (shift - precision*m) / (1 + precision*v)
	col := make([]float64, n)
	for a := range n {
		col[a] = g.cov[a*n+i]
	}
	for a := range n {
		g.mean[a] += col[a] * gain
		for b := range n {
			g.cov[a*n+b] -= k * col[a] * col[b]
		}
	}
}

// truncated returns mean and variance of a normal variable known to lie in [lo, hi].
func truncated(mean, sd, lo, hi float64) (m, v float64) {
	a, b := (lo-mean)/sd, (hi-mean)/sd
	if a > 0 { // work in the left tail, where erfc keeps its digits
		m, v = truncated(-mean, sd, -hi, -lo)
		return -m, v
	}
	if b < -6 { // far outside: an exponential leaning on the bound
		return mean + sd*(b-1/-b), sd * sd / (b * b)
	}
	pa, pb := density(a), density(b)
	z := cumulative(b) - cumulative(a)
	d := (pa - pb) / z
	ta, tb := 0.0, 0.0
	if !math.IsInf(a, 0) {
		ta = a * pa
	}
	if !math.IsInf(b, 0) {
		tb = b * pb
	}
	return mean + sd*d, sd * sd * math.Max(1+(ta-tb)/z-d*d, 1e-6)
}

func density(x float64) float64    { return math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) }
func cumulative(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }

// without returns the variance of parameter i if the parameters listed were known.
func (g gauss) without(i int, known ...int) float64 {
	n := len(g.mean)
	c := gauss{make([]float64, n), append([]float64(nil), g.cov...)}
	for _, k := range known {
		v := c.cov[k*n+k]
		if v <= 0 {
			continue
		}
		col := make([]float64, n)
		for a := range n {
			col[a] = c.cov[a*n+k]
		}
		for a := range n {
			for b := range n {
				c.cov[a*n+b] -= col[a] * col[b] / v
			}
		}
	}
	return math.Max(c.cov[i*n+i], 0)
}

// along returns the variance of the sum of parameters with the weights g.
func (g gauss) along(w []float64) (v float64) {
	n := len(g.mean)
	for a, x := range w {
		for b, y := range w {
			v += x * y * g.cov[a*n+b]
		}
	}
	return math.Max(v, 0)
}
