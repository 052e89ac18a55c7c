package decay

import (
	"math"

	"boretight/internal/hold"
)

const (
	// firstLook is how long after isolation in s the first running estimate is made:
	// before, heat is all there is to see.
	firstLook = 0.8
	// lookBin is the length in s of what a look averages: twenty means a second show all
	// that a look needs of a joint that is not lost anyway. Later ones are as long,
	// against the age of the hold, as lookGrowth.
	lookBin, lookGrowth = 0.05, 0.02
)

// Running estimates the leakage rate of a hold while it is under way. Each look costs
// one run of the curve: a single step of Gauss and Newton from where the last look
// stood, on averaged readings, with the beliefs, model and noise of [Fit]. It is an
// estimate to steer by; the result of the hold is [Fit] once it has ended.
//
// A Running belongs to one hold and one goroutine.
type Running struct {
	f         *fitter
	setup     Setup
	isolation float64
	next      int     // of the hold's readings
	opened    float64 // time of the first reading in the last bin, s since isolation
	least     float64 // length of a bin, s
	whole     model   // as far ahead as it is prepared
	times     []float64
	p         []float64 // where the last look stood
}

// NewRunning prepares to look at a hold. Nothing is computed yet.
func NewRunning(s Setup) *Running { return &Running{setup: s} }

// Look estimates from what the hold holds by now: the same hold as at the last look,
// grown at its end. The result has no curve. It reports false while there is too little
// to see, and when the readings do not follow a curve: then only [Fit] may know why.
func (r *Running) Look(h *hold.Hold) (Result, bool) {
	if !h.Isolated() || unfit(h) != "" {
		return Result{}, false
	}
	if r.f == nil || r.isolation != h.Isolation || r.f.d.hold.Held.From != h.Held.From {
		r.begin(h)
	}
	r.f.d.hold = h
	r.take(h)
	d := r.f.d
	if len(d.samples) < fewest || d.end < firstLook {
		return Result{}, false
	}
	r.reach()
	if !r.step() || r.changed() {
		return Result{}, false
	}
	res := Result{At: r.f.k.at, Sign: h.Sign, Method: Method, Temperature: r.f.k.temp.Value, Assumed: r.f.k.assumed}
	r.f.report(&res, h.Held)
	return res, true
}

// Curve is the curve of the last look, as in [Result].
func (r *Running) Curve() []Point {
	if r.p == nil {
		return nil
	}
	return r.f.curvePoints()
}

func (r *Running) begin(h *hold.Hold) {
	k := complete(h, r.setup)
	d := &data{hold: h, span: k.span, quantum: k.quantum, start: max(guardSeconds, 2*h.Interval)}
	*r = Running{f: newFitter(d, k), setup: r.setup, isolation: h.Isolation, next: h.Held.From, least: lookBin}
}

// take averages what is new.
func (r *Running) take(h *hold.Hold) {
	d := r.f.d
	for ; r.next < h.Held.To; r.next++ {
		s := d.at(r.next)
		if s.t < d.start || !h.Usable(r.next) {
			continue
		}
		d.samples = append(d.samples, s)
		d.end = s.t
		r.average(s)
	}
}

// average puts a sample into the last bin, or opens another.
func (r *Running) average(s sample) {
	d := r.f.d
	n := len(d.held)
	if n == 0 || s.t-r.opened >= max(r.least, lookGrowth*s.t) {
		d.held = append(d.held, bin{t: s.t, y: s.y, n: 1})
		r.opened = s.t
		return
	}
	b := &d.held[n-1]
	b.n++
	b.t += (s.t - b.t) / b.n
	b.y += (s.y - b.y) / b.n
}

// reach prepares the model when the hold has outgrown it, for twice the time.
func (r *Running) reach() {
	f, d := r.f, r.f.d
	if r.whole.nodes == 0 || d.end > d.start+r.times[len(r.times)-1] {
		tau, pivot := f.guess(), f.m.law.At
		if r.p == nil {
			d.history = d.draw(d.hold.Held.From)
			f.noise = d.restNoise()
			pivot = 0.8 * d.samples[0].y
			// A curve must be straight within a bin.
			if r.least = min(lookBin, 0.06*tau); r.least < lookBin {
				d.held = d.held[:0]
				for _, s := range d.samples {
					r.average(s)
				}
			}
		}
		f.build(tau, pivot, max(2*d.end, leastReach))
		r.whole, r.times = f.m, f.times
	}
	f.m = r.whole.until(d.end - d.start)
	f.times = r.times[:f.m.nodes]
	f.place()
	f.weigh()
}

// leastReach is how far the model is prepared at first, in s since isolation.
const leastReach = 4.0

// step moves on from where the last look stood.
func (r *Running) step() bool {
	f := r.f
	if r.p == nil {
		s := f.from(f.start)
		if s.stop != stopConverged && s.stop != stopSteps {
			return false
		}
		r.p = s.p
	}
	pr := f.problem()
	f.sol = solution{p: r.p, r: make([]float64, pr.rows), jac: make([]float64, pr.rows*pr.cols)}
	for range mostSteps {
		if !pr.eval(f.sol.p, f.sol.r, f.sol.jac) {
			r.p = nil // from the start again at the next look
			return false
		}
		var ok bool
		if f.post, ok = atMinimum(f.sol, pr.rows, pr.cols); !ok {
			r.p = nil
			return false
		}
		far := f.moved()
		if far < nearEnough {
			break
		}
		copy(f.sol.p, f.post.mean)
		for _, b := range bounds {
			f.sol.p[b.index] = min(max(f.sol.p[b.index], b.lo), b.hi)
		}
	}
	e, weighted := f.left(f.sol.p), f.noise
	f.noise = scatter(e, f.floor())
	f.white = newWhiteFit(f.sol, f.post, f.inv, e, weighted)
	f.raw = f.post.within(bounds)
	f.post = f.restate(f.raw)
	return true
}

const (
	// mostSteps of Gauss and Newton are taken in one look.
	mostSteps = 3
	// nearEnough is how far, in standard deviations, a step may still lead that is not taken.
	nearEnough = 0.3
)

// moved is how far the least of the linear model is from where it was made, in standard
// deviations of the parameter that moves most.
func (f *fitter) moved() (far float64) {
	for j, v := range f.post.mean {
		far = max(far, math.Abs(v-f.sol.p[j])/math.Sqrt(f.post.cov[j*nAll+j]))
	}
	return far
}

// changed reports whether the newest readings leave the curve.
func (r *Running) changed() bool {
	const recent, clear = 2.0, 6.0 // s; standard deviations
	f := r.f
	if f.d.end < quietStart+recent/2 {
		return false
	}
	c := f.mostTelling(max(quietStart, f.d.end-recent))
	return c.z*f.loudness(c) > clear && f.matters(c)
}
