package decay

import "gonum.org/v1/gonum/mat"

// knockedU is the standard deviation in Pa of the step that a knock may leave behind:
// a hose that lies otherwise than before, a stopper that moved.
const knockedU = 20

// allowSteps widens and moves what is known of the parameters by what a step after each
// of the gaps would make of them: further columns of a linear model, with a prior,
// eliminated together. It reports what variance the pressure rate gains.
func (f *fitter) allowSteps() (gained float64) {
	gaps := f.d.without
	k := len(gaps)
	if k == 0 {
		return 0
	}
	known := f.post.cov[pRate*nAll+pRate]
	along := mat.NewDense(nAll, k, nil) // of each step's column with those of the parameters
	size := mat.NewSymDense(k, nil)
	miss := mat.NewVecDense(k, nil) // of each column with the residuals where they are least
	for i := range gaps {
		size.SetSym(i, i, 1/float64(knockedU*knockedU))
	}
	for row, b := range f.d.held {
		w := f.inv[row]
		deriv := f.sol.jac[row*nAll : (row+1)*nAll]
		e := f.sol.r[row]
		for j, v := range deriv {
			e += v * (f.post.mean[j] - f.sol.p[j])
		}
		for i, g := range gaps {
			if b.t < g.to {
				continue
			}
			miss.SetVec(i, miss.AtVec(i)+w*e)
			for j, v := range deriv {
				along.Set(j, i, along.At(j, i)+w*v)
			}
			for l := i; l < k; l++ {
				if b.t >= gaps[l].to {
					size.SetSym(i, l, size.At(i, l)+w*w)
				}
			}
		}
	}
	cov := mat.NewDense(nAll, nAll, f.post.cov)
	var lean, taken mat.Dense // Σ·Aᵀ, and A·Σ·Aᵀ
	lean.Mul(cov, along)
	taken.Mul(along.T(), &lean)
	for i := range k {
		for l := i; l < k; l++ {
			size.SetSym(i, l, size.At(i, l)-taken.At(i, l))
		}
	}
	var c mat.Cholesky
	var steps mat.VecDense
	var back mat.Dense
	if !c.Factorize(size) || c.SolveVecTo(&steps, miss) != nil || c.SolveTo(&back, lean.T()) != nil {
		return 0
	}
	var moved mat.VecDense
	moved.MulVec(&lean, &steps)
	var wider mat.Dense
	wider.Mul(&lean, &back)
	for i := range nAll {
		f.post.mean[i] += moved.AtVec(i)
	}
	cov.Add(cov, &wider) // in place: it shares the values
	return f.post.cov[pRate*nAll+pRate] - known
}
