package decay

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"boretight/internal/air"
	"boretight/internal/hold"
)

// Fit estimates the leakage rate of a hold. Equal holds and setups give equal
// results. It never fails: what cannot be given is nil, and the notes say why.
func Fit(h *hold.Hold, s Setup) Result {
	res := Result{At: s.At, Sign: h.Sign, Method: Method, Dof: math.Inf(1)}
	if res.At <= 0 {
		res.At = DefaultAt
	}
	k := complete(h, s)
	res.Temperature = k.temp.Value
	if reason := unfit(h); reason != "" {
		res.Status = Refused
		res.Notes = []string{reason}
		return res
	}
	found := clean(h, k)
	f := found.f
	res.Disturbed = found.disturbed()
	res.Notes = found.tell()
	res.Assumed = k.assumed
	if found.fault != "" {
		res.Status = f.status()
		res.Notes = append(res.Notes, found.fault)
		return res
	}
	f.report(&res, found.part.span)
	res.Curve = f.curvePoints()
	return res
}

// fitted fits a stretch of a hold; problem says why it cannot be, in a sentence.
func fitted(h *hold.Hold, used stretch, k known) (f *fitter, problem string) {
	f = newFitter(newData(h, used, k), k)
	if len(f.d.samples) < fewest {
		return f, tooFew(len(f.d.samples))
	}
	if !f.lookAround() || !f.refine() {
		return f, "The readings do not look like a decay: the fit did not settle (" + f.sol.stop.String() + "). Hold again, and keep still."
	}
	return f, ""
}

func (f *fitter) status() Status {
	if len(f.d.samples) < fewest {
		return Refused
	}
	return NoFit
}

// fitter is one fit under way.
type fitter struct {
	k     known
	d     *data
	m     model
	noise noise
	start place
	sol   solution
	raw   gauss // what is known of the parameters
	post  gauss // the same with rate and share at the stated Δp
	white whiteFit
	// stirred: the walls may have warmed or cooled more than walls at rest do; warmed:
	// they most likely did
	stirred, warmed bool
	knocked         float64 // variance of the rate in (Pa/s)² that steps after knocks add

	delta, deriv []float64 // the curve at the nodes and its derivatives
	times        []float64 // of the nodes, from the start of the fit
	weights      []cubic   // from nodes to held bins
	inv          []float64 // 1/σ of every row
}

// whiteFit is the first solution, weighted by the noise at rest alone: changes are
// looked for against it, because they would pass for noise in what comes after.
type whiteFit struct {
	sol       solution
	cov       []float64
	lean      []float64 // how far bounds keep the solution from the least of its linear model
	inv       []float64
	residuals []float64
	noise     noise
}

func newWhiteFit(sol solution, least gauss, inv, residuals []float64, o noise) whiteFit {
	lean := make([]float64, nAll)
	for j := range lean {
		lean[j] = sol.p[j] - least.mean[j]
	}
	return whiteFit{sol, least.cov, lean, inv, residuals, o}
}

// cubic interpolates between nodes: the first of four, and their weights.
type cubic struct {
	first int
	w     [4]float64
}

func newFitter(d *data, k known) *fitter { return &fitter{k: k, d: d} }

// prepare bins the data and builds the model.
func (f *fitter) prepare() {
	tau := f.guess()
	f.d.split(tau)
	f.build(tau, f.pivot(), f.d.end)
	f.noise = f.d.restNoise()
	f.weigh()
}

// build makes the model for a hold of the time constant tau that ends at the time end
// since isolation, both in s, with its rate stated at the Δ pivot.
func (f *fitter) build(tau, pivot, end float64) {
	d := f.d
	f.k.share = f.k.believedShare(tau)
	bore := f.k.ambient.Value + d.hold.Sign.Float()*d.samples[len(d.samples)/2].y
	alpha := air.ThermalDiffusivity(f.k.temp.Value, math.Max(bore, 1000))
	last := d.samples[len(d.samples)-1]
	tau1 := f.k.radius * f.k.radius / (7.18 * alpha)
	d.rests(tau1, math.Max(last.y, 0), d.hold.Noise)
	law := air.Law{Sign: air.Sign(d.hold.Sign), At: pivot, Ambient: f.k.ambient.Value}
	f.m, f.times = newModel(law, newHeat(f.k.radius, alpha, f.k.boreU), d.history, d.start, end-d.start, tau)
	f.start = place{rate: pivot / tau, narrow: f.k.narrow, share: f.k.share.Value}
	f.place()
}

// place finds where the held bins lie between the nodes of the curve.
func (f *fitter) place() {
	f.delta = slices.Grow(f.delta[:0], f.m.nodes)[:f.m.nodes]
	f.deriv = slices.Grow(f.deriv[:0], f.m.nodes*nDecay)[:f.m.nodes*nDecay]
	f.weights = f.weights[:0]
	for _, b := range f.d.held {
		f.weights = append(f.weights, interpolate(f.times, b.t-f.d.start))
	}
}

// look solves the fit for the first time, weighted by the noise at rest.
func (f *fitter) look() bool {
	f.prepare()
	f.sol = f.from(f.start)
	return f.keepWhite()
}

// lookAround does the same and, where the curve stays away from the readings, tries
// other starts: it may be in a valley that is not the deepest.
func (f *fitter) lookAround() bool {
	f.prepare()
	f.sol = f.from(f.start)
	if f.sol.stop != stopConverged || f.astray() {
		airy, holed := f.start, f.start
		airy.narrow = 0.95 // the air may hardly warm at all,
		holed.share = 0.8  // or the leak be a hole
		for _, start := range [...]place{airy, holed} {
			if s := f.from(start); s.stop == stopConverged && (s.sum < f.sol.sum || f.sol.stop != stopConverged) {
				f.sol = s
			}
		}
	}
	return f.keepWhite()
}

// keepWhite keeps the first solution for the search for changes. It need not be a
// minimum: through a disturbed hold there may be no curve that is.
func (f *fitter) keepWhite() bool {
	if f.sol.stop == stopRanOff || f.sol.stop == stopNoStart {
		return false
	}
	white, ok := atMinimum(f.sol, f.problem().rows, nAll)
	if !ok {
		return false
	}
	f.white = newWhiteFit(f.sol, white, slices.Clone(f.inv), f.residuals(), f.noise)
	return true
}

// refine learns the noise from what the first solution leaves, and solves again.
func (f *fitter) refine() bool {
	f.noise = scatter(f.white.residuals, f.floor())
	f.weigh()
	for again := true; again; again = f.reconsider() {
		if !f.settle() {
			return false
		}
	}
	f.knocked = f.allowSteps()
	f.raw = f.post.within(bounds)
	f.post = f.restate(f.raw)
	return true
}

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

// settle solves with the noise and the beliefs as they are now.
func (f *fitter) settle() (ok bool) {
	pr := f.problem()
	f.sol = minimise(pr, f.sol.p)
	if f.sol.stop != stopConverged {
		return false
	}
	f.post, ok = atMinimum(f.sol, pr.rows, pr.cols)
	return ok
}

// astray reports whether the curve leaves more than noise, even noise that remembers,
// can make: then it is worth looking elsewhere.
func (f *fitter) astray() bool {
	n := float64(len(f.d.held))
	if f.sol.sum < 1.5*n {
		return false
	}
	var off float64
	for i := range f.d.held {
		e := f.sol.r[i] / f.inv[i]
		off += e * e
	}
	return math.Sqrt(off/n) > strayed*f.d.held[0].y
}

// strayed is the root mean square of what a curve leaves, as a share of Δ at the
// start, from which on other starts are tried.
const strayed = 1e-3

// place is where a search begins: pressure rate in Pa/s at the pivot, narrow share φ
// and inertial share s.
type place struct{ rate, narrow, share float64 }

// from solves from one start, with heat and creep as believed.
func (f *fitter) from(at place) solution {
	p := make([]float64, nAll)
	p[pRate], p[pShare], p[pStart] = at.rate, at.share, f.startDelta()
	p[pTaper], p[pNarrow] = taperMean, at.narrow
	return minimise(f.problem(), p)
}

// restate turns rate and share from the pivot to the stated Δp. Far from what was
// held the rate follows the share, and bends: so it is taken at three shares, with
// weights that keep the share's mean and variance: those of Gauss and Hermite where no
// bound is near.
func (f *fitter) restate(g gauss) gauss {
	const n = nAll
	law := f.m.law
	u := math.Sqrt(g.cov[pShare*n+pShare])
	at := func(s float64) (ratio, share float64) {
		law.Inertial = min(max(s, 0), 1)
		y := law.Ratio(f.k.at)
		x := law.Inertial * y
		return y, x / (1 - law.Inertial + x)
	}
	s := min(max(g.mean[pShare], 0), 1)
	lo, hi := max(s-u*math.Sqrt(3), 0), min(s+u*math.Sqrt(3), 1)
	y0, s0 := at(s)
	y1, s1 := at(lo)
	y2, s2 := at(hi)
	ratio, byShare, shareByShare := y0, 0.0, 1.0
	if hi > lo {
		// Weights that keep mean and variance wherever the two ends lie.
		a, b := s-lo, hi-s
		if a > 0.6*u && b > 0.6*u {
			w1, w2 := u*u/(a*(a+b)), u*u/(b*(a+b))
			ratio = w1*y1 + (1-w1-w2)*y0 + w2*y2
		}
		byShare, shareByShare = (y2-y1)/(hi-lo), (s2-s1)/(hi-lo)
	}
	rate := g.mean[pRate]
	out := gauss{slices.Clone(g.mean), slices.Clone(g.cov)}
	out.mean[pRate], out.mean[pShare] = rate*ratio, s0
	// Rows, then columns, of J·cov·Jᵀ.
	for j := range n {
		r, s := out.cov[pRate*n+j], out.cov[pShare*n+j]
		out.cov[pRate*n+j], out.cov[pShare*n+j] = ratio*r+rate*byShare*s, shareByShare*s
	}
	for i := range n {
		r, s := out.cov[i*n+pRate], out.cov[i*n+pShare]
		out.cov[i*n+pRate], out.cov[i*n+pShare] = ratio*r+rate*byShare*s, shareByShare*s
	}
	return out
}

// floor is the least noise believed: a sensor that sits still is not a perfect one.
func (f *fitter) floor() float64 { return math.Max(0.02, f.d.quantum/math.Sqrt(12)*0.5) }

// pivot is the Δ in Pa at which the fit states its rate: in the middle of what was
// held, where rate and law are least entangled.
func (f *fitter) pivot() float64 {
	s := f.d.samples
	return math.Max((s[0].y+s[len(s)-1].y)/2, 0.3*math.Max(s[0].y, 50))
}

// guess returns a first time constant in s, from the means of the first and the
// last sixth.
func (f *fitter) guess() (tau float64) {
	s := f.d.samples
	n := max(len(s)/6, 2)
	mid := func(v []sample) (t, y float64) {
		for _, x := range v {
			t += x.t
			y += x.y
		}
		return t / float64(len(v)), y / float64(len(v))
	}
	t1, y1 := mid(s[:n])
	t2, y2 := mid(s[len(s)-n:])
	y1 = math.Max(y1, 10)
	k := math.Log(y1/math.Max(y2, 0.02*y1)) / (t2 - t1)
	return 1 / math.Max(k, 1e-4)
}

// startDelta is a first value of Δ at the start.
func (f *fitter) startDelta() float64 {
	n := min(4, len(f.d.held))
	var sum float64
	for _, b := range f.d.held[:n] {
		sum += b.y
	}
	return sum / float64(n)
}

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

// residuals returns what the curve leaves of each held reading, in Pa.
func (f *fitter) residuals() []float64 {
	if !f.m.curve(f.sol.p, f.delta, nil) {
		return nil
	}
	return f.left(f.sol.p)
}

// left is the same for a curve that is already computed.
func (f *fitter) left(p []float64) []float64 {
	out := make([]float64, len(f.d.samples))
	node := 0
	for i, s := range f.d.samples {
		t := s.t - f.d.start
		for node+1 < len(f.times)-1 && f.times[node+1] < t {
			node++
		}
		c := cubicAt(f.times, node, t)
		v := p[pZero] + p[pDrift]*s.t
		for k, x := range c.w {
			if x != 0 {
				v += x * f.delta[c.first+k]
			}
		}
		out[i] = s.y - v
	}
	return out
}

// interpolate finds the four nodes about time t.
func interpolate(times []float64, t float64) cubic {
	lo, hi := 0, len(times)-1
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; times[mid] <= t {
			lo = mid
		} else {
			hi = mid
		}
	}
	return cubicAt(times, lo, t)
}

// cubicAt gives Lagrange's weights on the nodes about the interval that begins at node.
func cubicAt(times []float64, node int, t float64) cubic {
	n := len(times)
	if n < 4 {
		x := (t - times[node]) / (times[node+1] - times[node])
		return cubic{node, [4]float64{1 - x, x}}
	}
	c := cubic{first: min(max(node-1, 0), n-4)}
	for i := range 4 {
		w := 1.0
		ti := times[c.first+i]
		for j := range 4 {
			if i != j {
				tj := times[c.first+j]
				w *= (t - tj) / (ti - tj)
			}
		}
		c.w[i] = w
	}
	return c
}
