package decay

import (
	"math"
	"slices"

	"boretight/internal/air"
)

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
	rebored         bool    // the bore is another than was told
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
	f.rebore()
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
