package decay

import "math"

// weigh sets the weights of all rows from the noise.
func (f *fitter) weigh() {
	d := f.d
	f.inv = f.inv[:0]
	infl := f.noise.inflation() * f.noise.sigma * f.noise.sigma
	doubt := zeroDoubt(d.quantum, f.noise.sigma)
	for k, part := range [...][]bin{d.held, d.before, d.after} {
		for _, b := range part {
			v := infl/b.n + b.extra
			if k > 0 {
				v += doubt * doubt * float64(len(part))
			}
			f.inv = append(f.inv, 1/math.Sqrt(v))
		}
	}
}

// bounds of what cannot be otherwise.
var bounds = []bound{
	{pShare, 0, 1, 0.5}, {pBore, -2.5, 2.5, 0.3}, {pTaper, 0, 0.4, 0.1}, {pNarrow, 0, 1, 0.2},
	{pCreep, -0.05, 0.3, 0.02}, {pCreep + 1, -0.05, 0.3, 0.02}, {pCreep + 2, -0.05, 0.3, 0.02}, {pCreep + 3, -0.05, 0.3, 0.02},
}

const nPrior = 5 + nCreep + 2 // share, bore, taper, narrow, warm, creep, zero, drift

// problem is the sum of squares: bins, then what is believed beforehand.
func (f *fitter) problem() problem {
	d := f.d
	nb := len(d.held) + len(d.before) + len(d.after)
	return problem{rows: nb + nPrior, cols: nAll, steps: 60, enough: 1e-4, damping: 1e-10, bounds: bounds, eval: func(p, r, jac []float64) bool {
		return f.eval(p, r, jac, nb)
	}}
}

func (f *fitter) eval(p, r, jac []float64, nb int) bool {
	if jac == nil {
		if !f.m.curve(p, f.delta, nil) {
			return false
		}
	} else {
		if !f.m.curve(p, f.delta, f.deriv) {
			return false
		}
		clear(jac)
	}
	i := 0
	for part, bins := range [...][]bin{f.d.held, f.d.before, f.d.after} {
		for _, b := range bins {
			w := f.inv[i]
			v := p[pZero] + p[pDrift]*b.t
			var row []float64
			if jac != nil {
				row = jac[i*nAll : (i+1)*nAll]
				row[pZero], row[pDrift] = w, w*b.t
			}
			if part == 0 {
				v += f.held(f.weights[i], row, w)
			}
			r[i] = w * (v - b.y)
			i++
		}
	}
	f.priors(p, r[nb:], jac, nb)
	return true
}

// zeroU is the doubt about the zero before any rest is looked at: rests say all there
// is to say, and only without one does the level taken by the finder count.
func (f *fitter) zeroU() float64 {
	if len(f.d.before) == 0 {
		return zeroU
	}
	return 1e4
}

// held returns the curve at a bin and adds its weighted derivatives to the bin's row.
func (f *fitter) held(c cubic, row []float64, w float64) (v float64) {
	for k, x := range c.w {
		if x == 0 {
			continue
		}
		node := c.first + k
		v += x * f.delta[node]
		if row == nil {
			continue
		}
		for j, g := range f.deriv[node*nDecay : (node+1)*nDecay] {
			row[j] += w * x * g
		}
	}
	return v
}

// priors fills the rows of what is believed beforehand.
func (f *fitter) priors(p, r, jac []float64, nb int) {
	row := 0
	add := func(j int, mean, u float64) {
		r[row] = (p[j] - mean) / u
		if jac != nil {
			jac[(nb+row)*nAll+j] = 1 / u
		}
		row++
	}
	add(pShare, f.k.share.Value, f.k.share.U)
	add(pBore, 0, f.k.boreU)
	add(pTaper, taperMean, taperU)
	add(pNarrow, f.k.narrow, f.k.narrowU)
	add(pWarm, 0, f.k.warmU)
	for j := range nCreep {
		add(pCreep+j, 0, f.k.creepU[j])
	}
	add(pZero, 0, f.zeroU())
	add(pDrift, 0, driftU)
}
